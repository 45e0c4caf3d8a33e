package compare

import (
	"fmt"
	"math"

	"stanchion/analyze"
	"stanchion/analyze/signal"
)

// crosstalk sets each response against those of the figures that the adjuster should move.
func (s *SweepResult) crosstalk() {
	limit := s.Options.Moves[s.Adjuster.Kind].CrosstalkRatio
	var should []float64
	for i := range s.Responses {
		r := &s.Responses[i]
		if v, ok := r.Relative.Get(); ok && r.Role == RoleShould && r.responds() {
			should = append(should, v)
		}
	}
	for i := range s.Responses {
		r := &s.Responses[i]
		v, ok := r.Relative.Get()
		switch {
		case !ok:
			r.Ratio = analyze.Absent("%s", r.Relative.Reason())
			continue
		case s.Alignment.OtherTrail:
			r.Ratio = analyze.Absent("%s", s.Alignment.Refused)
			continue
		case s.Adjuster.Kind == "":
			r.Ratio = analyze.Absent("the kind of adjuster is not known")
			continue
		case len(should) == 0:
			r.Ratio = analyze.Absent("none of the figures that the adjuster should move clearly does")
			continue
		}
		ratio := v / signal.Median(should)
		r.Ratio = analyze.Value(ratio, len(should))
		r.Crosstalk = r.Role == RoleShouldNot && r.responds() && ratio >= limit && ratio*r.nearEnd() >= limit/2
	}
}

// nearEnd is the end of the slope's interval that is nearer to zero, as a share of the slope: 0 where the interval holds zero or is not known.
func (r *Response) nearEnd() float64 {
	low, okLow := r.SlopeLow.Get()
	high, okHigh := r.SlopeHigh.Get()
	slope := r.Slope.Or(0)
	if !okLow || !okHigh || low*high <= 0 || slope == 0 {
		return 0
	}
	return min(math.Abs(low), math.Abs(high)) / math.Abs(slope)
}

// A Matrix is the crosstalk of several adjusters: one row an adjuster, one column a figure that some adjuster should or should not move.
type Matrix struct {
	Adjusters []Adjuster         `json:"adjusters"`
	Keys      []string           `json:"keys"`
	Labels    []string           `json:"labels"`
	Ratio     [][]analyze.Figure `json:"ratio"` // [adjuster][key], Response.Ratio
	Role      [][]string         `json:"role"`  // [adjuster][key], Response.Role
	Crosstalk [][]bool           `json:"crosstalk"`
}

// NewMatrix joins sweeps of one fork.
func NewMatrix(sweeps []*SweepResult) Matrix {
	m := Matrix{Adjusters: []Adjuster{}, Keys: []string{}, Labels: []string{}, Ratio: [][]analyze.Figure{}, Role: [][]string{}, Crosstalk: [][]bool{}}
	byKey := make([]map[string]*Response, len(sweeps))
	column := map[string]int{}
	for i, s := range sweeps {
		m.Adjusters = append(m.Adjusters, s.Adjuster)
		byKey[i] = map[string]*Response{}
		for k := range s.Responses {
			r := &s.Responses[k]
			byKey[i][r.Key] = r
			if _, known := column[r.Key]; r.Role != "" && !known {
				column[r.Key] = len(m.Keys)
				m.Keys, m.Labels = append(m.Keys, r.Key), append(m.Labels, r.Label)
			}
		}
	}
	for i := range sweeps {
		ratio, role, flag := make([]analyze.Figure, len(m.Keys)), make([]string, len(m.Keys)), make([]bool, len(m.Keys))
		for k, key := range m.Keys {
			r := byKey[i][key]
			if r == nil {
				ratio[k] = analyze.Absent("not among the figures of this sweep")
				continue
			}
			ratio[k], role[k], flag[k] = r.Ratio, r.Role, r.Crosstalk
		}
		m.Ratio, m.Role, m.Crosstalk = append(m.Ratio, ratio), append(m.Role, role), append(m.Crosstalk, flag)
	}
	return m
}

// sweepCaveats lists what could mislead about the sweep.
func (s *SweepResult) sweepCaveats() []analyze.Caveat {
	list := []analyze.Caveat{}
	add := func(severity, topic, format string, args ...any) {
		list = append(list, analyze.Caveat{Severity: severity, Topic: topic, Text: fmt.Sprintf(format, args...)})
	}
	trailCaveats(&s.Alignment, &s.Options.Options, add)
	if best := s.leastP(); best > 1-level {
		add(analyze.Warning, "runs", "With %d runs even a perfect response has a corrected p of %.2g, so none can count as clear: ride six or more.", len(s.Runs), best)
	} else if len(s.Positions) == len(s.Runs) {
		add(analyze.Note, "runs", "No position was ridden twice: the run-to-run spread is a guess from how the response scatters. Repeat one or two positions.")
	}
	s.trend("order", "The adjuster was turned one way through the day", func(r *PlacedRun) (float64, bool) { return float64(r.Order), r.Order > 0 }, add)
	s.trend("speed", "Riding time follows the adjuster", func(r *PlacedRun) (float64, bool) { return r.RidingS.Get() }, add)
	s.sweepSettings(add)
	return list
}

// leastP is the corrected p of a figure that follows the adjuster perfectly, if all those judged with it do as well as can be.
func (s *SweepResult) leastP() float64 {
	x := make([]float64, len(s.Runs))
	for i := range s.Runs {
		x[i] = s.Runs[i].Clicks
	}
	_, p, _ := spearman(x, x)
	family := len(s.Options.Moves[s.Adjuster.Kind].Should)
	if family == 0 {
		family = len(s.Options.Primary)
	}
	return p * float64(max(1, family))
}

// trend warns where something else went along with the adjuster.
func (s *SweepResult) trend(topic, what string, of func(*PlacedRun) (float64, bool), add adder) {
	var x, y []float64
	for i := range s.Runs {
		if v, ok := of(&s.Runs[i]); ok {
			x, y = append(x, s.Runs[i].Clicks), append(y, v)
		}
	}
	if len(x) < len(s.Runs) {
		return
	}
	rho, _, ok := spearman(x, y)
	if !ok || math.Abs(rho) < s.Options.DriftShare {
		return
	}
	if d := describe(y); topic == "speed" && math.Abs(theilSenChange(x, y))/d.mean*100 < s.Options.RideTimePct {
		return
	}
	add(analyze.Warning, topic, "%s (rank correlation %.2f): it could explain the responses as well as the adjuster. Ride the positions in a mixed order.", what, rho)
}

// theilSenChange is the change of y over the range of x.
func theilSenChange(x, y []float64) float64 {
	l, ok := theilSen(x, y, level)
	if !ok {
		return 0
	}
	lo, hi := x[0], x[0]
	for _, v := range x {
		lo, hi = min(lo, v), max(hi, v)
	}
	return l.slope * (hi - lo)
}
