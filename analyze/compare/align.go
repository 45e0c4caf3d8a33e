package compare

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"stanchion/analyze"
)

// A Method is how runs are lined up along the trail.
type Method string

// The methods, in the order in which they are tried.
const (
	ByMarkers   Method = "markers"
	ByDistance  Method = "distance"
	ByRoughness Method = "roughness" // dynamic time warping of the roughness envelopes
)

// Alignment maps a common time onto the time of every run. The common time is that of the reference run.
type Alignment struct {
	Method    Method         `json:"method,omitempty"`
	Reference string         `json:"reference,omitempty"` // name of the run whose time is the common time
	StartS    float64        `json:"start_s"`             // of the ground that all runs share, in the reference's time
	EndS      float64        `json:"end_s"`
	Runs      []RunAlignment `json:"runs"` // in the order given
	// Refused, when not empty, is why the runs could not be lined up. OtherTrail: because they do not look alike.
	Refused    string `json:"refused,omitempty"`
	OtherTrail bool   `json:"other_trail,omitempty"`
	reference  int    // its index
}

// RunAlignment maps the reference's time onto one run's own.
type RunAlignment struct {
	Name    string         `json:"name"`
	StartS  float64        `json:"start_s"` // of the shared ground, in the run's own time
	EndS    float64        `json:"end_s"`
	Quality analyze.Figure `json:"quality"` // correlation of the aligned log-roughness envelopes, see match
	Knots   []Knot         `json:"knots"`   // the map, thinned to within 0.05 s
	full    []Knot
}

// A Knot is a moment of the reference and the moment at which a run was at the same place.
type Knot struct {
	ReferenceS float64 `json:"reference_s"`
	RunS       float64 `json:"run_s"`
}

// At is the run's time at which it was where the reference was at t, in s; beyond the ends it runs on at the same pace.
func (r *RunAlignment) At(t float64) float64 {
	k := r.full
	if len(k) == 0 {
		k = r.Knots
	}
	if len(k) == 0 {
		return t
	}
	i, _ := slices.BinarySearchFunc(k, t, func(a Knot, t float64) int {
		if a.ReferenceS < t {
			return -1
		}
		return 1
	})
	switch {
	case i == 0:
		return k[0].RunS + t - k[0].ReferenceS
	case i == len(k):
		return k[i-1].RunS + t - k[i-1].ReferenceS
	}
	a, b := k[i-1], k[i]
	return a.RunS + (t-a.ReferenceS)/(b.ReferenceS-a.ReferenceS)*(b.RunS-a.RunS)
}

// minCells is the fewest riding cells that can tell a trail.
const minCells = 40

// Align lines runs up along the trail. The reference is the run of middling riding time. A run whose signals are missing,
// or that does not look like the same trail, refuses the alignment with a reason; it is no error.
func Align(runs []Run, opt Options) (Alignment, error) {
	if err := check(runs); err != nil {
		return Alignment{}, err
	}
	if err := opt.check(); err != nil {
		return Alignment{}, err
	}
	return align(runs, &opt), nil
}

func align(runs []Run, opt *Options) Alignment {
	envelopes := make([]envelope, len(runs))
	for i := range runs {
		r := &runs[i]
		if r.Signals == nil {
			return Alignment{Runs: []RunAlignment{}, Refused: fmt.Sprintf("the signals of %s are not at hand: analyse its log again", r.name())}
		}
		envelopes[i] = newEnvelope(r)
		if n := len(envelopes[i].t); n < minCells {
			return Alignment{Runs: []RunAlignment{}, Refused: fmt.Sprintf("%s has %.3g s of riding: too little to tell a trail by", r.name(), float64(n)*envelopes[i].cell)}
		}
	}
	ref := byContent(runs)[(len(runs)-1)/2]
	methods := []Method{ByMarkers, ByDistance, ByRoughness}
	if opt.Align != "" {
		methods = []Method{opt.Align}
	}
	var out Alignment
	why := ""
	for _, m := range methods {
		a, err := alignBy(m, runs, envelopes, ref, opt)
		if err != nil {
			why = err.Error()
			continue
		}
		if out = a; out.Refused == "" {
			return out
		}
	}
	if out.Refused == "" {
		return Alignment{Runs: []RunAlignment{}, Refused: why}
	}
	return out
}

