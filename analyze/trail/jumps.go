package trail

import (
	"cmp"
	"slices"

	"stanchion/analyze"
)

// takeOffSlackS is how far the take-off is uncertain: flights that measure this much under the least air time are kept, so that
// none over it is lost.
const takeOffSlackS = 0.015

// jumpsOf are the jumps of one run in time order; why says why they could not be looked for.
func jumpsOf(run int, r *RunOnTrail, g *ground, opt *ReadingOptions) (jumps []Jump, why string) {
	jumps = []Jump{}
	if !hasVelocity(r) {
		return jumps, "jumps need the fork's speed, and the log's sample rate is too low for it"
	}
	for _, f := range flights(r.Result, r.Signals, opt.JumpMinS-takeOffSlackS) {
		s := &r.Signals.Segments[f.segment]
		at := func(i int) float64 { return s.StartS + float64(i)/r.Signals.RateHz }
		j := Jump{Run: run, TakeOffS: at(f.take), LandingS: at(f.land), AirS: float64(f.land-f.take) / r.Signals.RateHz}
		j.SpeedMS = g.speedFigure(j.TakeOffS)
		if v, ok := j.SpeedMS.Get(); ok {
			if v < opt.JumpSpeedMS {
				continue // lifted or dropped by hand
			}
			j.FlownM = analyze.Value(v*j.AirS, 1)
		} else {
			j.FlownM = analyze.Absent("%s", j.SpeedMS.Reason())
		}
		j.TakeOffM, j.LandingM = g.stationFigure(j.TakeOffS), g.stationFigure(j.LandingS)
		j.LandingMMS = analyze.Value(f.landingSpeed, 1)
		j.measureLanding(r, s, &f, opt)
		jumps = append(jumps, j)
	}
	return jumps, ""
}

func hasVelocity(r *RunOnTrail) bool {
	return r.Signals != nil && r.Signals.RateHz >= r.Result.Options.RateMinVelocityHz
}

// measureLanding fills in how deep the fork went and the verdicts.
func (j *Jump) measureLanding(r *RunOnTrail, s *analyze.SignalSegment, f *flight, opt *ReadingOptions) {
	deepest := s.TravelMM[f.land]
	for _, x := range s.TravelMM[f.land : f.peak+1] {
		deepest = max(deepest, x)
	}
	travel := r.Result.Fork.TravelMM
	j.LandingMM, j.LandingPct = analyze.Value(deepest, 1), analyze.Value(100*deepest/travel, 1)
	peakS := s.StartS + float64(f.peak)/r.Signals.RateHz
	bottomed, hard := false, false
	for _, b := range r.Result.Travel.Bottoms {
		if b.TimeS >= j.LandingS && b.TimeS <= peakS {
			bottomed, hard = true, hard || b.Hard
		}
	}
	j.TopOutMMS = analyze.Absent("the fork did not top out in the air")
	topped := false
	for _, t := range r.Result.Travel.Tops {
		if t.TimeS >= s.StartS+float64(f.lift)/r.Signals.RateHz && t.TimeS < j.LandingS {
			if !j.TopOutMMS.OK() {
				j.TopOutMMS = analyze.Value(t.SpeedMMS, 1)
			}
			topped = topped || t.Hard
		}
	}
	switch {
	case hard:
		j.Verdicts = append(j.Verdicts, LandingHard)
	case bottomed:
		j.Verdicts = append(j.Verdicts, LandingBottomed)
	case 100*deepest >= opt.DeepPct*travel:
		j.Verdicts = append(j.Verdicts, LandingDeep)
	default:
		j.Verdicts = append(j.Verdicts, LandingClean)
	}
	if topped {
		j.Verdicts = append(j.Verdicts, TakeOffHarsh)
	}
}

// joinJumps takes the jumps of the runs together by the place of their take-off.
func joinJumps(runs [][]Jump, grounds []*ground, joinM float64) []JumpPlace {
	var placed []event
	for k := range runs {
		for i := range runs[k] {
			if m, ok := runs[k][i].TakeOffM.Get(); ok {
				placed = append(placed, event{run: k, index: i, station: m})
			}
		}
	}
	out := []JumpPlace{}
	for _, group := range joinByRun(placed, joinM) {
		p := JumpPlace{}
		for _, e := range group {
			p.Jumps = append(p.Jumps, runs[e.run][e.index])
		}
		get := func(f func(*Jump) analyze.Figure) OverRuns { return overEach(p.Jumps, f) }
		p.TakeOffM = get(func(j *Jump) analyze.Figure { return j.TakeOffM })
		p.AirS = get(func(j *Jump) analyze.Figure { return analyze.Value(j.AirS, 1) })
		p.SpeedMS = get(func(j *Jump) analyze.Figure { return j.SpeedMS })
		p.LandingPct = get(func(j *Jump) analyze.Figure { return j.LandingPct })
		p.LandingMMS = get(func(j *Jump) analyze.Figure { return j.LandingMMS })
		var verdicts []string
		for i := range p.Jumps {
			verdicts = append(verdicts, p.Jumps[i].Verdicts...)
		}
		p.Verdicts = votes(verdicts)
		p.Sighting = sighting(len(group), passedBy(grounds, group, p.TakeOffM.Median.Or(0), p.TakeOffM.Median.Or(0)))
		out = append(out, p)
	}
	return out
}

// overEach is a figure of each of a list, over the list.
func overEach[T any](list []T, f func(*T) analyze.Figure) OverRuns {
	figures := make([]analyze.Figure, len(list))
	for i := range list {
		figures[i] = f(&list[i])
	}
	return over(figures)
}

// votes counts keys, the most frequent first, equal ones by name.
func votes(keys []string) []Vote {
	count := map[string]int{}
	for _, k := range keys {
		count[k]++
	}
	out := []Vote{}
	for k, n := range count {
		out = append(out, Vote{k, n})
	}
	slices.SortFunc(out, func(a, b Vote) int { return cmp.Or(cmp.Compare(b.Runs, a.Runs), cmp.Compare(a.Key, b.Key)) })
	return out
}
