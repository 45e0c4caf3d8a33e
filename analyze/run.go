package analyze

import (
	"errors"
	"fmt"
	"math"
	"sync"

	"stanchion/analyze/signal"
	"stanchion/ingest"
)

// Run computes every figure of one trace. The trace is not changed. It fails only where nothing could be computed at
// all: no samples, a fork travel that is not positive, or options that make no sense.
func Run(trace *ingest.Trace, opt Options) (*Result, *Signals, error) {
	r, err := newRide(trace, opt)
	if err != nil {
		return nil, nil, err
	}
	res := &Result{
		SchemaVersion: SchemaVersion, Source: trace.Source, Fork: trace.Fork, Options: r.opt,
		Understood: trace.Understood, Prepare: trace.Options, Markers: trace.Markers,
	}
	together(
		func() { res.Quality = r.quality() },
		func() { res.Ride = r.riding() },
		func() { res.Strokes = r.strokes() },
		func() { res.Sag = r.sag() },
		func() { res.Velocity = r.velocity() },
		func() { res.Density = r.density() },
		func() { res.Spectrum = r.spectrum() },
	)
	strokes := res.Strokes.List
	together(
		func() { res.Travel = r.travel(strokes) },
		func() {
			res.Air = r.air(strokes)
			res.Reversals = r.reversals(strokes, res.Air.Spells)
		},
		func() { res.Packing = r.packing(strokes, res.Sag) },
		func() { res.Return = r.returns(strokes, res.Sag) },
		func() { res.Damping = r.damping(strokes) },
		func() { res.BrakeDive = r.brakeDive(res.Sag) },
	)
	res.Quality.ShortestReversalS = res.Reversals.shortest
	res.Rough = r.rough(strokes, res.Travel.Bottoms, res.Packing.Runs)
	res.Caveats = r.caveats(res)
	return res, r.signals(), nil
}

// newRide filters every segment and finds the riding time: all that the figures share.
func newRide(trace *ingest.Trace, opt Options) (*ride, error) {
	if trace == nil || len(trace.Segments) == 0 {
		return nil, errors.New("the recording holds no segment long enough to analyse")
	}
	if t := trace.Fork.TravelMM; !(t > 0) || math.IsInf(t, 0) {
		return nil, fmt.Errorf("fork travel is %g mm: it must be positive", t)
	}
	if !(trace.RateHz > 0) || math.IsInf(trace.RateHz, 0) {
		return nil, fmt.Errorf("sample rate is %g Hz: it must be positive", trace.RateHz)
	}
	if opt.CutoffHz == 0 {
		opt.CutoffHz = min(100, 0.2*trace.RateHz)
	}
	filter := signal.LowPass{RateHz: trace.RateHz, CutoffHz: opt.CutoffHz, Order: opt.FilterOrder}
	if err := filter.Validate(); err != nil {
		return nil, fmt.Errorf("options cutoff_hz and filter_order: %w", err)
	}
	if err := opt.check(trace.RateHz); err != nil {
		return nil, err
	}
	r := &ride{opt: opt, trace: trace, fs: trace.RateHz, T: trace.Fork.TravelMM, distance: distanceOf(trace)}
	if r.fs < opt.RateMinVelocityHz {
		r.noVelocity = fmt.Sprintf("sample rate %.4g Hz is under %.4g Hz, too low for velocity", r.fs, opt.RateMinVelocityHz)
	}
	for i := range trace.Segments {
		src := &trace.Segments[i]
		n := len(src.TravelMM)
		if n == 0 {
			continue
		}
		s := segment{startS: src.StartS, source: i, raw: src.TravelMM, x: make([]float64, n), v: make([]float64, n)}
		if err := plausible(s.raw); err != nil {
			return nil, fmt.Errorf("segment at %.3f s: %w", s.startS, err)
		}
		filter.Apply(s.x, s.v, s.raw)
		s.cells = r.cells(s.v)
		r.segs = append(r.segs, s)
	}
	if len(r.segs) == 0 {
		return nil, errors.New("the recording holds no samples")
	}
	r.all = r.measure()
	return r, nil
}

// maxTravelMM is far beyond any fork, and far from where sums of squares overflow.
const maxTravelMM = 1e6

// plausible refuses readings that no figure could be computed with.
func plausible(x []float64) error {
	for i, v := range x {
		if !(math.Abs(v) <= maxTravelMM) {
			return fmt.Errorf("travel is %g mm at sample %d: check the calibration", v, i)
		}
	}
	return nil
}

// signals hands out the filtered signals.
func (r *ride) signals() *Signals {
	speed, hasSpeed := speedChannel(r.trace.Channels)
	out := &Signals{RateHz: r.fs, DistanceFrom: r.distance.from, Segments: make([]SignalSegment, len(r.segs))}
	for i := range r.segs {
		s := &r.segs[i]
		g := SignalSegment{
			StartS: s.startS, TravelMM: s.x, VelocityMMS: s.v,
			RMSMMS: make([]float64, len(s.cells)), Riding: make([]bool, len(s.cells)),
		}
		for k, c := range s.cells {
			g.RMSMMS[k], g.Riding[k] = c.rms, c.riding
		}
		if r.distance.known() {
			g.DistanceM = r.distance.perCell(r.distance.values(r.trace, s), s.cells)
		}
		if hasSpeed {
			g.SpeedMS = speed.meanPerCell(speed.values(r.trace, s), s.cells)
		}
		out.Segments[i] = g
	}
	return out
}

// together runs independent work at the same time and waits for all of it.
func together(work ...func()) {
	var wg sync.WaitGroup
	for _, w := range work {
		wg.Go(w)
	}
	wg.Wait()
}
