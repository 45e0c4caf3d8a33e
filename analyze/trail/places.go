package trail

import (
	"cmp"
	"math"
	"slices"

	"stanchion/analyze"
)

// seen is what one run says of harsh ground, on the common grid.
type seen struct {
	parts  []span
	passed []bool // steps in which the run's roughness is known
}

// placesOf merges the harsh parts of the runs into places of the trail: stretches that at least HarshShare of the runs that passed found, and
// what is left of the runs' parts as places that fewer found. Boundaries are the medians of the runs' own.
func placesOf(all []seen, gr grid, opt *ReadingOptions) []HarshPlace {
	found, passed := make([]int, gr.n), make([]int, gr.n)
	for _, s := range all {
		for i, p := range s.passed {
			if p {
				passed[i]++
			}
		}
		for _, p := range s.parts {
			for i := p.lo; i < p.hi; i++ {
				found[i]++
			}
		}
	}
	agreed := make([]bool, gr.n)
	for i := range agreed {
		agreed[i] = found[i] > 0 && float64(found[i]) >= opt.HarshShare*float64(passed[i])-1e-9
	}
	least := max(1, int(opt.HarshMinM/opt.StepM/2))
	var places []HarshPlace
	taken := make([][]bool, len(all))
	for k := range all {
		taken[k] = make([]bool, len(all[k].parts))
	}
	for _, p := range spansOf(agreed) {
		if p.hi-p.lo >= least {
			places = appendPlace(places, all, taken, p, gr)
		}
	}
	part(places)
	// The parts that touch no agreed place, each run's own.
	rest := make([]bool, gr.n)
	for k := range all {
		for j, p := range all[k].parts {
			for i := p.lo; i < p.hi && !taken[k][j]; i++ {
				rest[i] = true
			}
		}
	}
	for _, p := range spansOf(rest) {
		places = appendPlace(places, all, taken, p, gr)
	}
	return places
}

// appendPlace takes the parts of the runs that overlap p together. A part that an earlier place took, because it bridges both, counts as found where it
// overlaps at least half of p, but lends no boundary; where no run has a part of its own here, there is no further place.
func appendPlace(places []HarshPlace, all []seen, taken [][]bool, p span, gr grid) []HarshPlace {
	var place HarshPlace
	var starts, ends []float64
	found := 0
	for k := range all {
		in := PlaceInRun{Run: k, StartM: math.Inf(1), EndM: math.Inf(-1)}
		bridged := false
		for j, q := range all[k].parts {
			overlap := min(p.hi, q.hi) - max(p.lo, q.lo)
			switch {
			case overlap <= 0:
			case taken[k][j]:
				bridged = bridged || 2*overlap >= p.hi-p.lo
			default:
				taken[k][j], in.Found = true, true
				in.StartM, in.EndM = min(in.StartM, gr.station(q.lo)), max(in.EndM, gr.station(q.hi))
			}
		}
		switch {
		case in.Found:
			starts, ends = append(starts, in.StartM), append(ends, in.EndM)
		case bridged:
			in.Found, in.StartM, in.EndM = true, gr.station(p.lo), gr.station(p.hi)
		case !mostly(all[k].passed[p.lo:p.hi]):
			continue
		}
		if in.Found {
			found++
		}
		place.Runs = append(place.Runs, in)
	}
	if len(starts) == 0 {
		return places
	}
	place.StartM, place.EndM = middle(starts), middle(ends)
	place.StartSpreadM, place.EndSpreadM = rangeOf(starts), rangeOf(ends)
	place.Sighting = sighting(found, len(place.Runs))
	for i := range place.Runs {
		if in := &place.Runs[i]; !in.Found {
			in.StartM, in.EndM = place.StartM, place.EndM
		}
	}
	return append(places, place)
}

// part ends places where the next begins: medians of different runs may make neighbours overlap, which then meet in the middle. A place that would
// vanish so, because it lies in its neighbour, is left alone.
func part(places []HarshPlace) {
	for i := 1; i < len(places); i++ {
		a, b := &places[i-1], &places[i]
		if m := (a.EndM + b.StartM) / 2; a.EndM > b.StartM && a.StartM < m && m < b.EndM {
			a.EndM, b.StartM = m, m
		}
	}
}

// mostly says whether at least half of v is true.
func mostly(v []bool) bool {
	n := 0
	for _, b := range v {
		if b {
			n++
		}
	}
	return 2*n >= len(v)
}

func rangeOf(v []float64) analyze.Figure {
	if len(v) < 2 {
		return analyze.Absent("found in one run only")
	}
	return analyze.Value(slices.Max(v)-slices.Min(v), len(v))
}

// measurePlaces fills in the figures, causes and ranks of the places and orders them.
func measurePlaces(places []HarshPlace, runs []RunOnTrail, grounds []*ground, opt *ReadingOptions) {
	for i := range places {
		p := &places[i]
		p.Figures = sectionFigures(runs, grounds, p.StartM, p.EndM)
		p.RMSMMS, p.Exposure = p.Figure(KeyRMS).Over, p.Figure(KeyExposure).Over
		var causes []string
		for k := range p.Runs {
			in := &p.Runs[k]
			in.StartS, in.EndS, _ = grounds[in.Run].span(p.StartM, p.EndM)
			if h, ok := analyze.Stretch(runs[in.Run].Result, runs[in.Run].Signals, in.StartS, in.EndS); ok && in.Found {
				causes = append(causes, h.Causes...)
			}
		}
		p.Causes = votes(causes)
	}
	slices.SortStableFunc(places, func(a, b HarshPlace) int {
		return cmp.Or(
			cmp.Compare(minority(&a, opt), minority(&b, opt)),
			cmp.Compare(b.Exposure.Median.Or(0), a.Exposure.Median.Or(0)),
			cmp.Compare(a.StartM, b.StartM))
	})
	for i := range places {
		places[i].Rank = i + 1
	}
}

// minority is 1 for a place that fewer runs found than are needed for agreement.
func minority(p *HarshPlace, opt *ReadingOptions) int {
	if float64(p.FoundIn) < opt.HarshShare*float64(p.PassedBy)-1e-9 {
		return 1
	}
	return 0
}
