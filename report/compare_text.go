package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"stanchion/analyze/compare"
)

// studyLines is how many lines the terminal summary of a comparison or a sweep takes at most where nothing else is said, so that with what
// the command adds it fits 30.
const studyLines = 27

// CompareText writes a comparison in at most opt.Lines lines of 80 columns: doubts and the verdict first, then the main figures
// and the others that clearly differ.
func CompareText(w io.Writer, c *compare.Comparison, sets Sets, opt TextOptions) error {
	t := &screen{color: opt.Color}
	lines := opt.lines()
	head := fmt.Sprintf("%s; %s against %d", versus(sets), counted(len(c.A), "run", "runs"), len(c.B))
	t.line(clip(strings.Join(nonEmpty(head, leftOutCount(len(c.LeftOut))), "; "), textColumns))
	v := judgeComparison(c, sets)
	t.doubts(v.Poor, opt.All, 5)
	t.wrap(v.Line, 7, boldColor)
	t.line("")
	t.columns("", "A", "B", "B − A, 95 % interval", "")
	for i := range c.Differences {
		if d := &c.Differences[i]; d.Family == compare.Primary {
			t.difference(d)
		}
	}
	more := clearOf(c, compare.Secondary)
	if len(more) > 0 {
		t.line("Others that clearly differ:")
		t.some(len(more), lines, func(i int) { t.difference(more[i]) })
	}
	if opt.All {
		t.line("All the rest:")
		for i := range c.Differences {
			if d := &c.Differences[i]; d.Family != compare.Primary && !slices.Contains(more, d) {
				t.difference(d)
			}
		}
	}
	if _, err := io.WriteString(w, t.out.String()); err != nil {
		return fmt.Errorf("summary: %w", err)
	}
	return nil
}

// doubts writes the first two warnings over at most so many lines and says how many more there are, or all of them.
func (t *screen) doubts(poor []string, all bool, lines int) {
	if len(poor) == 0 {
		return
	}
	n := min(2, len(poor))
	if all {
		n, lines = len(poor), math.MaxInt
	}
	s := "Read with care: " + strings.Join(poor[:n], ". ") + "."
	if more := len(poor) - n; more > 0 {
		s += fmt.Sprintf(" And %s.", count(more, "more warning", "more warnings"))
	}
	t.wrap(s, lines, warnColor)
}

// difference writes the line of one figure.
func (t *screen) difference(d *compare.Difference) {
	m := differenceMeasure(&d.Estimate, d.Unit)
	a, b := show(d.A, m.number), show(d.B, m.number)
	change := absentMark
	if v, ok := d.Difference.Get(); ok {
		change = m.signed(v)
		if i := m.interval(d.Low, d.High); i != "" {
			change += " (" + i + ")"
		}
	}
	mark := ""
	switch differs, higher := isClear(&d.Estimate); {
	case differs && higher:
		mark = "B higher"
	case differs:
		mark = "B lower"
	case d.Verdict == compare.NoClear:
		mark = "not clear"
	default:
		mark = "not judged"
	}
	name := shortLabel(d.Label)
	if m.unit != "" {
		name += ", " + m.unit
	}
	t.columns(name, a.Text, b.Text, change, mark)
}

// shortLabel is a label without the words that the numbers speak for.
func shortLabel(label string) string {
	return strings.NewReplacer(" quantiles", "", " quantile", "", ", 5 %", " 5 %", ", 25 %", " 25 %", ", 75 %", " 75 %", ", 95 %", " 95 %", ", 99 %", " 99 %",
		"reversal, ", "", "rebound to compression speed", "rebound / compression").Replace(label)
}

// columns writes one line of the list of differences.
func (t *screen) columns(name, a, b, change, mark string) {
	const nameWidth = 28
	if utf8.RuneCountInString(name) > nameWidth { // the figures are medians unless they say otherwise
		name = strings.Replace(name, ", median", "", 1)
	}
	if utf8.RuneCountInString(name) > nameWidth { // the unit at the end is worth more than the middle
		at := strings.LastIndex(name, ", ")
		tail := ""
		if at > 0 && len(name)-at < 10 {
			tail = name[at:]
		}
		name = clip(name[:len(name)-len(tail)], nameWidth-utf8.RuneCountInString(tail)) + tail
	}
	t.line(clip(fmt.Sprintf("%s %s %s  %s%s", padRunes(name, nameWidth), padLeft(a, 6), padLeft(b, 6), padRunes(change, 26), mark), textColumns))
}

func padRunes(s string, n int) string {
	return s + strings.Repeat(" ", max(0, n-utf8.RuneCountInString(s)))
}
func padLeft(s string, n int) string {
	return strings.Repeat(" ", max(0, n-utf8.RuneCountInString(s))) + s
}
