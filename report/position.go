package report

import (
	"fmt"
	"path/filepath"
	"strings"

	"stanchion/analyze"
)

// positionFigures says where the positions of a run come from and how far they can be trusted; none where there are none.
func positionFigures(p *analyze.Position) []figureRow {
	if p == nil {
		return nil
	}
	return append(trackFigures(p),
		figureRow{"Slow error of the receiver", show(p.WanderM, tenths), "of one coordinate"},
		figureRow{"Track's clock to the log's", clockOffset(p), clockWords(p)})
}

func tenths(v float64) string { return fixed(v, 1) + gap + "m" }

// clockOffset is the offset of the clocks with its uncertainty.
func clockOffset(p *analyze.Position) shown {
	s := show(p.ClockOffsetS, func(v float64) string { return fixed(v, 2) + gap + "s" })
	if sigma, ok := p.ClockSigmaS.Get(); ok && !s.Absent {
		s.Text += " ± " + signif(sigma, 2) + gap + "s"
	}
	return s
}

// trackWords is the track in the summary: how long, and how its clock lies.
func trackWords(p *analyze.Position) shown {
	s := clockOffset(p)
	if s.Absent {
		return s
	}
	return shown{Text: wholeMetres(p.LengthM.Or(0)) + "; clock offset " + s.Text}
}

func wholeMetres(v float64) string { return fixed(v, 0) + gap + "m" }

// trackFigures is what a track shows by itself.
func trackFigures(p *analyze.Position) []figureRow {
	return []figureRow{
		{"Positions", shown{Text: fmt.Sprintf("%d, %d not used", p.Fixes, p.Dropped)}, "from " + filepath.Base(p.Source)},
		{"Rate of the receiver", shown{Text: signif(p.RateHz, 3) + gap + "Hz"}, ""},
		{"Distance ridden", show(p.LengthM, wholeMetres), "on the ellipsoid"},
		{"Noise of the positions", show(p.NoiseM, tenths), "of one coordinate, from fix to fix"},
	}
}

// clockWords says how the offset of the clocks was found.
func clockWords(p *analyze.Position) string {
	from := map[string]string{
		"stamps":     "from the stamps of both",
		"markers":    "from markers",
		"activity":   "from the fork's dive and the receiver's braking",
		"given":      "given with --clock-offset",
		"same clock": "the log holds the positions",
	}[p.ClockMethod]
	if from == "" {
		from = p.ClockMethod
	}
	if p.ClockMethod == "activity" || p.ClockMethod == "stamps" {
		from += fmt.Sprintf(", confidence %.0f %%", 100*p.ClockConfidence)
	}
	return strings.Join(append([]string{from}, p.Notes...), "; ")
}

// TrackText writes what a track holds, in lines of at most 80 columns. p is nil where no path could be made of it, why says why.
func TrackText(w *strings.Builder, source string, understood, cautions []string, p *analyze.Position, why string) {
	t := &screen{}
	t.line(clip(runName(source), textColumns))
	t.understood(understood)
	t.line("")
	if p != nil {
		t.line("Quality of the data")
		for _, f := range trackFigures(p) {
			t.item(fmt.Sprintf("  %-31s ", f.Name), f.inlineWithHint())
		}
		t.line("")
	}
	for _, c := range cautions {
		t.item("warning: ", sentence(c))
	}
	if why != "" {
		t.item("warning: ", sentence(why))
	}
	if len(cautions) == 0 && why == "" {
		t.line("Nothing to complain about.")
	}
	w.WriteString(t.out.String())
}
