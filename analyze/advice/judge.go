package advice

import (
	"fmt"
	"math"

	"stanchion/analyze"
	"stanchion/ingest"
)

// figures are the figures of a run by key, and what a condition needs beside them.
type figures struct {
	byKey    map[string]analyze.Scalar
	travelMM float64
	minutes  analyze.Figure // of riding
}

// manyN is the n of what does not limit that of a ratio: a rate rests on as many observations as its count.
const manyN = math.MaxInt32

func newFigures(in *Input) figures {
	f := figures{byKey: map[string]analyze.Scalar{}, travelMM: in.Result.Fork.TravelMM}
	for _, s := range append(in.Result.Scalars(), adjusterScalars(in)...) {
		f.byKey[s.Key] = s
	}
	f.minutes = analyze.Absent("%s", in.Result.Ride.RidingS.Reason())
	if s, ok := in.Result.Ride.RidingS.Get(); ok && s > 0 {
		f.minutes = analyze.Value(s/60, manyN)
	}
	return f
}

// ofTravel is a figure in mm as a share of travel; others stay as they are.
func (f *figures) ofTravel(s analyze.Scalar) analyze.Scalar {
	if s.Unit == "mm" {
		s.Unit, s.Figure = "%", ratio(s.Figure, analyze.Value(f.travelMM, manyN), 100)
	}
	return s
}

// noUsable is why a figure of an adjuster is absent on most forks, which nobody needs to be told.
const noUsable = "its usable range is not known: a sweep would show it"

// scalar is the figure of a key; one that this run does not have is absent.
func (f *figures) scalar(key string) analyze.Scalar {
	if s, ok := f.byKey[key]; ok {
		return s
	}
	reason := "this run does not have it"
	if ofAdjuster(key) {
		reason = noUsable
	}
	return analyze.Scalar{Key: key, Label: key, Figure: analyze.Absent("%s", reason)}
}

// judge holds a condition against the figures. It fails where the value itself is on the right side of the limit, holds where all of its
// interval is beyond the limit, and is in doubt between.
func (f *figures) judge(c *ingest.RuleCondition) Evidence {
	e := f.measure(c)
	e.Over, e.Limit = c.Over, c.Limit
	v, ok := e.Value.Get()
	if !ok {
		e.State, e.Doubt = Absent, e.Label+": "+e.Value.Reason()
		return e
	}
	low, okLow := e.Low.Get()
	high, okHigh := e.High.Get()
	switch {
	case !beyond(c, v):
		e.State = Fails
	case e.Value.N() < c.MinN:
		e.State = Doubt
		e.Doubt = fmt.Sprintf("%s rests on %d of the %d observations that it needs", e.Label, e.Value.N(), c.MinN)
	case !okLow || !okHigh:
		e.State, e.Doubt = Doubt, e.Label+" has no interval: "+firstReason(e.Low, e.High)
	case beyond(c, low) && beyond(c, high):
		e.State = Holds
	default:
		e.State = Doubt
		e.Doubt = fmt.Sprintf("%s is %s, which is too near to %s to tell", e.Label, Number(v, e.Unit), Number(c.Limit, e.Unit))
	}
	return e
}

func firstReason(list ...analyze.Figure) string {
	for _, f := range list {
		if !f.OK() {
			return f.Reason()
		}
	}
	return ""
}

// measure is the value of a condition with its interval.
func (f *figures) measure(c *ingest.RuleCondition) Evidence {
	s := f.scalar(c.Figure)
	if c.PctOfTravel {
		s = f.ofTravel(s)
	}
	e := Evidence{Figure: c.Figure, Label: s.Label, Unit: s.Unit, Value: s.Figure}
	if c.DividedBy != "" {
		d := f.scalar(c.DividedBy)
		if c.PctOfTravel {
			d = f.ofTravel(d)
		}
		e.Figure, e.Label, e.Unit = c.Figure+" / "+c.DividedBy, s.Label+" over "+d.Label, ""
		e.Value = ratio(s.Figure, d.Figure, 1)
	}
	none := analyze.Absent("the figure is absent")
	e.Low, e.High = none, none
	v, ok := e.Value.Get()
	if !ok {
		return e
	}
	n := e.Value.N()
	switch {
	case c.Low != "":
		e.Low, e.High = f.scalar(c.Low).Figure, f.scalar(c.High).Figure
	case c.Count || c.PerMin:
		low, high := poissonInterval(v)
		e.Low, e.High = analyze.Value(low, n), analyze.Value(high, n)
		if c.PerMin {
			e.Unit = "1/min"
			e.Value, e.Low, e.High = ratio(e.Value, f.minutes, 1), ratio(e.Low, f.minutes, 1), ratio(e.High, f.minutes, 1)
		}
	default:
		e.Low, e.High = analyze.Value(v-c.Margin, n), analyze.Value(v+c.Margin, n)
	}
	return e
}

// ratio is factor·a/b, with the observations and caveats of a and b. It is absent where a or b is, or b is not positive.
func ratio(a, b analyze.Figure, factor float64) analyze.Figure {
	x, okA := a.Get()
	y, okB := b.Get()
	switch {
	case !okA:
		return a
	case !okB:
		return b
	case !(y > 0):
		return analyze.Absent("it would be divided by %g", y)
	}
	return analyze.Value(factor*x/y, min(a.N(), b.N()), a.Caveats()...)
}
