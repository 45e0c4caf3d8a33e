package trail

import (
	"math"

	"stanchion/analyze"
)

func newRunReading(r *RunOnTrail, g *ground, jumps []Jump, noJumps string, braking []Braking, noBraking string) RunReading {
	out := RunReading{
		Name: r.name(), Basis: g.basis, CrossRMSM: g.crossRMS,
		Jumps: jumps, NoJumps: noJumps, Braking: braking, NoBraking: noBraking,
	}
	if n := len(g.s); n > 0 {
		out.StartM, out.EndM = analyze.Value(g.s[0], n), analyze.Value(g.s[n-1], n)
	} else {
		none := analyze.Absent("the run has no positions")
		out.StartM, out.EndM = none, none
	}
	none := analyze.Absent("not looked for: no positions, or too low a sample rate")
	out.CalmMMS, out.HarshMMS, out.LimitMMS = none, none, none
	return out
}

// harsh finds the harsh parts of the run and notes the levels that they rest on.
func (o *RunReading) harsh(steps []sums, fs float64, opt *ReadingOptions, velocity bool) seen {
	out := seen{passed: make([]bool, len(steps))}
	if len(steps) == 0 || !velocity {
		return out
	}
	rough := strikesOf(steps, fs)
	n := 0
	for i, v := range rough {
		if out.passed[i] = !math.IsNaN(v); out.passed[i] {
			n++
		}
	}
	width := max(1, int(math.Round(opt.HarshMinM/opt.StepM)))
	l := partLevels(rough, width, opt.HarshRatio)
	if !l.parted {
		none := analyze.Absent("no part of the run stands out by its roughness")
		o.CalmMMS, o.HarshMMS, o.LimitMMS = none, none, none
		return out
	}
	o.CalmMMS, o.HarshMMS, o.LimitMMS = analyze.Value(l.calm, n), analyze.Value(l.harsh, n), analyze.Value(l.limit, n)
	out.parts = trimmed(harshParts(rough, l, opt.HarshMinM/opt.StepM), rough)
	return out
}
