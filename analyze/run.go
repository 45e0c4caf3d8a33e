package analyze

import (
	"errors"
	"fmt"
	"sync"

	"stanchion/ingest"
)

// Run computes every figure of one trace. The trace is not changed. It fails only where nothing could be computed at
// all: no samples, or a fork travel that is not positive.
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
	res.Rough = r.rough(strokes, res.Travel.Bottoms, res.Packing.Runs)
	res.Caveats = r.caveats(res)
	return res, r.signals(), nil
}

func newRide(trace *ingest.Trace, opt Options) (*ride, error) {
	if trace == nil || len(trace.Segments) == 0 {
		return nil, errors.New("the recording holds no segment long enough to analyse")
	}
	if !(trace.Fork.TravelMM > 0) {
		return nil, fmt.Errorf("fork travel is %g mm: it must be positive", trace.Fork.TravelMM)
	}
	r := &ride{opt: opt, trace: trace, fs: trace.RateHz, T: trace.Fork.TravelMM}
	return r, nil
}

// caveats gathers what a person must know before trusting the figures.
func (r *ride) caveats(res *Result) []Caveat { return nil }

// signals hands out the filtered signals for drawing.
func (r *ride) signals() *Signals { return &Signals{RateHz: r.fs} }

// together runs independent work at the same time and waits for all of it.
func together(work ...func()) {
	var wg sync.WaitGroup
	for _, w := range work {
		wg.Go(w)
	}
	wg.Wait()
}
