package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"stanchion/analyze/compare"
)

// SweepText writes a sweep in at most opt.Lines lines of 80 columns: doubts and the verdict first, then the figures that the adjuster
// should move, those that it moves and should not, and the others that follow it.
func SweepText(w io.Writer, s *compare.SweepResult, opt TextOptions) error {
	t := &screen{color: opt.Color}
	lines := opt.lines()
	head := fmt.Sprintf("%s: %s at %s", sentence(adjusterName(&s.Adjuster)), counted(len(s.Runs), "run", "runs"), counted(len(s.Positions), "position", "positions"))
	t.line(clip(strings.Join(nonEmpty(head, leftOutCount(len(s.LeftOut))), "; "), textColumns))
	v := judgeSweep(s)
	t.doubts(v.Poor, opt.All, max(2, lines/5))
	t.wrap(v.Line, max(3, 2*min(lines, studyLines)/5), boldColor)
	if lines >= studyLines {
		t.line("")
	}
	list := drawnResponses(s)
	for _, r := range followers(s) {
		if !slices.Contains(list, r) {
			list = append(list, r)
		}
	}
	if opt.All {
		for i := range s.Responses {
			if r := &s.Responses[i]; !slices.Contains(list, r) {
				list = append(list, r)
			}
		}
	}
	t.some(len(list), lines, func(i int) {
		r := list[i]
		t.line(clip(padRunes(clip(shortLabel(r.Label), 34), 35)+sweepLine(s, r), textColumns))
	})
	if _, err := io.WriteString(w, t.out.String()); err != nil {
		return fmt.Errorf("summary: %w", err)
	}
	return nil
}

// sweepLine is what is said of one figure.
func sweepLine(s *compare.SweepResult, r *compare.Response) string {
	if !r.Slope.OK() {
		return absentMark + " (" + r.Slope.Reason() + ")"
	}
	change := slopeText(r, &s.Adjuster)
	switch {
	case r.Verdict == compare.NotJudged:
		return change + ", not judged"
	case !follows(r):
		return change + ", not clear"
	case r.Crosstalk:
		return change + ", crosstalk"
	}
	return change
}

// lines is how many lines a summary may take.
func (o *TextOptions) lines() int {
	switch {
	case o.All:
		return math.MaxInt
	case o.Lines > 0:
		return o.Lines
	}
	return studyLines
}

// some writes as many of n items, one a line, as there is room for up to the given number of lines on the screen, and says how many are left.
func (t *screen) some(n, lines int, item func(i int)) {
	room := max(1, lines-strings.Count(t.out.String(), "\n"))
	for i := range n {
		if i == room-1 && n > room {
			t.line(fmt.Sprintf("… and %d more: see the page, or --all", n-i))
			return
		}
		item(i)
	}
}
