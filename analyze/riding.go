package analyze

import (
	"math"

	"stanchion/analyze/signal"
)

// A Span is a stretch of time.
type Span struct {
	StartS float64 `json:"start_s"`
	EndS   float64 `json:"end_s"`
}

// Ride says what part of the recording was riding.
type Ride struct {
	DurationS Figure `json:"duration_s"` // recorded, gaps left out
	RidingS   Figure `json:"riding_s"`
	Riding    []Span `json:"riding"`
}

// span is a stretch [lo, hi) of the samples of a segment.
type span struct{ lo, hi int }

// noRiding is why figures about riding are absent from a run without any.
const noRiding = "no riding found: the fork never moved enough"

func (r *ride) riding() Ride {
	out := Ride{Riding: []Span{}}
	n := 0
	for i := range r.segs {
		s := &r.segs[i]
		for _, p := range s.ridingSpans() {
			n += p.hi - p.lo
			out.Riding = append(out.Riding, Span{r.time(s, float64(p.lo)), r.time(s, float64(p.hi))})
		}
	}
	out.DurationS = Value(float64(r.samples())/r.fs, r.samples())
	out.RidingS = Value(float64(n)/r.fs, len(out.Riding))
	return out
}

// samples is the number of samples of all segments.
func (r *ride) samples() int {
	n := 0
	for i := range r.segs {
		n += len(r.segs[i].x)
	}
	return n
}

// ridingMinutes is the riding time in minutes.
func (r *ride) ridingMinutes() float64 {
	n := 0
	for i := range r.segs {
		for _, p := range r.segs[i].ridingSpans() {
			n += p.hi - p.lo
		}
	}
	return float64(n) / r.fs / 60
}

// ridingSpans lists the riding time of s in maximal stretches, in order.
func (s *segment) ridingSpans() []span {
	var out []span
	for _, c := range s.cells {
		if !c.riding {
			continue
		}
		if n := len(out); n > 0 && out[n-1].hi == c.lo {
			out[n-1].hi = c.hi
			continue
		}
		out = append(out, span{c.lo, c.hi})
	}
	return out
}

// lasts says whether the cells that hold the samples of p last for so many seconds. They may hold one sample less than
// count says where a cell is no whole number of samples.
func (r *ride) lasts(p span, seconds float64) bool {
	return float64(p.hi-p.lo) > seconds*r.fs-1+1e-6
}

// count turns a duration in s into a number of samples, rounded.
func (r *ride) count(seconds float64) int { return int(math.Round(seconds * r.fs)) }

// firstAt is the first sample at or after t, in s from the segment's start. A sample within a millionth of a period
// counts as at t, so that rounding of t cannot move an edge.
func (r *ride) firstAt(t float64) int { return int(math.Ceil(t*r.fs - 1e-6)) }

// cells cuts a segment with velocity v into cells [k, k+1)·CellS and finds which are riding. The last cell holds what
// is left and may be shorter. Each RMS is summed afresh, so that nothing cancels and quiet after violence is exact.
func (r *ride) cells(v []float64) []cell {
	n := len(v)
	cells := make([]cell, 0, int(float64(n)/(r.opt.CellS*r.fs))+1)
	for k := 0; ; k++ {
		lo, hi := r.firstAt(float64(k)*r.opt.CellS), min(r.firstAt(float64(k+1)*r.opt.CellS), n)
		if lo >= n {
			break
		}
		centre := (float64(k) + 0.5) * r.opt.CellS
		wlo := max(0, r.firstAt(centre-r.opt.CellWindowS/2))
		whi := min(n, r.firstAt(centre+r.opt.CellWindowS/2))
		wlo, whi = min(wlo, lo), max(whi, hi) // a window shorter than the cell takes the cell
		c := cell{lo: lo, hi: hi, rms: signal.RMS(v[wlo:whi])}
		c.riding = c.rms > r.opt.RidingMMS
		cells = append(cells, c)
	}
	r.closePauses(cells)
	return cells
}

// closePauses turns pauses between riding cells that are shorter than Options.RidingPauseS into riding. A pause is counted
// in cells: where a cell is no whole number of samples, pauses of the same length differ by one.
func (r *ride) closePauses(cells []cell) {
	const slack = 1e-9 // s, for lengths that are whole cells but for rounding
	last := -1         // the last riding cell
	for k := range cells {
		if !cells[k].riding {
			continue
		}
		if last >= 0 && float64(k-last-1)*r.opt.CellS < r.opt.RidingPauseS-slack {
			for j := last + 1; j < k; j++ {
				cells[j].riding = true
			}
		}
		last = k
	}
}
