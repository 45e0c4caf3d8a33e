package analyze

import "strconv"

// counted is n with its noun: "1 decay", "3 decays".
func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

// percentText is p percent for people: "15 %".
func percentText(p float64) string { return strconv.FormatFloat(p, 'g', -1, 64) + " %" }
