package compare

import (
	"math"
	"slices"

	"stanchion/analyze"

	"gonum.org/v1/gonum/stat/distuv"
)

// points fills in the position means, their intervals, the isotonic fit and the monotonicity. x and y are the runs that have
// the figure, sd their run-to-run standard deviation with df degrees of freedom.
func (r *Response) points(x, y []float64, sd float64, df int) {
	var mean, weight []float64
	r.Points = []Point{}
	for _, at := range slices.Compact(slices.Sorted(slices.Values(x))) {
		var here []float64
		for i := range x {
			if x[i] == at {
				here = append(here, y[i])
			}
		}
		s := describe(here)
		p := Point{Clicks: at, Runs: s.n, Mean: analyze.Value(s.mean, s.n)}
		p.Low, p.High = analyze.Absent("no run-to-run spread"), analyze.Absent("no run-to-run spread")
		if df > 0 {
			half := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(df)}.Quantile((1+level)/2) * sd / math.Sqrt(float64(s.n))
			p.Low, p.High = analyze.Value(s.mean-half, s.n), analyze.Value(s.mean+half, s.n)
		}
		r.Points = append(r.Points, p)
		mean, weight = append(mean, s.mean), append(weight, float64(s.n))
	}
	fit, _ := monotone(mean, weight)
	way := 0.0
	for i := range fit {
		r.Points[i].Isotonic = analyze.Value(fit[i], len(x))
		if i > 0 {
			way += math.Abs(mean[i] - mean[i-1])
		}
	}
	r.Monotonicity = analyze.Absent("it does not vary")
	if way > 0 {
		r.Monotonicity = analyze.Value(math.Abs(mean[len(mean)-1]-mean[0])/way, len(mean))
	}
}

// findDead finds the positions between which the isotonic response of r stands still. A stretch of positions is dead where the response
// moves less than DeadPerQuarter of its span per quarter of the range, and the upper bound of what it moves
// is under DeadShare of what an even response would.
func (r *Response) findDead(clicks []float64, opt *SweepOptions) {
	n := len(r.Points)
	if !r.responds() || n < minSweepPositions {
		return
	}
	at := func(i int) float64 { return r.Points[i].Isotonic.Or(0) }
	from, to := r.Points[0].Clicks, r.Points[n-1].Clicks
	span := at(n-1) - at(0)
	usable := Range{math.NaN(), math.NaN()}
	alive := func(a, b float64) {
		if math.IsNaN(usable.From) {
			usable.From = a
		}
		usable.To = b
	}
	for lo := 0; lo < n-1; {
		hi := lo
		for hi < n-1 {
			rate := math.Abs(at(hi+1)-at(hi)) / (r.Points[hi+1].Clicks - r.Points[hi].Clicks) * (to - from) / 4
			if rate >= opt.DeadPerQuarter*math.Abs(span) {
				break
			}
			hi++
		}
		if hi == lo {
			alive(r.Points[lo].Clicks, r.Points[lo+1].Clicks)
			lo++
			continue
		}
		stretch := Range{r.Points[lo].Clicks, r.Points[hi].Clicks}
		even := span * (stretch.To - stretch.From) / (to - from)
		if r.surelyUnder(clicks, stretch, even, opt.DeadShare) {
			r.Dead = append(r.Dead, stretch)
		} else {
			r.Unsure = append(r.Unsure, stretch)
			alive(stretch.From, stretch.To)
		}
		lo = hi
	}
	if !math.IsNaN(usable.From) {
		r.Usable = &usable
	}
}

// surelyUnder says whether the least-squares movement over the runs within a stretch, towards even, has an upper bound under share of
// even. The bound is one-sided at 97.5 %, corrected for the number of stretches that there are to find something in.
func (r *Response) surelyUnder(clicks []float64, stretch Range, even, share float64) bool {
	var x, y []float64
	for i, f := range r.Values {
		if v, ok := f.Get(); ok && clicks[i] >= stretch.From && clicks[i] <= stretch.To {
			x, y = append(x, clicks[i]), append(y, v)
		}
	}
	sd, okSD := r.Spread.Get()
	if !okSD || r.Spread.N() < 1 || len(x) < 2 {
		return false
	}
	mx, my := describe(x).mean, describe(y).mean
	xx, xy := 0.0, 0.0
	for i := range x {
		xx += (x[i] - mx) * (x[i] - mx)
		xy += (x[i] - mx) * (y[i] - my)
	}
	if !(xx > 0) {
		return false
	}
	width := stretch.To - stretch.From
	moved := xy / xx * width * math.Copysign(1, even)
	tail := (1 - level) / 2 / float64(len(r.Points)-1)
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(r.Spread.N())}.Quantile(1 - tail)
	return moved+t*sd/math.Sqrt(xx)*width < share*math.Abs(even)
}

// conclude draws the adjuster's own dead clicks and usable range from the figures that should move and do: between two
// positions the adjuster is dead where more of them are dead than alive.
func (s *SweepResult) conclude() {
	clicks := make([]float64, len(s.Runs))
	for i := range s.Runs {
		clicks[i] = s.Runs[i].Clicks
	}
	var votes []*Response
	for i := range s.Responses {
		r := &s.Responses[i]
		r.findDead(clicks, &s.Options)
		if r.Role == RoleShould && r.responds() {
			votes = append(votes, r)
		}
	}
	if len(votes) == 0 {
		return
	}
	var usable *Range
	for k := 1; k < len(s.Positions); k++ {
		a, b := s.Positions[k-1], s.Positions[k]
		dead, alive := 0, 0
		for _, r := range votes {
			switch {
			case covers(r.Dead, a, b):
				dead++
			case !covers(r.Unsure, a, b):
				alive++
			}
		}
		if dead <= alive {
			if usable == nil {
				usable = &Range{From: a}
			}
			usable.To = b
			continue
		}
		if n := len(s.Dead); n > 0 && s.Dead[n-1].To == a {
			s.Dead[n-1].To = b
		} else {
			s.Dead = append(s.Dead, Range{a, b})
		}
	}
	s.Usable = usable
}

func covers(ranges []Range, a, b float64) bool {
	return slices.ContainsFunc(ranges, func(r Range) bool { return r.From <= a && b <= r.To })
}
