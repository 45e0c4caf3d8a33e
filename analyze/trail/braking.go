package trail

import (
	"math"

	"stanchion/analyze"
	"stanchion/analyze/signal"
)

// brakeStepS is the step at which the speed is looked at.
const brakeStepS = 0.1

// brakingOf are the spans of one run in which the rider slowed down by at least BrakeMS2, in time order. The deceleration at a time is the difference
// of the speeds BrakeSmoothS/2 before and after it, over that time: exact for a steady deceleration, whatever the rate of the fixes.
func brakingOf(run int, r *RunOnTrail, g *ground, opt *ReadingOptions) (list []Braking, why string) {
	list = []Braking{}
	if len(g.v) < 2 {
		return list, "no speed over ground: neither positions nor a speed channel"
	}
	from := g.vt[0] + opt.BrakeSmoothS/2
	n := int((g.vt[len(g.vt)-1] - opt.BrakeSmoothS/2 - from) / brakeStepS)
	at := func(i int) float64 { return from + float64(i)*brakeStepS }
	deceleration := func(i int) (float64, bool) {
		before, ok1 := g.speed(at(i) - opt.BrakeSmoothS/2)
		after, ok2 := g.speed(at(i) + opt.BrakeSmoothS/2)
		return (before - after) / opt.BrakeSmoothS, ok1 && ok2
	}
	first, last, peak := -1, -1, 0.0
	flush := func() {
		if first >= 0 && float64(last-first)*brakeStepS >= opt.BrakeMinS-1e-9 {
			list = append(list, newBraking(run, r, g, at(first), at(last), peak))
		}
		first, peak = -1, 0
	}
	for i := 0; i <= n; i++ {
		d, ok := deceleration(i)
		if first >= 0 && (!ok || float64(i-last)*brakeStepS > opt.BrakeGapS+1e-9) {
			flush()
		}
		if !ok || d < opt.BrakeMS2 {
			continue
		}
		if first < 0 {
			first = i
		}
		last, peak = i, max(peak, d)
	}
	flush()
	return list, ""
}

func newBraking(run int, r *RunOnTrail, g *ground, startS, endS, peak float64) Braking {
	b := Braking{Run: run, StartS: startS, EndS: endS, PeakMS2: peak, StartM: g.stationFigure(startS), EndM: g.stationFigure(endS)}
	b.FromMS, _ = g.speed(startS)
	b.ToMS, _ = g.speed(endS)
	b.MeanMS2 = (b.FromMS - b.ToMS) / (endS - startS)
	x := travelIn(r.Signals, startS, endS)
	if len(x) == 0 {
		none := analyze.Absent("no travel recorded in it")
		b.MeanMM, b.PeakMM, b.DiveMM, b.DivePct = none, none, none, none
		return b
	}
	sum, deepest := 0.0, math.Inf(-1)
	for _, v := range x {
		sum, deepest = sum+v, max(deepest, v)
	}
	b.MeanMM, b.PeakMM = analyze.Value(sum/float64(len(x)), len(x)), analyze.Value(deepest, len(x))
	usual, ok := r.Result.Sag.DynamicMM.Get()
	if !ok {
		none := analyze.Absent("no dynamic sag: %s", r.Result.Sag.DynamicMM.Reason())
		b.DiveMM, b.DivePct = none, none
		return b
	}
	dive := signal.Median(x) - usual
	b.DiveMM, b.DivePct = analyze.Value(dive, len(x)), analyze.Value(100*dive/r.Result.Fork.TravelMM, len(x))
	return b
}

// travelIn is the samples of filtered travel between two times, all segments.
func travelIn(sig *analyze.Signals, startS, endS float64) []float64 {
	if sig == nil || !(sig.RateHz > 0) {
		return nil
	}
	var out []float64
	for i := range sig.Segments {
		s := &sig.Segments[i]
		lo := max(0, int(math.Ceil((startS-s.StartS)*sig.RateHz-1e-6)))
		hi := min(len(s.TravelMM), int(math.Ceil((endS-s.StartS)*sig.RateHz-1e-6)))
		if lo < hi {
			out = append(out, s.TravelMM[lo:hi]...)
		}
	}
	return out
}

// joinBraking takes the braking of the runs together by the place of its middle.
func joinBraking(runs [][]Braking, grounds []*ground, joinM float64) []BrakeZone {
	var placed []event
	for k := range runs {
		for i := range runs[k] {
			from, ok1 := runs[k][i].StartM.Get()
			to, ok2 := runs[k][i].EndM.Get()
			if ok1 && ok2 {
				placed = append(placed, event{run: k, index: i, station: (from + to) / 2})
			}
		}
	}
	out := []BrakeZone{}
	for _, group := range joinByRun(placed, joinM) {
		z := BrakeZone{}
		for _, e := range group {
			z.Runs = append(z.Runs, runs[e.run][e.index])
		}
		get := func(f func(*Braking) analyze.Figure) OverRuns { return overEach(z.Runs, f) }
		z.StartM = get(func(b *Braking) analyze.Figure { return b.StartM })
		z.EndM = get(func(b *Braking) analyze.Figure { return b.EndM })
		z.MeanMS2 = get(func(b *Braking) analyze.Figure { return analyze.Value(b.MeanMS2, 1) })
		z.FromMS = get(func(b *Braking) analyze.Figure { return analyze.Value(b.FromMS, 1) })
		z.ToMS = get(func(b *Braking) analyze.Figure { return analyze.Value(b.ToMS, 1) })
		z.DivePct = get(func(b *Braking) analyze.Figure { return b.DivePct })
		z.PeakMM = get(func(b *Braking) analyze.Figure { return b.PeakMM })
		z.Sighting = sighting(len(group), passedBy(grounds, group, z.StartM.Median.Or(0), z.EndM.Median.Or(0)))
		out = append(out, z)
	}
	return out
}
