package report

import (
	"fmt"
	"math"
	"path/filepath"
	"strconv"
	"strings"

	"stanchion/analyze"
)

// gap keeps a number and its unit on one line.
const gap = "\u00a0"

// absentMark stands where a figure could not be computed.
const absentMark = "—"

// fixed writes v with the given decimals and a true minus sign; a result that rounds to zero has no sign.
func fixed(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.HasPrefix(s, "-") {
		if strings.Trim(s, "-0.") == "" {
			return s[1:]
		}
		return "−" + s[1:]
	}
	return s
}

// signif writes v with about n significant digits, without an exponent between 0.0001 and 10 million.
func signif(v float64, n int) string {
	if v == 0 {
		return "0"
	}
	a := math.Abs(v)
	if a < 1e-4 || a >= 1e7 {
		return strings.Replace(strconv.FormatFloat(v, 'e', n-1, 64), "-", "−", 1)
	}
	return fixed(round(v, n), max(0, n-1-int(math.Floor(math.Log10(a)))))
}

// round keeps n significant digits of v, for numbers that are only drawn.
func round(v float64, n int) float64 {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0
	}
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', n-1, 64), 64)
	if err != nil {
		return 0
	}
	return r
}

// plainNumber writes v with as many digits as it has.
func plainNumber(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// clock writes a time from the start as m:ss.s, or h:mm:ss.s from one hour.
func clock(s float64) string {
	sign := ""
	if s < 0 {
		sign, s = "−", -s
	}
	tenths := int64(math.Round(s * 10))
	h, m, t := tenths/36000, tenths/600%60, tenths%600
	if h > 0 {
		return fmt.Sprintf("%s%d:%02d:%02d.%d", sign, h, m, t/10, t%10)
	}
	return fmt.Sprintf("%s%d:%02d.%d", sign, m, t/10, t%10)
}

// length writes how long something took, in words that suit its size.
func length(s float64) string {
	switch {
	case s == 0:
		return "0" + gap + "s"
	case s < 1:
		return fixed(s*1000, 0) + gap + "ms"
	case s < 100:
		return fixed(s, 1) + gap + "s"
	}
	return strings.TrimSuffix(clock(math.Round(s)), ".0") + gap + "min"
}

// count writes n of something, "1 jump", "2 jumps", "no jumps".
func count(n int, one, many string) string {
	switch n {
	case 0:
		return "no " + many
	case 1:
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

// A format turns a figure's value into words with its unit.
type format func(float64) string

func mm(v float64) string      { return fixed(v, 0) + gap + "mm" }
func mmFine(v float64) string  { return fixed(v, 1) + gap + "mm" }
func mmps(v float64) string    { return fixed(v, 0) + gap + "mm/s" }
func percent(v float64) string { return fixed(v, 0) + gap + "%" }
func share(v float64) string   { return fixed(100*v, 1) + gap + "%" }
func whole(v float64) string   { return fixed(v, 0) }
func perMin(v float64) string  { return fixed(v, 1) + gap + "per min" }
func hz(v float64) string      { return fixed(v, 1) + gap + "Hz" }

// ms writes seconds as milliseconds, with a decimal under 10 ms.
func ms(v float64) string {
	if v < 0.00995 {
		return fixed(v*1000, 1) + gap + "ms"
	}
	return fixed(v*1000, 0) + gap + "ms"
}

func ratio(v float64) string  { return fixed(v, 2) }
func metres(v float64) string { return fixed(v, 0) + gap + "m" }
func area(v float64) string   { return signif(v, 3) + gap + "mm²" }
func areaps(v float64) string { return signif(v, 3) + gap + "mm²/s²" }

// A shown is a figure in words: its text, or the reason why there is none.
type shown struct {
	Text    string
	Absent  bool
	Why     string // reason, only where Absent
	Caveats []string
}

func show(f analyze.Figure, write format) shown {
	v, ok := f.Get()
	if !ok {
		return shown{Text: absentMark, Absent: true, Why: f.Reason()}
	}
	return shown{Text: write(v), Caveats: f.Caveats()}
}

// showBoth is a figure with a second one in brackets: "31 mm (19 %)".
func showBoth(f analyze.Figure, write format, g analyze.Figure, writeG format) shown {
	s := show(f, write)
	if v, ok := g.Get(); ok && !s.Absent {
		s.Text += " (" + writeG(v) + ")"
	}
	return s
}

// inline is a figure for running text: the value, or "— (reason)".
func (s shown) inline() string {
	if s.Absent {
		return absentMark + " (" + s.Why + ")"
	}
	return s.Text
}

// causeWords says what a cause means on the trail.
func causeWords(cause string) string {
	switch cause {
	case analyze.CauseBottoming:
		return "the fork ran out of travel"
	case analyze.CausePacking:
		return "the fork sank: it did not come back between hits"
	case analyze.CauseChatter:
		return "small fast bumps shook the wheel"
	case analyze.CauseBigHits:
		return "big, fast hits"
	case analyze.CauseRough:
		return "rough ground, nothing that stands out"
	}
	return cause
}

// causes joins the causes of a section in words, the first being the main one.
func causes(list []string) string {
	words := make([]string, len(list))
	for i, c := range list {
		words[i] = causeWords(c)
	}
	return sentence(strings.Join(words, "; "))
}

// unbroken keeps each percent sign on the line of its number.
func unbroken(s string) string {
	var b strings.Builder
	for {
		i := strings.Index(s, " %")
		if i < 0 {
			b.WriteString(s)
			return b.String()
		}
		b.WriteString(s[:i])
		if i > 0 && '0' <= s[i-1] && s[i-1] <= '9' {
			b.WriteString(gap + "%")
		} else {
			b.WriteString(" %")
		}
		s = s[i+2:]
	}
}

// sentence raises the first letter.
func sentence(s string) string {
	for i, r := range s {
		return strings.ToUpper(string(r)) + s[i+len(string(r)):]
	}
	return s
}

// runName is the name of a run for headings: the file name of its source.
func runName(source string) string {
	if source == "" {
		return "Unnamed run"
	}
	return filepath.Base(source)
}

// forkName is the fork in words.
func forkName(r *analyze.Result) string {
	name := r.Fork.Name
	if name == "" {
		name = "Fork without a name"
	}
	return name + ", " + mm(r.Fork.TravelMM) + " travel"
}
