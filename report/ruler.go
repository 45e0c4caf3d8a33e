package report

import (
	"math"

	"stanchion/analyze"
)

// A ruler is the stanchion drawn to scale, with what the run left on it.
type ruler struct {
	Ticks          []tick
	Marks          []mark
	HasBand        bool
	BandAt, BandTo float64 // middle half of the time, percent of the length
	Label          string  // accessible name
}

type tick struct {
	At    float64 // percent of the length
	Label string  // "" for a small tick
}

// A mark is one figure on the ruler. Its shape, not only its colour, tells it from the others.
type mark struct {
	Kind  string // class of the style sheet
	At    float64
	Text  string
	Value shown
}

// drawRuler lays the figures of travel on a scale of the fork's length.
func drawRuler(r *analyze.Result) ruler {
	length := r.Fork.TravelMM
	out := ruler{Label: "The stanchion to scale, from extended on the left to full travel on the right"}
	at := func(v float64) float64 { return round(max(0, min(100, 100*v/length)), 4) }
	for v := 0.0; v <= length; v += 10 {
		t := tick{At: at(v)}
		if math.Mod(v, 50) == 0 && length-v > 12 {
			t.Label = fixed(v, 0)
		}
		out.Ticks = append(out.Ticks, t)
	}
	out.Ticks = append(out.Ticks, tick{At: 100, Label: mm(length)})
	for _, m := range []struct {
		kind, text string
		f, pct     analyze.Figure
	}{
		{"sag", "static sag", r.Sag.StaticMM, r.Sag.StaticPct},
		{"median", "median while riding", r.Sag.DynamicMM, r.Sag.DynamicPct},
		{"q95", "95 % of the time under", r.Travel.Q95MM, analyze.Figure{}},
		{"deepest", "deepest", r.Travel.MaxMM, r.Travel.MaxPct},
	} {
		k := mark{Kind: m.kind, Text: m.text, Value: showBoth(m.f, mm, m.pct, percent)}
		if v, ok := m.f.Get(); ok {
			k.At = at(v)
		}
		out.Marks = append(out.Marks, k)
	}
	lo, okLo := r.Travel.Q25MM.Get()
	hi, okHi := r.Travel.Q75MM.Get()
	if okLo && okHi {
		out.HasBand, out.BandAt, out.BandTo = true, at(lo), at(hi)
	}
	return out
}
