package analyze

import "strconv"

// counted is n with its noun: "1 decay", "3 decays".
func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

// with is f with more caveats, where it has a value.
func (f Figure) with(caveats []string) Figure {
	if f.present {
		f.caveats = append(f.caveats[:len(f.caveats):len(f.caveats)], caveats...)
	}
	return f
}
