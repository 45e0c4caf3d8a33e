package report

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"stanchion/analyze"
	"stanchion/analyze/advice"
)

// The terminal summary keeps to one screen.
const (
	textColumns = 80
	textLines   = 24
)

// TextOptions are about the terminal.
type TextOptions struct {
	Color bool // mark warnings and the verdict; the caller knows whether the terminal wants it
	// Of comparisons and sweeps alone: the most lines (0 = as many as fit a screen of 30), or all figures and warnings.
	Lines int
	All   bool
	// Ground is where the run was ridden, nil where that is not known.
	Ground *Ground
	// Advice, of the summary of a run alone, is told in a line where it is not nil.
	Advice *advice.Advice
}

// Text writes a run in at most 24 lines of 80 columns, two more with a trail and two with advice: doubts and the verdict first, then the figures in plain words.
func Text(w io.Writer, r *analyze.Result, opt TextOptions) error {
	t := &screen{color: opt.Color}
	t.line(clip(runName(r.Source)+": "+forkName(r), textColumns))
	v := judge(r)
	if len(v.Poor) > 0 {
		s := "Read with care: " + v.Poor[0] + "."
		if n := len(v.Poor) - 1; n > 0 {
			s += fmt.Sprintf(" And %s.", count(n, "more warning", "more warnings"))
		}
		t.wrap(s, 3, warnColor)
	}
	t.wrap(v.Line, 4, boldColor)
	if len(v.Look) > 0 {
		var places []string
		for _, l := range v.Look {
			places = append(places, l.Text)
		}
		t.wrap("Look first at "+strings.Join(places, "; ")+".", 2, "")
	}
	if opt.Advice != nil {
		t.wrap(adviceLine(opt.Advice), 2, "")
	}
	t.line("")
	t.figures(textFigures(r, opt.Ground))
	if _, err := io.WriteString(w, t.out.String()); err != nil {
		return fmt.Errorf("summary: %w", err)
	}
	return nil
}

// textFigures are the lines of the summary.
func textFigures(r *analyze.Result, ground *Ground) []figureRow {
	g, p, d := &r.Velocity.Regimes, &r.Packing, &r.Damping
	rows := []figureRow{
		{"Riding time", ridingTime(r), ""},
		{"Static sag", showBoth(r.Sag.StaticMM, mm, r.Sag.StaticPct, percent), ""},
		{"Median travel", showBoth(r.Sag.DynamicMM, mm, r.Sag.DynamicPct, percent), ""},
		{"Deepest travel", deepest(r), ""},
		{"Bottom-outs", bottoms(r), ""},
		{"Likely jumps", show(r.Air.Jumps, whole), ""},
		{"Compression", prefix("slow / fast ", pair(g.LowCompression, g.HighCompression)), ""},
		{"Rebound", prefix("slow / fast ", pair(g.LowRebound, g.HighRebound)), ""},
		{"Strokes", meanStroke(r), ""},
		{"Packing runs", show(p.Count, whole), ""},
		{"Damping ratio", show(d.Zeta, ratio), ""},
		{"Harsh sections", harshWords(r), ""},
		{"Data quality", shown{Text: qualityWords(r)}, ""},
	}
	if p := r.Position; p != nil {
		rows = append(rows, figureRow{"Track", trackWords(p), ""})
	}
	if trail := groundFigures(ground); trail != nil {
		told := func(f figureRow) bool { return f.Name == "Harsh sections" || f.Name == "Likely jumps" } // by place, then
		rows = append(slices.DeleteFunc(rows, told), trail...)
	}
	return rows
}

func prefix(before string, s shown) shown {
	if !s.Absent {
		s.Text = before + s.Text + " of riding time"
	}
	return s
}

func meanStroke(r *analyze.Result) shown {
	s := show(r.Strokes.MeanDurationS, ms)
	if !s.Absent {
		s.Text = "mean " + s.Text + "; " + "rule of thumb 30 ms (common practice, no source)"
	}
	return s
}

func harshWords(r *analyze.Result) shown {
	if !r.Rough.ThresholdMMS.OK() {
		return show(r.Rough.ThresholdMMS, whole)
	}
	n := len(r.Rough.Sections)
	if n == 0 {
		return shown{Text: "none"}
	}
	h := r.Rough.Sections[0]
	s := fmt.Sprintf("%d; the harshest %s to %s", n, clock(h.StartS), clock(h.EndS))
	if len(h.Causes) > 0 {
		s += ", " + h.Causes[0]
	}
	return shown{Text: s}
}

// Terminal colours (ECMA-48 SGR).
const (
	boldColor = "\x1b[1m"
	warnColor = "\x1b[1;33m"
	noColor   = "\x1b[0m"
)

// screen collects lines.
type screen struct {
	out   strings.Builder
	color bool
}

// line writes a line, with plain spaces before units.
func (t *screen) line(s string) {
	t.out.WriteString(strings.TrimRight(strings.ReplaceAll(s, gap, " "), " ") + "\n")
}

// wrap writes s over at most the given number of lines, cut with an ellipsis where it is longer.
func (t *screen) wrap(s string, lines int, color string) {
	s = clean(s)
	for i := 1; s != ""; i++ {
		head, rest := breakLine(s, textColumns)
		if i == lines && rest != "" {
			head, rest = clip(head+" …", textColumns), ""
		}
		if t.color && color != "" {
			head = color + head + noColor
		}
		t.line(head)
		s = rest
	}
}

// figures writes one line a figure. Where the screen has lines to spare, a long one, such as the reason of an absent
// figure, goes on in a second line.
func (t *screen) figures(list []figureRow) {
	spare := textLines - strings.Count(t.out.String(), "\n") - len(list)
	for _, f := range list {
		name, rest := f.Name, clean(f.Value.inline())
		if spare > 0 && utf8.RuneCountInString(rest) > textColumns-nameColumns {
			var head string
			head, rest = breakLine(rest, textColumns-nameColumns)
			t.line(pad(name) + head)
			name = ""
			spare--
		}
		t.line(clip(pad(name)+rest, textColumns))
	}
}

// nameColumns is the width of the names of figures.
const nameColumns = 17

func pad(name string) string { return fmt.Sprintf("%-*s", nameColumns, name) }

// breakLine splits s at the last space that fits into the columns, or in a word that is longer than a line.
func breakLine(s string, columns int) (head, rest string) {
	if utf8.RuneCountInString(s) <= columns {
		return s, ""
	}
	runes := []rune(s)
	for i := columns; i > columns/2; i-- {
		if runes[i] == ' ' {
			return string(runes[:i]), string(runes[i+1:])
		}
	}
	return string(runes[:columns]), string(runes[columns:])
}

// clip cuts s to the columns, with an ellipsis. Control characters, which could move the cursor, become spaces.
func clip(s string, columns int) string {
	runes := []rune(clean(s))
	if len(runes) <= columns {
		return string(runes)
	}
	return string(runes[:columns-1]) + "…"
}

// clean makes control characters spaces.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r >= 0x7f && r < 0xa0 {
			return ' '
		}
		return r
	}, s)
}
