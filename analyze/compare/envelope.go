package compare

import (
	"math"
	"sort"

	"stanchion/analyze"
	"stanchion/analyze/signal"
)

// quietMMS is the roughness below which a cell is taken as this rough: the logarithm of a standstill has no meaning.
const quietMMS = 5

// envelope is the roughness of a run over time, as logarithms, of the cells in which the fork moved: stops are cut
// out, so that they need no warping. Slices have equal length.
//
// The RMS is of the cell alone, not of the 1 s window about it that the roughness figures use: it is the fine detail that tells one
// trail from another and a place from the next. On trails made of the same kinds of ground the smoother envelope of different
// trails could be warped onto one another at correlations over 0.9.
type envelope struct {
	t    []float64 // middle of the cell, s from the first sample
	y    []float64 // ln of RMS velocity in mm/s
	dist []float64 // m along the trail; nil where not known
	cell float64   // s
	// sped: dist was integrated from speed.
	sped bool
}

func newEnvelope(r *Run) envelope {
	e := envelope{cell: r.Result.Options.CellS}
	if r.Signals == nil || !(e.cell > 0) || !(r.Signals.RateHz > 0) {
		return e
	}
	known := true
	e.sped = r.Signals.DistanceFrom == analyze.DistanceFromSpeed
	for _, s := range r.Signals.Segments {
		first := func(k int) int {
			return min(len(s.VelocityMMS), int(math.Ceil(float64(k)*e.cell*r.Signals.RateHz-1e-6)))
		}
		for k := range s.RMSMMS {
			lo, hi := first(k), first(k+1)
			rms := signal.RMS(s.VelocityMMS[lo:hi])
			if lo == hi || !(rms > r.Result.Options.RidingMMS) || math.IsInf(rms, 0) {
				continue
			}
			e.t = append(e.t, s.StartS+(float64(k)+0.5)*e.cell)
			e.y = append(e.y, math.Log(max(rms, quietMMS)))
			if k < len(s.DistanceM) {
				e.dist = append(e.dist, s.DistanceM[k])
			} else {
				known = false
			}
		}
	}
	if !known {
		e.dist = nil
	}
	return e
}

// place is the cell at time t, with its fraction, held beyond the ends: stops that were cut out take no place. e must not
// be empty.
func (e *envelope) place(t float64) float64 {
	k := sort.SearchFloat64s(e.t, t)
	switch k {
	case 0:
		return 0
	case len(e.t):
		return float64(k - 1)
	}
	return float64(k-1) + (t-e.t[k-1])/(e.t[k]-e.t[k-1])
}

// interpolate is piecewise linear through (x, y), x ascending, held beyond the ends.
func interpolate(x, y []float64, at float64) float64 {
	k := sort.SearchFloat64s(x, at)
	switch {
	case k == 0:
		return y[0]
	case k == len(x):
		return y[len(y)-1]
	}
	u := (at - x[k-1]) / (x[k] - x[k-1])
	return y[k-1] + u*(y[k]-y[k-1])
}

// standard is y less its mean over its standard deviation; ok is false where it does not vary.
func standard(y []float64) (z []float64, ok bool) {
	s := describe(y)
	if s.n < 2 || !(s.v2 > 0) {
		return nil, false
	}
	z = make([]float64, len(y))
	for i, v := range y {
		z[i] = (v - s.mean) / s.sd()
	}
	return z, true
}

// resample is y at n places evenly spread from its first to its last value. y must hold a value and n be over 1.
func resample(y []float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = atPlace(y, float64(i)*float64(len(y)-1)/float64(n-1))
	}
	return out
}

// atPlace is y at a fractional index, held beyond the ends.
func atPlace(y []float64, p float64) float64 {
	p = max(0, min(p, float64(len(y)-1)))
	k := min(int(p), len(y)-2)
	if k < 0 {
		return y[0]
	}
	return y[k] + (p-float64(k))*(y[k+1]-y[k])
}

// markerTimes are the markers of a run in time order, at most one a moment.
func markerTimes(r *Run) (t []float64, label []string) {
	for _, m := range r.Result.Markers {
		if n := len(t); math.IsNaN(m.TimeS) || math.IsInf(m.TimeS, 0) || (n > 0 && m.TimeS <= t[n-1]) {
			continue
		}
		t, label = append(t, m.TimeS), append(label, m.Label)
	}
	return t, label
}

// span is the span of riding in e.
func (e *envelope) span() analyze.Span {
	return analyze.Span{StartS: e.t[0] - e.cell/2, EndS: e.t[len(e.t)-1] + e.cell/2}
}