func alignBy(m Method, runs []Run, envelopes []envelope, ref int, opt *Options) (Alignment, error) {
	out := Alignment{Method: m, Reference: runs[ref].name(), reference: ref, StartS: math.Inf(-1), EndS: math.Inf(1)}
	for i := range runs {
		var knots []Knot
		var err error
		switch {
		case i == ref:
			s := envelopes[i].span()
			knots = []Knot{{s.StartS, s.StartS}, {s.EndS, s.EndS}}
			if m == ByMarkers {
				t, _ := markerTimes(&runs[i])
				if len(t) < 2 {
					return out, fmt.Errorf("%s has fewer than two markers", runs[i].name())
				}
				knots = []Knot{{t[0], t[0]}, {t[len(t)-1], t[len(t)-1]}}
			}
		case m == ByMarkers:
			knots, err = byMarkers(&runs[ref], &runs[i])
		case m == ByDistance:
			knots, err = byDistance(&envelopes[ref], &envelopes[i])
		case m == ByRoughness:
			knots, err = byRoughness(&envelopes[ref], &envelopes[i], opt)
		}
		if err != nil {
			return out, fmt.Errorf("%s: %w", runs[i].name(), err)
		}
		out.StartS, out.EndS = max(out.StartS, knots[0].ReferenceS), min(out.EndS, knots[len(knots)-1].ReferenceS)
		out.Runs = append(out.Runs, RunAlignment{Name: runs[i].name(), full: knots, Knots: thin(knots, 0.05)})
	}
	if !(out.EndS > out.StartS) {
		return out, errors.New("the runs share no ground")
	}
	for i := range out.Runs {
		r := &out.Runs[i]
		r.StartS, r.EndS = r.At(out.StartS), r.At(out.EndS)
		if i == ref {
			r.Quality = analyze.Value(1, len(envelopes[i].t))
			continue
		}
		r.Quality = match(&envelopes[ref], &envelopes[i], r, m)
		if q, ok := r.Quality.Get(); out.Refused != "" || (ok && q >= opt.MinMatch) {
			continue
		} else if !ok {
			out.Refused = fmt.Sprintf("%s and %s cannot be told apart or together: %s", runs[ref].name(), runs[i].name(), r.Quality.Reason())
		} else {
			out.OtherTrail = true
			out.Refused = fmt.Sprintf("%s and %s do not look like the same trail: their aligned roughness correlates at %.2f, under %.2g%s",
				runs[ref].name(), runs[i].name(), q, opt.MinMatch, lengthHint(&envelopes[ref], &envelopes[i]))
		}
	}
	return out, nil
}

// lengthHint is what to try where one run holds far more riding than the other.
func lengthHint(a, b *envelope) string {
	x, y := float64(len(a.t))*a.cell, float64(len(b.t))*b.cell
	if max(x, y) < 1.25*min(x, y) {
		return ""
	}
	return fmt.Sprintf(" (they hold %.0f s and %.0f s of riding: cut both to the same ground or set markers)", x, y)
}

// Half widths of moving averages over envelopes, in cells.
const (
	slowHalf   = 8  // ±2 s: what is slower than this says what kind of ground it was, not which
	jitterHalf = 2  // ±0.5 s: places from markers or a distance channel are good to about that
	warpHalf   = 1  // ±0.25 s: and places from warping, where the pace is even, to about that
	paceHalf   = 32 // ±8 s: a rider's pace does not change from bump to bump
)

// match is the correlation of the two envelopes over the cells of the reference that the map covers.
//
// Places that come from markers or distance are given, so their envelopes are compared as they are, smoothed over their jitter. Warping
// picks the places at which the envelopes agree best, and can bring the ground of any two trails together bump by bump. So it is
// judged by what it could not choose: with the map straightened to a pace that changes slowly, the detail that is left when the
// moving average over ±2 s is taken away. testdata/coverage.md shows how well that tells trails.
func match(ref, run *envelope, r *RunAlignment, m Method) analyze.Figure {
	var x, places []float64
	for k, t := range ref.t {
		if t < r.full[0].ReferenceS || t > r.full[len(r.full)-1].ReferenceS {
			continue
		}
		x, places = append(x, ref.y[k]), append(places, run.place(r.At(t)))
	}
	if len(x) < minCells {
		return analyze.Absent("the shared ground is too short to tell a trail by")
	}
	if m == ByRoughness {
		places = smooth(places, paceHalf)
	}
	y := make([]float64, len(x))
	for i, p := range places {
		y[i] = atPlace(run.y, p)
	}
	if m == ByRoughness {
		x, y = detail(smooth(x, warpHalf)), detail(smooth(y, warpHalf))
	} else {
		x, y = smooth(x, jitterHalf), smooth(y, jitterHalf)
	}
	c, ok := pearson(x, y)
	if !ok {
		return analyze.Absent("the roughness does not vary")
	}
	return analyze.Value(c, len(x))
}

// detail is y less its moving average over ±slowHalf cells.
func detail(y []float64) []float64 {
	out := smooth(y, slowHalf)
	for i, v := range y {
		out[i] = v - out[i]
	}
	return out
}

// thin drops knots that a straight line between the kept ones gives to within tolerance s (Douglas & Peucker).
func thin(k []Knot, tolerance float64) []Knot {
	if len(k) < 3 {
		return slices.Clone(k)
	}
	keep := make([]bool, len(k))
	keep[0], keep[len(k)-1] = true, true
	stack := [][2]int{{0, len(k) - 1}}
	for len(stack) > 0 {
		lo, hi := stack[len(stack)-1][0], stack[len(stack)-1][1]
		stack = stack[:len(stack)-1]
		worst, at := tolerance, -1
		slope := (k[hi].RunS - k[lo].RunS) / (k[hi].ReferenceS - k[lo].ReferenceS)
		for i := lo + 1; i < hi; i++ {
			if d := math.Abs(k[lo].RunS + slope*(k[i].ReferenceS-k[lo].ReferenceS) - k[i].RunS); d > worst {
				worst, at = d, i
			}
		}
		if at >= 0 {
			keep[at] = true
			stack = append(stack, [2]int{lo, at}, [2]int{at, hi})
		}
	}
	var out []Knot
	for i := range k {
		if keep[i] {
			out = append(out, k[i])
		}
	}
	return out
}
