package damper

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"stanchion/analyze"
	"stanchion/analyze/signal"
	"stanchion/ingest"
)

// ridden are the velocities of a ride, in mm/s.
type ridden struct {
	r       *analyze.Result
	s       *analyze.Signals
	moving  []float64 // of every riding sample, in order
	curves  []curve
	strokes []stroke
}

// stroke is one of a ride, samples [lo, hi) of a segment.
type stroke struct {
	segment, lo, hi int
	compression     bool
}

// Run lays curves, as a reader gives them, over a ride. clicks is the position that was ridden, nil where it is not known; it must
// be among the curves. It fails where there is no riding or no velocity.
func Run(r *analyze.Result, s *analyze.Signals, curves []ingest.DamperCurve, clicks *float64) (*Result, error) {
	if len(curves) == 0 {
		return nil, errors.New("damper: no curve given")
	}
	at := 0
	if clicks != nil {
		if at = slices.IndexFunc(curves, func(c ingest.DamperCurve) bool { return c.Clicks == *clicks }); at < 0 {
			return nil, fmt.Errorf("damper: no curve was measured at %g clicks", *clicks)
		}
	}
	if !r.Velocity.TravelledM.OK() {
		return nil, fmt.Errorf("damper: %s", r.Velocity.TravelledM.Reason())
	}
	d := &ridden{r: r, s: s}
	for i := range curves {
		d.curves = append(d.curves, curveOf(&curves[i]))
	}
	d.gather()
	if len(d.moving) == 0 {
		return nil, errors.New("damper: there is no riding in this log")
	}
	out := &Result{SchemaVersion: SchemaVersion, Source: r.Source, RidingS: float64(len(d.moving)) / s.RateHz, SplitMMS: r.Options.SplitMMS,
		Ridden: clicks, LivesAt: curves[at].Clicks, Clicks: []Click{}, Steps: []Step{}, Caveats: []analyze.Caveat{}}
	for i := range curves {
		out.Clicks = append(out.Clicks, d.click(&curves[i], &d.curves[i]))
	}
	for i := 1; i < len(curves); i++ {
		out.Steps = append(out.Steps, d.step(&curves[i-1], &curves[i], &d.curves[i-1], &d.curves[i]))
	}
	out.Lives = d.lives(&d.curves[at])
	out.caveats(at)
	return out, nil
}

// gather collects riding velocities and strokes.
func (d *ridden) gather() {
	perCell := d.r.Options.CellS * d.s.RateHz
	for k := range d.s.Segments {
		g := &d.s.Segments[k]
		for i, v := range g.VelocityMMS {
			if cell := min(int(float64(i)/perCell+1e-9), len(g.Riding)-1); cell >= 0 && g.Riding[cell] {
				d.moving = append(d.moving, v)
			}
		}
	}
	for _, t := range d.r.Strokes.List {
		if !t.Riding || t.Segment >= len(d.s.Segments) {
			continue
		}
		g := &d.s.Segments[t.Segment]
		sample := func(at float64) int {
			return max(0, min(int(math.Round((at-g.StartS)*d.s.RateHz)), len(g.VelocityMMS)))
		}
		d.strokes = append(d.strokes, stroke{t.Segment, sample(t.StartS), sample(t.EndS), t.Compression})
	}
}

// joules turns a sum of N·mm/s over samples into J.
func (d *ridden) joules(sum float64) float64 { return sum / 1000 / d.s.RateHz }

// regime is the place of a velocity in an array of five: still, and slow and fast each way.
func (d *ridden) regime(v float64) int {
	speed := math.Abs(v)
	switch {
	case speed < d.r.Options.StillMMS:
		return 0
	case speed < d.r.Options.SplitMMS && v > 0:
		return 1
	case v > 0:
		return 2
	case speed < d.r.Options.SplitMMS:
		return 3
	}
	return 4
}

// click works one position out.
func (d *ridden) click(from *ingest.DamperCurve, c *curve) Click {
	var sums [5]float64
	var forces [2][]float64
	outside, total := 0.0, 0.0
	for _, v := range d.moving {
		f, in := c.at(v)
		k := d.regime(v)
		sums[k] += f * v
		total += f * v
		if !in {
			outside += f * v
		}
		if k > 0 {
			forces[(k-1)/2] = append(forces[(k-1)/2], math.Abs(f))
		}
	}
	out := Click{Clicks: from.Clicks, EnergyJ: d.joules(total), Outside: analyze.Absent("the damper took up nothing"),
		Regimes: Regimes{d.joules(sums[1]), d.joules(sums[2]), d.joules(sums[3]), d.joules(sums[4]), d.joules(sums[0])}}
	out.PowerW = out.EnergyJ * d.s.RateHz / float64(len(d.moving))
	if total > 0 {
		out.Outside = analyze.Value(outside/total, len(d.moving))
	}
	out.Compression = d.side(c, forces[0], d.joules(sums[1]+sums[2]), true)
	out.Rebound = d.side(c, forces[1], d.joules(sums[3]+sums[4]), false)
	for i := range c.v {
		out.Curve = append(out.Curve, Point{c.v[i], c.f[i]})
	}
	return out
}

