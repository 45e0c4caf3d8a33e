package compare

import (
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
	BySpeed     Method = "speed"     // distance integrated from speed, its scale fitted
	ByRoughness Method = "roughness" // dynamic time warping of the roughness envelopes
)

// Alignment maps a common time onto the time of every run. The common time is that of the reference run.
type Alignment struct {
	Method    Method         `json:"method,omitempty"`
	Reference string         `json:"reference,omitempty"` // name of the run whose time is the common time
	StartS    float64        `json:"start_s"`             // of the ground that all runs share, in the reference's time
	EndS      float64        `json:"end_s"`
	Runs      []RunAlignment `json:"runs"` // those lined up, in the order given
	// Doubtful are the runs that do not look like the same trail as the rest, in the order given.
	Doubtful []DoubtfulRun `json:"doubtful,omitempty"`
	// Refused, when not empty, is why the runs could not be lined up. OtherTrail: because they do not look alike.
	Refused    string `json:"refused,omitempty"`
	OtherTrail bool   `json:"other_trail,omitempty"`
	reference  int    // its index among Runs
	kept       []int  // the places of Runs among the runs given
}

// A DoubtfulRun does not look like the same trail as most of the runs.
type DoubtfulRun struct {
	Name string         `json:"name"`
	Fit  analyze.Figure `json:"fit"` // with the reference, as RunAlignment.Quality
	Why  string         `json:"why"`
	Kept bool           `json:"kept"` // all the same, as Options.KeepDoubtful asks
	run  int            // its place among the runs given
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

// Align lines runs up along the trail. Its reference is the run that a majority of the runs looks most like. Runs that do not look like
// the same trail as the rest are doubtful and not lined up, unless Options.KeepDoubtful. Where signals are missing, or no majority
// looks alike, the alignment is refused with a reason; it is no error.
func Align(runs []Run, opt Options) (Alignment, error) {
	if err := check(runs); err != nil {
		return Alignment{}, err
	}
	if err := opt.check(); err != nil {
		return Alignment{}, err
	}
	return align(runs, &opt, func([]int) string { return "" }), nil
}

// align lines runs up. lacking says why the runs at the given places are too few to go on with, or nothing.
func align(runs []Run, opt *Options, lacking func(kept []int) string) Alignment {
	envelopes := make([]envelope, len(runs))
	for i := range runs {
		if runs[i].Signals == nil {
			return Alignment{Runs: []RunAlignment{}, Refused: fmt.Sprintf("the signals of %s are not at hand: analyse its log again", runs[i].name())}
		}
		envelopes[i] = newEnvelope(&runs[i])
	}
	methods := []Method{ByMarkers, ByDistance, BySpeed, ByRoughness}
	if opt.Align != "" {
		methods = []Method{opt.Align}
	}
	candidates := candidates(runs, envelopes)
	if len(candidates) == 0 {
		return Alignment{Runs: []RunAlignment{}, Refused: tooShort(runs, envelopes)}
	}
	var best *trial
	why := ""
	for _, m := range methods {
		t, err := tryMethod(m, runs, envelopes, candidates, opt)
		if err != nil {
			why = err.Error()
			continue
		}
		if best == nil || t.alike(opt) >= best.alike(opt) {
			best = t
		}
		if t.alike(opt) == len(runs) {
			break
		}
	}
	if best == nil {
		return Alignment{Runs: []RunAlignment{}, Refused: why}
	}
	return best.settle(runs, envelopes, opt, lacking)
}

// lineUp maps a reference onto a run by a method.
func lineUp(m Method, ref *Run, refEnvelope *envelope, run *Run, e *envelope, opt *Options) ([]Knot, error) {
	switch m {
	case ByMarkers:
		return byMarkers(ref, run)
	case ByDistance:
		return byDistance(refEnvelope, e)
	case BySpeed:
		return bySpeed(refEnvelope, e, opt)
	}
	return byRoughness(refEnvelope, e, opt)
}

// whole maps a reference onto itself, over the ground that a method can line up.
func whole(m Method, r *Run, e *envelope) []Knot {
	s := e.span()
	if t, _ := markerTimes(r); m == ByMarkers && len(t) > 1 {
		s.StartS, s.EndS = t[0], t[len(t)-1]
	}
	return []Knot{{s.StartS, s.StartS}, {s.EndS, s.EndS}}
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
