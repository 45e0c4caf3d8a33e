package analyze

import (
	"math"

	"stanchion/analyze/signal"
	"stanchion/ingest"
)

// Quality is how far the recording can be trusted.
type Quality struct {
	ingest.Quality
	DurationS    Figure  `json:"duration_s"` // recorded, gaps left out
	CutoffHz     float64 `json:"cutoff_hz"`  // of the low-pass that was used
	ZeroOffsetMM Figure  `json:"zero_offset_mm"`
	NoiseMMS     Figure  `json:"noise_floor_mm_s"`
	// SuggestedCutoffHz is a lower cutoff that would bring the noise floor under the limit; absent where none is needed.
	SuggestedCutoffHz Figure `json:"suggested_cutoff_hz"`
	// ShortestReversalS is what a reversal in no time at all would read, because of the low-pass, between strokes at the
	// median speed of those whose reversals were counted.
	ShortestReversalS Figure `json:"shortest_reversal_s"`
}

func (r *ride) quality() Quality {
	out := Quality{
		Quality: r.trace.Quality, CutoffHz: r.opt.CutoffHz,
		DurationS: Value(float64(r.samples())/r.fs, r.samples()), ZeroOffsetMM: r.zeroOffset(),
	}
	if r.noVelocity != "" {
		out.NoiseMMS, out.SuggestedCutoffHz = Absent(r.noVelocity), Absent(r.noVelocity)
		return out
	}
	seg, quiet, ok := r.quietest()
	if !ok {
		out.NoiseMMS = Absent("no stretch of %g s without a gap", r.opt.NoiseWindowS)
		out.SuggestedCutoffHz = out.NoiseMMS
		return out
	}
	noise := signal.RMS(r.segs[seg].v[quiet.lo:quiet.hi])
	out.NoiseMMS = Value(noise, quiet.hi-quiet.lo)
	out.SuggestedCutoffHz = r.quieterCutoff(&r.segs[seg], quiet, noise)
	return out
}

// zeroOffset is where the sensor reads full extension.
func (r *ride) zeroOffset() Figure {
	if r.all.n == 0 {
		return Absent(noRiding)
	}
	q := r.all.raw.quantiles(r.all.n, r.visitRaw, r.opt.ZeroQuantile)[0]
	if q >= r.pct(r.opt.ZeroMaxPct) {
		return Absent("not known: the fork did not extend fully while riding")
	}
	return Value(q, r.all.n)
}

// visitRaw passes every riding sample of unfiltered travel.
func (r *ride) visitRaw(f func(float64)) {
	for k := range r.segs {
		s := &r.segs[k]
		for _, p := range s.ridingSpans() {
			for _, x := range s.raw[p.lo:p.hi] {
				f(x)
			}
		}
	}
}

// quietest is the window of Options.NoiseWindowS with the least RMS velocity. Windows start at whole cells. Every
// window is summed afresh from the sums of its cells, so that nothing cancels.
func (r *ride) quietest() (seg int, quiet span, ok bool) {
	cells := max(1, int(math.Round(r.opt.NoiseWindowS/r.opt.CellS)))
	best := math.Inf(1)
	for k := range r.segs {
		s := &r.segs[k]
		energy := make([]float64, len(s.cells))
		for i, c := range s.cells {
			rms := signal.RMS(s.v[c.lo:c.hi])
			energy[i] = rms * rms * float64(c.hi-c.lo)
		}
		// The last cell may be short; a window may hold it only if it lasts long enough all the same.
		for i := 0; i+cells <= len(s.cells); i++ {
			p := span{s.cells[i].lo, s.cells[i+cells-1].hi}
			if !r.lasts(p, r.opt.NoiseWindowS) {
				continue
			}
			sum := 0.0
			for _, e := range energy[i : i+cells] {
				sum += e
			}
			if power := sum / float64(p.hi-p.lo); power < best {
				best, seg, quiet, ok = power, k, p, true
			}
		}
	}
	return seg, quiet, ok
}

// quieterCutoff is the highest cutoff, in thirds of an octave (preferred numbers, IEC 61260), at which the noise floor keeps to
// Options.NoiseWarnMMS.
func (r *ride) quieterCutoff(s *segment, quiet span, noise float64) Figure {
	if noise <= r.opt.NoiseWarnMMS {
		return Absent("none is needed: the noise floor is low enough")
	}
	around := r.count(1) // s on either side, so that the ends do not show
	lo, hi := max(0, quiet.lo-around), min(len(s.raw), quiet.hi+around)
	x, v := make([]float64, hi-lo), make([]float64, hi-lo)
	for _, hz := range []float64{400, 315, 250, 200, 160, 125, 100, 80, 63, 50, 40, 31.5, 25, 20, 16, 12.5, 10} {
		f := signal.LowPass{RateHz: r.fs, CutoffHz: hz, Order: r.opt.FilterOrder}
		if hz >= r.opt.CutoffHz || f.Validate() != nil {
			continue
		}
		f.Apply(x, v, s.raw[lo:hi])
		if signal.RMS(v[quiet.lo-lo:quiet.hi-lo]) <= r.opt.NoiseWarnMMS {
			return Value(hz, quiet.hi-quiet.lo)
		}
	}
	return Absent("no cutoff down to 10 Hz would do: the fork was moving, or the sensor is very noisy")
}
