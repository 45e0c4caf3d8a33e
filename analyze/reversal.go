package analyze

import (
	"math"
	"slices"

	"stanchion/analyze/signal"
)

// ReversalSummary is about reversals of one kind.
type ReversalSummary struct {
	MedianS Figure `json:"median_s"`
	Q90S    Figure `json:"q90_s"`
}

// Reversals is how fast the fork changed direction.
type Reversals struct {
	CompressionToRebound ReversalSummary `json:"compression_to_rebound"`
	ReboundToCompression ReversalSummary `json:"rebound_to_compression"`
	// TimesCR and TimesRC are the single reversal times in s, in time order, for drawing.
	TimesCR []float64 `json:"-"`
	TimesRC []float64 `json:"-"`

	shortest Figure // becomes Quality.ShortestReversalS
}

func (r *ride) reversals(strokes []Stroke, spells []ExtendedSpell) Reversals {
	var out Reversals
	if why := r.unspeakable(); why != "" {
		a := Absent(why)
		out.CompressionToRebound, out.ReboundToCompression = ReversalSummary{a, a}, ReversalSummary{a, a}
		out.shortest = a
		return out
	}
	var speeds []float64
	for i := 1; i < len(strokes); i++ {
		a, b := &strokes[i-1], &strokes[i]
		s := &r.segs[b.Segment]
		slower := min(a.PeakMMS, b.PeakMMS)
		if a.Segment != b.Segment || slower <= r.opt.ReversalMMS || !r.ridingAt(s, b.lo) {
			continue
		}
		from, to := r.reversal(s, a, b)
		if overlaps(spells, r.time(s, from), r.time(s, to)) {
			continue
		}
		speeds = append(speeds, slower)
		if a.Compression {
			out.TimesCR = append(out.TimesCR, (to-from)/r.fs)
		} else {
			out.TimesRC = append(out.TimesRC, (to-from)/r.fs)
		}
	}
	out.CompressionToRebound = r.summariseReversals(out.TimesCR)
	out.ReboundToCompression = r.summariseReversals(out.TimesRC)
	out.shortest = r.enough(len(speeds), "reversal", func() float64 {
		return r.shortestReversal(signal.Median(speeds))
	})
	return out
}

func (r *ride) summariseReversals(times []float64) ReversalSummary {
	quantile := func(p float64) Figure {
		return r.enough(len(times), "reversal", func() float64 { return signal.Quantiles(slices.Clone(times), p)[0] })
	}
	return ReversalSummary{MedianS: quantile(0.5), Q90S: quantile(0.9)}
}

// reversal is the time, in samples of s, from the last crossing of the reversal speed in stroke a to the first in b.
func (r *ride) reversal(s *segment, a, b *Stroke) (from, to float64) {
	limit, sign := r.opt.ReversalMMS, 1.0
	if !a.Compression {
		sign = -1
	}
	i := a.hi
	for i > a.lo && sign*s.v[i] < limit {
		i--
	}
	from = float64(i)
	if i+1 < len(s.v) {
		from += signal.Crossing(s.v[i], s.v[i+1], sign*limit)
	}
	k := max(b.lo, 1)
	for k < b.hi && -sign*s.v[k] < limit {
		k++
	}
	to = float64(k-1) + signal.Crossing(s.v[k-1], s.v[k], -sign*limit)
	return from, to
}

// overlaps says whether [from, to] touches one of the spells, which are in time order.
func overlaps(spells []ExtendedSpell, from, to float64) bool {
	i, _ := slices.BinarySearchFunc(spells, from, func(e ExtendedSpell, t float64) int {
		if e.EndS < t {
			return -1
		}
		return 1
	})
	return i < len(spells) && spells[i].StartS <= to
}

// shortestReversal is the reversal time in s that a reversal in no time, from +speed to -speed in mm/s, reads after the low-pass.
// The velocity is then -speed·F(t), where F(t) = ∫₀^(fs/2) |H(f)|²·2·sin(2πft)/(πf) df is the filter's step
// response about its middle; the time is twice that at which F reaches limit/speed.
func (r *ride) shortestReversal(speed float64) float64 {
	f := signal.LowPass{RateHz: r.fs, CutoffHz: r.opt.CutoffHz, Order: r.opt.FilterOrder}
	const steps = 2000 // Simpson's rule, even
	df := r.fs / 2 / steps
	gain := make([]float64, steps+1)
	for k := range gain {
		gain[k] = f.Gain(float64(k) * df)
	}
	response := func(t float64) float64 {
		sum := 4 * t // the integrand at f = 0, weight 1
		for k := 1; k <= steps; k++ {
			weight := 2 + 2*float64(k%2)
			if k == steps {
				weight = 1
			}
			hz := float64(k) * df
			sum += weight * gain[k] * 2 * math.Sin(2*math.Pi*hz*t) / (math.Pi * hz)
		}
		return sum * df / 3
	}
	// F first passes 1 before t = 1/(2·cutoff) and rises up to there.
	low, high := 0.0, 0.5/r.opt.CutoffHz
	for range 50 {
		middle := (low + high) / 2
		if response(middle) < r.opt.ReversalMMS/speed {
			low = middle
		} else {
			high = middle
		}
	}
	return 2 * low
}
