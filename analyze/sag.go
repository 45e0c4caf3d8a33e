package analyze

import (
	"fmt"

	"stanchion/analyze/signal"
)

// Sag is how deep the rider's weight pushes the fork.
type Sag struct {
	StaticMM       Figure `json:"static_sag_mm"`
	StaticPct      Figure `json:"static_sag_pct"`
	StaticFrom     string `json:"static_sag_from,omitempty"` // where static sag came from, for people
	StaticSpan     *Span  `json:"static_sag_span,omitempty"`
	DynamicMeanMM  Figure `json:"dynamic_sag_mean_mm"`
	DynamicMeanPct Figure `json:"dynamic_sag_mean_pct"`
	DynamicMM      Figure `json:"dynamic_sag_median_mm"`
	DynamicPct     Figure `json:"dynamic_sag_median_pct"`
	FrictionBandMM Figure `json:"friction_band_mm"` // from a sag log with two settles
}

func (r *ride) sag() Sag {
	var out Sag
	out.StaticMM, out.StaticPct, out.StaticFrom, out.StaticSpan = r.staticSag()
	out.FrictionBandMM = r.frictionBand()
	m := r.all
	if m.n == 0 {
		a := Absent(noRiding)
		out.DynamicMeanMM, out.DynamicMeanPct, out.DynamicMM, out.DynamicPct = a, a, a, a
		return out
	}
	average, median := m.sumX/float64(m.n), m.x.quantiles(m.n, r.visitX, 0.5)[0]
	out.DynamicMeanMM, out.DynamicMeanPct = Value(average, m.n), Value(100*average/r.T, m.n)
	out.DynamicMM, out.DynamicPct = Value(median, m.n), Value(100*median/r.T, m.n)
	return out
}

// staticSag is the override, the median of a marked window, or the median of the first stationary run that is long and deep enough.
func (r *ride) staticSag() (mm, pct Figure, from string, where *Span) {
	if o := r.opt.StaticSag; o != nil {
		if !(o.SagMM < r.T) {
			a := Absent("the static sag that was given, %g mm, is not under the travel of the fork, %g mm", o.SagMM, r.T)
			return a, a, "", nil
		}
		return Value(o.SagMM, 1), Value(100*o.SagMM/r.T, 1), o.Source, nil
	}
	if w := r.opt.SagWindow; w != nil {
		return r.windowSag(*w)
	}
	stationary := func(_ *segment, c cell) bool { return c.rms < r.opt.StationaryMMS }
	for k := range r.segs {
		s := &r.segs[k]
		for _, p := range r.rests(s, stationary) {
			median := medianOf(s.x[p.lo:p.hi])
			if median <= r.pct(r.opt.StaticSagMinPct) {
				continue
			}
			at := Span{r.time(s, float64(p.lo)), r.time(s, float64(p.hi))}
			const caveat = "from one rest: friction can hold the fork off it either way; a sag log of two settles tells by how much"
			from = fmt.Sprintf("the rest from %.2f to %.2f s", at.StartS, at.EndS)
			return Value(median, p.hi-p.lo, caveat), Value(100*median/r.T, p.hi-p.lo, caveat), from, &at
		}
	}
	a := Absent("the fork never rested (under %g mm/s) for %g s deeper than %g %% of travel", r.opt.StationaryMMS, r.opt.StationaryMinS, r.opt.StaticSagMinPct)
	return a, a, "", nil
}

// windowSag is the median of x in the part of the marked window that one segment holds most of.
func (r *ride) windowSag(w Span) (mm, pct Figure, from string, where *Span) {
	var best *segment
	var in span
	for k := range r.segs {
		s := &r.segs[k]
		lo := max(0, r.count(w.StartS-s.startS))
		hi := min(len(s.x), r.count(w.EndS-s.startS))
		if hi-lo > in.hi-in.lo {
			best, in = s, span{lo, hi}
		}
	}
	if best == nil {
		a := Absent("the marked window, %g to %g s, holds no samples", w.StartS, w.EndS)
		return a, a, "", nil
	}
	n := in.hi - in.lo
	median := medianOf(best.x[in.lo:in.hi])
	at := Span{r.time(best, float64(in.lo)), r.time(best, float64(in.hi))}
	var caveats []string
	if rms := signal.RMS(best.v[in.lo:in.hi]); rms >= r.opt.StationaryMMS {
		caveats = []string{fmt.Sprintf("the fork moved in the marked window (%.0f mm/s RMS): at rest it is under %g", rms, r.opt.StationaryMMS)}
	}
	from = fmt.Sprintf("the marked window from %.2f to %.2f s", at.StartS, at.EndS)
	return Value(median, n, caveats...), Value(100*median/r.T, n, caveats...), from, &at
}

// frictionBand is what a sag log of its own told.
func (r *ride) frictionBand() Figure {
	if o := r.opt.StaticSag; o != nil {
		return o.FrictionBandMM
	}
	return Absent("needs a sag log of two settles: pushed down and let up slowly, lifted and let down slowly")
}

// rests lists the runs of cells of s that pass is and that last at least Options.StationaryMinS.
func (r *ride) rests(s *segment, is func(*segment, cell) bool) []span {
	var out []span
	keep := func(p span) {
		if p.hi > p.lo && r.lasts(p, r.opt.StationaryMinS) {
			out = append(out, p)
		}
	}
	var now span
	for _, c := range s.cells {
		switch {
		case !is(s, c):
			keep(now)
			now = span{c.hi, c.hi}
		default:
			now.hi = c.hi
		}
	}
	keep(now)
	return out
}

// medianOf is the median of a, which it does not reorder.
func medianOf(a []float64) float64 { return signal.Median(append([]float64(nil), a...)) }
