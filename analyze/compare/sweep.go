package compare

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"stanchion/analyze"
)

// A SweepRun is a run at a position of the adjuster. Count clicks one way throughout, from fully closed by custom.
type SweepRun struct {
	Run
	Clicks float64
}

// Verdicts on a response.
const (
	Rises      = "rises with clicks"
	Falls      = "falls with clicks"
	NoResponse = "no clear response"
)

// A Range is a stretch of adjuster positions.
type Range struct {
	From float64 `json:"from_clicks"`
	To   float64 `json:"to_clicks"`
}

// A Point is the response at one position.
type Point struct {
	Clicks   float64        `json:"clicks"`
	Runs     int            `json:"runs"`
	Mean     analyze.Figure `json:"mean"`
	Low      analyze.Figure `json:"low"` // 95 % interval of the mean, from the run-to-run spread of all positions
	High     analyze.Figure `json:"high"`
	Isotonic analyze.Figure `json:"isotonic"` // of the best fit that never turns back
}

// A Response is one figure over the positions of the adjuster.
type Response struct {
	Key    string           `json:"key"`
	Group  string           `json:"group"`
	Label  string           `json:"label"`
	Unit   string           `json:"unit"`
	Family Family           `json:"family"`
	Role   string           `json:"role,omitempty"`
	Values []analyze.Figure `json:"values"` // by run, in the order of SweepResult.Runs
	Points []Point          `json:"points"`

	Slope     analyze.Figure `json:"slope_per_click"` // Theil–Sen
	SlopeLow  analyze.Figure `json:"slope_low"`       // Sen's 95 % interval
	SlopeHigh analyze.Figure `json:"slope_high"`
	Rho       analyze.Figure `json:"spearman_rho"`
	P         analyze.Figure `json:"p"` // of Rho
	HolmP     analyze.Figure `json:"holm_p"`
	Verdict   string         `json:"verdict"`
	Why       string         `json:"why,omitempty"` // why NotJudged

	Spread     analyze.Figure `json:"spread"` // run-to-run standard deviation
	SpreadFrom string         `json:"spread_from,omitempty"`
	// Monotonicity is the net change of the position means over the way they go up and down in all: 1 never turns back.
	Monotonicity analyze.Figure `json:"monotonicity"`
	Usable       *Range         `json:"usable,omitempty"` // nil where there is no clear response
	Dead         []Range        `json:"dead,omitempty"`
	Unsure       []Range        `json:"unsure,omitempty"` // looks dead, but the spread is too large to say
	// Standard is the change over the whole range (slope × range) in run-to-run standard deviations, without sign.
	Standard analyze.Figure `json:"standardised_response"`
	// Relative is that change as a share of the mean of all runs, without sign.
	Relative analyze.Figure `json:"relative_response"`
	// Ratio is Relative over the median of those of the figures that should move and do. Shares of a figure's own size tell crosstalk
	// better than run-to-run deviations do: those of a few runs are known badly, and differ from figure to figure.
	Ratio     analyze.Figure `json:"crosstalk_ratio"`
	Crosstalk bool           `json:"crosstalk"` // it should not move, and clearly does, see Moves.CrosstalkRatio
}

// A PlacedRun is what a sweep keeps of a run.
type PlacedRun struct {
	SetRun
	Clicks float64 `json:"clicks"`
}

// A PlacedLeftOut run was given, is doubtful, and counts for nothing.
type PlacedLeftOut struct {
	LeftOut
	Clicks float64 `json:"clicks"`
}

// SweepResult is everything about one sweep.
type SweepResult struct {
	SchemaVersion int              `json:"schema_version"`
	Options       SweepOptions     `json:"options"`
	Adjuster      Adjuster         `json:"adjuster"`
	Runs          []PlacedRun      `json:"runs"` // those judged, in the order given
	LeftOut       []PlacedLeftOut  `json:"left_out,omitempty"`
	Positions     []float64        `json:"positions"`
	Alignment     Alignment        `json:"alignment"`
	Responses     []Response       `json:"responses"`
	Dead          []Range          `json:"dead"` // dead in more of the responding figures that should move than alive
	Usable        *Range           `json:"usable,omitempty"`
	Caveats       []analyze.Caveat `json:"caveats"`
}

