package analyze

import (
	"math"
	"slices"

	"stanchion/analyze/signal"
)

// A PackingRun is a maximal run of valleys that stayed deep.
type PackingRun struct {
	StartS    float64 `json:"start_s"` // first valley
	EndS      float64 `json:"end_s"`   // last valley
	Valleys   int     `json:"valleys"`
	DeepestMM float64 `json:"deepest_valley_mm"`
}

// Packing is whether the fork sank into its travel in rough ground.
type Packing struct {
	Runs             []PackingRun `json:"runs"` // that start while riding, in time order
	Count            Figure       `json:"count"`
	PerMin           Figure       `json:"per_min"`
	DeepestMM        Figure       `json:"deepest_valley_mm"`
	RideHeightLossMM Figure       `json:"ride_height_loss_mm"` // median dynamic sag − static sag
	SinkInRoughPct   Figure       `json:"sink_in_rough_pct"`   // median travel of the rough quarter − static sag
	ReferenceMM      Figure       `json:"reference_mm"`        // the sag that depth was measured from
	Reference        string       `json:"reference"`           // what that was: "static sag" or "median travel of the calm quarter"
}

// What depth is measured from.
const (
	ReferenceStatic = "static sag"
	ReferenceCalm   = "median travel of the calm quarter"
)

const calmNote = "no static sag: depth is measured from the median travel of the calm quarter of the ride"

// reference is the travel that depth is measured from: static sag, and where there is none the median travel of the
// riding cells with RMS speed ≤ Q(25), with a caveat.
func (r *ride) reference(sag Sag) (mm Figure, what string) {
	if s, ok := sag.StaticMM.Get(); ok {
		return Value(s, sag.StaticMM.N()), ReferenceStatic
	}
	calm := r.quarterMedian(0.25, func(rms, q float64) bool { return rms <= q })
	if m, ok := calm.Get(); ok {
		return Value(m, calm.N(), calmNote), ReferenceCalm
	}
	return calm, ""
}

// quarterMedian is the median travel of the riding cells whose RMS speed is on the chosen side of the quantile q of
// the riding cells' RMS speeds. Its n is in cells.
func (r *ride) quarterMedian(q float64, in func(rms, limit float64) bool) Figure {
	roughness := r.ridingRMS()
	if len(roughness) == 0 {
		return Absent(noRiding)
	}
	limit := signal.Quantiles(roughness, q)[0]
	cells, samples := 0, 0
	visit := func(f func(x []float64)) {
		for i := range r.segs {
			s := &r.segs[i]
			for _, c := range s.cells {
				if c.riding && in(c.rms, limit) {
					f(s.x[c.lo:c.hi])
				}
			}
		}
	}
	visit(func(x []float64) { cells, samples = cells+1, samples+len(x) })
	all := make([]float64, 0, samples) // of an hour, 7 MB: not to be grown
	visit(func(x []float64) { all = append(all, x...) })
	return Value(signal.Median(all), cells)
}

// ridingRMS is the roughness of every riding cell, in time order, mm/s.
func (r *ride) ridingRMS() []float64 {
	var all []float64
	for i := range r.segs {
		for _, c := range r.segs[i].cells {
			if c.riding {
				all = append(all, c.rms)
			}
		}
	}
	return all
}

// sampleAt is the sample of s nearest to time t, which may lie outside s.
func (r *ride) sampleAt(s *segment, t float64) int { return int(math.Round((t - s.startS) * r.fs)) }

// packing finds the runs of at least PackingValleys consecutive valleys (rebound ends), each at most PackingGapS after
// the one before and each at least PackingDepthPct of travel deeper than the reference.
func (r *ride) packing(strokes []Stroke, sag Sag) Packing {
	if r.noVelocity != "" {
		none := Absent("%s", r.noVelocity)
		return Packing{Runs: []PackingRun{}, Count: none, PerMin: none, DeepestMM: none, RideHeightLossMM: none, SinkInRoughPct: none, ReferenceMM: none}
	}
	p := Packing{Runs: []PackingRun{}}
	p.RideHeightLossMM, p.SinkInRoughPct = r.heights(sag)
	p.ReferenceMM, p.Reference = r.reference(sag)
	ref, ok := p.ReferenceMM.Get()
	why := p.ReferenceMM.Reason()
	if r.ridingMinutes() == 0 && !slices.ContainsFunc(strokes, func(s Stroke) bool { return s.Riding }) {
		ok, why = false, noRiding // a fork that stood still did not fail to pack
	}
	if !ok {
		none := Absent("%s", why)
		p.Count, p.PerMin, p.DeepestMM = none, none, none
		return p
	}
	p.Runs = r.packingRuns(strokes, ref+r.pct(r.opt.PackingDepthPct))
	caveats := p.ReferenceMM.Caveats()
	n := len(p.Runs)
	p.Count = Value(float64(n), n, caveats...)
	p.PerMin = Absent(noRiding)
	if minutes := r.ridingMinutes(); minutes > 0 {
		p.PerMin = Value(float64(n)/minutes, n, caveats...)
	}
	p.DeepestMM = Absent("no packing")
	deepest := math.Inf(-1)
	for _, run := range p.Runs {
		deepest = max(deepest, run.DeepestMM)
	}
	if n > 0 {
		p.DeepestMM = Value(deepest, n, caveats...)
	}
	return p
}

// heights are the ride-height loss in mm and the sink in rough ground in percent of travel.
func (r *ride) heights(sag Sag) (loss, sink Figure) {
	static, ok := sag.StaticMM.Get()
	if !ok {
		none := Absent("no static sag: %s", sag.StaticMM.Reason())
		return none, none
	}
	caveats := sag.StaticMM.Caveats()
	loss = Absent("no dynamic sag: %s", sag.DynamicMM.Reason())
	if d, ok := sag.DynamicMM.Get(); ok {
		loss = Value(d-static, sag.DynamicMM.N(), caveats...)
	}
	sink = r.quarterMedian(0.75, func(rms, q float64) bool { return rms >= q })
	if m, ok := sink.Get(); ok {
		sink = Value((m-static)/r.T*100, sink.N(), caveats...)
	}
	return loss, sink
}

// packingRuns are the maximal runs of deep valleys that start while riding. level is the least depth, mm.
func (r *ride) packingRuns(strokes []Stroke, level float64) []PackingRun {
	runs := []PackingRun{}
	var run PackingRun
	segment := -1
	gap := r.count(r.opt.PackingGapS)
	flush := func() {
		if run.Valleys >= max(1, r.opt.PackingValleys) {
			if s := &r.segs[segment]; r.ridingAt(s, r.sampleAt(s, run.StartS)) {
				runs = append(runs, run)
			}
		}
		run = PackingRun{}
	}
	for _, st := range strokes {
		if st.Compression {
			continue
		}
		late := run.Valleys > 0 && r.count(st.EndS-run.EndS) > gap
		if st.Segment != segment || late || st.EndMM < level {
			flush()
		}
		segment = st.Segment
		if st.EndMM < level {
			continue
		}
		if run.Valleys == 0 {
			run = PackingRun{StartS: st.EndS, DeepestMM: st.EndMM}
		}
		run.EndS = st.EndS
		run.Valleys++
		run.DeepestMM = max(run.DeepestMM, st.EndMM)
	}
	flush()
	return runs
}