// leastStrokes is the least number of strokes for quantiles of their energy.
const leastStrokes = 5

// side sums one direction up.
func (d *ridden) side(c *curve, forces []float64, energyJ float64, compression bool) Side {
	out := Side{EnergyJ: energyJ}
	if len(forces) == 0 {
		a := analyze.Absent("the fork never moved this way")
		out.MedianN, out.Q95N, out.MaxN = a, a, a
	} else {
		q := signal.Quantiles(forces, 0.5, 0.95, 1)
		out.MedianN, out.Q95N, out.MaxN = analyze.Value(q[0], len(forces)), analyze.Value(q[1], len(forces)), analyze.Value(q[2], len(forces))
	}
	var each []float64
	sum := 0.0
	for _, t := range d.strokes {
		if t.compression != compression {
			continue
		}
		e := 0.0
		for _, v := range d.s.Segments[t.segment].VelocityMMS[t.lo:t.hi] {
			f, _ := c.at(v)
			e += f * v
		}
		each = append(each, d.joules(e))
		sum += d.joules(e)
	}
	if len(each) < leastStrokes || !(sum > 0) {
		a := analyze.Absent("fewer than %d strokes", leastStrokes)
		out.StrokeJ, out.StrokeQ95J, out.StrokeShare = a, a, a
		return out
	}
	q := signal.Quantiles(each, 0.5, 0.95)
	out.StrokeJ, out.StrokeQ95J = analyze.Value(q[0], len(each)), analyze.Value(q[1], len(each))
	slices.Sort(each)
	hard := 0.0
	for _, e := range each[len(each)-max(1, len(each)/10):] {
		hard += e
	}
	out.StrokeShare = analyze.Value(hard/sum, len(each))
	return out
}

// step compares neighbours.
func (d *ridden) step(from, to *ingest.DamperCurve, a, b *curve) Step {
	var each [5]float64
	power, change, total, square := 0.0, 0.0, 0.0, 0.0
	for _, v := range d.moving {
		fa, _ := a.at(v)
		fb, _ := b.at(v)
		each[d.regime(v)] += math.Abs((fb - fa) * v)
		change += (fb - fa) * v
		total += math.Abs((fb - fa) * v)
		power += fa * v
		square += (fb - fa) * (fb - fa)
	}
	n := float64(len(d.moving))
	out := Step{From: from.Clicks, To: to.Clicks, PowerW: change / 1000 / n, ForceRMSN: math.Sqrt(square / n)}
	if power > 0 {
		out.ChangePct = 100 * total / power
	}
	out.PerClickPct = out.ChangePct / (to.Clicks - from.Clicks)
	out.Matters = out.PerClickPct >= MattersPct
	best := 1
	for k := 2; k < len(each); k++ {
		if each[k] > each[best] {
			best = k
		}
	}
	if total > 0 {
		out.Where, out.WherePct = [...]string{"", LowCompression, HighCompression, LowRebound, HighRebound}[best], 100*each[best]/total
	}
	return out
}

// lives is the share of time and energy per bin of velocity, from the first bin with riding in it to the last.
func (d *ridden) lives(c *curve) []Bin {
	width := d.r.Velocity.BinMMS
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, v := range d.moving {
		lo, hi = min(lo, v), max(hi, v)
	}
	first, last := math.Floor(max(lo, -binLimitMMS)/width), math.Floor(min(hi, binLimitMMS)/width)
	bins := make([]Bin, int(last-first)+1)
	total := 0.0
	for _, v := range d.moving {
		k := max(0, min(int(math.Floor(v/width)-first), len(bins)-1))
		f, _ := c.at(v)
		bins[k].TimeShare++
		bins[k].EnergyShare += f * v
		total += f * v
	}
	for k := range bins {
		b := &bins[k]
		b.FromMMS, b.ToMMS = (first+float64(k))*width, (first+float64(k)+1)*width
		b.ForceN, _ = c.at((b.FromMMS + b.ToMMS) / 2)
		b.TimeShare /= float64(len(d.moving))
		if total > 0 {
			b.EnergyShare /= total
		}
	}
	return bins
}

// binLimitMMS bounds the bins; what is faster goes to the end bins.
const binLimitMMS = 10_000

// muchOutside is the share of energy beyond the measured velocities from which figures are doubtful.
const muchOutside = 0.02

func (out *Result) caveats(at int) {
	if v, ok := out.Clicks[at].Outside.Get(); ok && v > muchOutside {
		out.Caveats = append(out.Caveats, analyze.Caveat{Severity: analyze.Warning, Topic: "range", Text: fmt.Sprintf(
			"the ride went faster than the dyno: %.0f %% of the energy is at velocities beyond those measured, where the last slope was continued", 100*v)})
	}
	out.Caveats = append(out.Caveats, analyze.Caveat{Severity: analyze.Note, Topic: "first order", Text: "with another click the fork would have moved otherwise; differences between clicks take the velocities as they were ridden"})
	if out.Ridden == nil && len(out.Clicks) > 1 {
		out.Caveats = append(out.Caveats, analyze.Caveat{Severity: analyze.Note, Topic: "ridden", Text: "the click that was ridden is not given: the differences hold for it only in so far as the fork moved as with the click compared"})
	}
}