// The least that a sweep needs.
const (
	minSweepRuns      = 4
	minSweepPositions = 3
)

// Sweep gives the response of every figure to one adjuster from four or more runs at three or more positions.
func Sweep(runs []SweepRun, adjuster Adjuster, opt SweepOptions) (*SweepResult, error) {
	plain := make([]Run, len(runs))
	x := make([]float64, len(runs))
	for i := range runs {
		plain[i], x[i] = runs[i].Run, runs[i].Clicks
		if math.IsNaN(x[i]) || math.Abs(x[i]) > 1e6 {
			return nil, fmt.Errorf("run %d (%s): position %g of the adjuster makes no sense", i+1, runs[i].Name, x[i])
		}
	}
	if len(runs) < minSweepRuns {
		return nil, fmt.Errorf("%d runs given: a sweep needs %d or more", len(runs), minSweepRuns)
	}
	if n := len(positionsOf(x)); n < minSweepPositions {
		return nil, fmt.Errorf("runs at %d positions given: a sweep needs %d or more", n, minSweepPositions)
	}
	if err := check(plain); err != nil {
		return nil, err
	}
	if err := opt.check(); err != nil {
		return nil, err
	}
	opt = opt.clone()
	adjuster.Unit = cmp.Or(adjuster.Unit, "click")
	if _, known := opt.Moves[adjuster.Kind]; !known && adjuster.Kind != "" {
		return nil, errors.New("unknown kind of adjuster " + string(adjuster.Kind) + ": add what it should move to Moves")
	}
	alignment := align(plain, &opt.Options, func(kept []int) string { return tooFewPositions(kept, x) })
	out := &SweepResult{SchemaVersion: SchemaVersion, Options: opt, Adjuster: adjuster, Alignment: alignment, Dead: []Range{}}
	for _, i := range alignment.leftOut() {
		out.LeftOut = append(out.LeftOut, PlacedLeftOut{LeftOut{SetRun: wholeRun(&plain[i]), Place: i + 1, Doubt: alignment.doubt(i)}, x[i]})
	}
	c := &comparing{runs: alignment.rest(plain), opt: &opt.Options, alignment: alignment}
	if alignment.kept != nil {
		all := x
		x = make([]float64, len(alignment.kept))
		for k, i := range alignment.kept {
			x[k] = all[i]
		}
	}
	out.Positions = positionsOf(x)
	c.tally()
	for i := range c.runs {
		out.Runs = append(out.Runs, PlacedRun{c.setRun(i), x[i]})
	}
	out.respond(c.runs, x)
	out.judge()
	out.crosstalk()
	out.conclude()
	out.Caveats = out.sweepCaveats()
	return out, nil
}

// positionsOf are the different positions, ascending.
func positionsOf(x []float64) []float64 { return slices.Compact(slices.Sorted(slices.Values(x))) }

// tooFewPositions says why the runs at the given places are too few for a sweep, if they are.
func tooFewPositions(kept []int, x []float64) string {
	var at []float64
	for _, i := range kept {
		at = append(at, x[i])
	}
	if n := len(positionsOf(at)); len(at) < minSweepRuns || n < minSweepPositions {
		return fmt.Sprintf("%d runs at %d positions are left, and a sweep needs %d at %d", len(at), n, minSweepRuns, minSweepPositions)
	}
	return ""
}

// respond fits every scalar figure.
func (s *SweepResult) respond(runs []Run, x []float64) {
	lists := make([]map[string]analyze.Figure, len(runs))
	for i := range runs {
		lists[i] = map[string]analyze.Figure{}
		for _, f := range runs[i].Result.Scalars() {
			lists[i][f.Key] = f.Figure
		}
	}
	moves := s.Options.Moves[s.Adjuster.Kind]
	for _, f := range runs[0].Result.Scalars() {
		r := Response{Key: f.Key, Group: f.Group, Label: f.Label, Unit: f.Unit, Family: s.Options.family(f.Key), Role: moves.role(f.Key)}
		for i := range runs {
			v, ok := lists[i][f.Key]
			if !ok {
				v = analyze.Absent("not among the figures of %s", runs[i].name())
			}
			r.Values = append(r.Values, v)
		}
		r.fit(x)
		s.Responses = append(s.Responses, r)
	}
}

