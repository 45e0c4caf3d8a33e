package report

import (
	"fmt"
	"io"

	"stanchion/analyze/trail"
)

// How many splits stand side by side on a terminal, and how many such blocks there are.
const (
	splitsAbreast = 4
	splitBlocks   = 3
)

// TimingText writes a timing as tables of 80 columns: doubts and the verdict first.
func TimingText(w io.Writer, t *trail.Timing, opt TextOptions) error {
	s := &screen{color: opt.Color}
	head := fmt.Sprintf("%s, %d gates", counted(len(t.Runs), "run", "runs"), len(t.Gates))
	if v, ok := t.LineM.Get(); ok {
		head += fmt.Sprintf(", reference line %s", metres(v))
	}
	s.line(head)
	v := judgeTiming(t)
	s.doubts(v.Poor, opt.All, 5)
	s.wrap(v.Line, 6, boldColor)
	s.line("")
	d := timingDecimals(t)
	s.line(padRunes("", 20) + padLeft("time, s", 15) + "  " + "against " + clip(t.Runs[t.Against].Name, 24))
	for i := range t.Runs {
		r := &t.Runs[i]
		line := padRunes(clip(r.Name, 20), 20) + padLeft(plusMinus(r.TotalS, r.SigmaS, d), 15) + "  "
		if !r.TotalS.OK() {
			line += r.TotalS.Reason()
		}
		for k := range t.Versus {
			if x := &t.Versus[k]; x.Run == i && x.Total.DifferenceS.OK() {
				line += padLeft(signedSeconds(x.Total.DifferenceS.Or(0), d), 6) + "  " + x.Total.Verdict
			}
		}
		s.line(clip(line, textColumns))
	}
	if len(t.Best) > 1 {
		s.line(padRunes("ideal", 20) + padLeft(plusMinus(t.IdealS, t.IdealSigmaS, d), 15) + "  sum of the best splits")
		s.splits(t, d)
		s.line("* best split. ± one standard uncertainty")
	}
	for _, f := range groundFigures(opt.Ground) {
		s.line(clip(pad(f.Name)+f.Value.inline(), textColumns))
	}
	if _, err := io.WriteString(w, s.out.String()); err != nil {
		return fmt.Errorf("summary: %w", err)
	}
	return nil
}

// splits writes the split table, a few splits abreast.
func (s *screen) splits(t *trail.Timing, decimals int) {
	const nameWidth, width = 16, 16
	for block, from := 0, 0; from < len(t.Best); block, from = block+1, from+splitsAbreast {
		if block == splitBlocks {
			s.line(fmt.Sprintf("… and %s", counted(len(t.Best)-from, "more split", "more splits")))
			return
		}
		to := min(from+splitsAbreast, len(t.Best))
		s.line("")
		first, second := padRunes("from", nameWidth), padRunes("to", nameWidth)
		for k := from; k < to; k++ {
			first += padLeft(clip(t.Best[k].From, width-2), width)
			second += padLeft(clip(t.Best[k].To, width-2), width)
		}
		s.line(first)
		s.line(second)
		for i := range t.Runs {
			line := padRunes(clip(t.Runs[i].Name, nameWidth-1), nameWidth)
			for k := from; k < to; k++ {
				x := &t.Runs[i].Splits[k]
				text := plusMinus(x.TimeS, x.SigmaS, decimals)
				if x.Best {
					text = "*" + text
				}
				line += padLeft(text, width)
			}
			s.line(line)
		}
	}
}