// fit computes all about a response that needs no other figure.
func (r *Response) fit(x []float64) {
	var px, py []float64
	for i, f := range r.Values {
		if v, ok := f.Get(); ok {
			px, py = append(px, x[i]), append(py, v)
		}
	}
	r.Verdict = NotJudged
	positions := len(positionsOf(px))
	if len(px) < minSweepRuns || positions < minSweepPositions {
		why := fmt.Sprintf("only %d runs at %d positions have it: %s", len(px), positions, cmp.Or(absentReason(r.Values), "not known"))
		r.absent(why)
		return
	}
	l, _ := theilSen(px, py, level)
	n := len(px)
	r.Slope = analyze.Value(l.slope, n)
	r.SlopeLow, r.SlopeHigh = analyze.Absent("too few runs for an interval"), analyze.Absent("too few runs for an interval")
	if l.bounded {
		r.SlopeLow, r.SlopeHigh = analyze.Value(l.low, n), analyze.Value(l.high, n)
	}
	rho, p, ok := spearman(px, py)
	if ok {
		r.Rho, r.P = analyze.Value(rho, n), analyze.Value(p, n)
	} else {
		r.Why = "it does not vary"
		r.Rho, r.P = analyze.Absent("%s", r.Why), analyze.Absent("%s", r.Why)
	}
	r.HolmP, r.Ratio = analyze.Absent("not judged"), analyze.Absent("not judged")
	sd, df, repeated := spread(px, py)
	r.Spread, r.SpreadFrom = analyze.Value(sd, df), "runs at the same position"
	if !repeated {
		r.SpreadFrom = "each position against its neighbours: no position was ridden twice"
	}
	span := slices.Max(px) - slices.Min(px)
	r.Standard = analyze.Absent("no run-to-run spread")
	if sd > 0 {
		r.Standard = analyze.Value(math.Abs(l.slope)*span/sd, n)
	}
	r.Relative = analyze.Absent("its mean is 0")
	if mean := math.Abs(describe(py).mean); mean > 0 {
		r.Relative = analyze.Value(math.Abs(l.slope)*span/mean, n)
	}
	r.points(px, py, sd, df)
}

// absent makes all of a response absent.
func (r *Response) absent(why string) {
	a := analyze.Absent("%s", why)
	r.Why = why
	r.Points = []Point{}
	for _, f := range []*analyze.Figure{&r.Slope, &r.SlopeLow, &r.SlopeHigh, &r.Rho, &r.P, &r.HolmP, &r.Spread, &r.Monotonicity, &r.Standard, &r.Relative, &r.Ratio} {
		*f = a
	}
}

// judge words the verdicts: corrected among the figures that should move, those that should not, and the rest by family.
func (s *SweepResult) judge() {
	groups := map[string][]*Response{}
	var order []string
	for i := range s.Responses {
		r := &s.Responses[i]
		switch {
		case s.Alignment.OtherTrail:
			r.Why = s.Alignment.Refused
		case r.Role == "" && r.Family == Context && r.Why == "":
			r.Why = "it says what was ridden or recorded, not how the fork worked"
		}
		if r.Why != "" {
			continue
		}
		g := cmp.Or(r.Role, string(r.Family))
		if groups[g] == nil {
			order = append(order, g)
		}
		groups[g] = append(groups[g], r)
	}
	for _, g := range order {
		p := make([]float64, len(groups[g]))
		for i, r := range groups[g] {
			p[i] = r.P.Or(1)
		}
		for i, adjusted := range holm(p) {
			r := groups[g][i]
			r.HolmP, r.Verdict = analyze.Value(adjusted, len(p)), NoResponse
			switch rho := r.Rho.Or(0); {
			case adjusted > 1-level:
			case rho > 0:
				r.Verdict = Rises
			default:
				r.Verdict = Falls
			}
		}
	}
}

// responds says whether the figure clearly follows the adjuster.
func (r *Response) responds() bool { return r.Verdict == Rises || r.Verdict == Falls }
