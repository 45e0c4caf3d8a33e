package trail

import (
	"errors"
	"math"
	"strings"
	"testing"

	"stanchion/analyze/signal"
)

func offCourse(c *course, l *Line) []float64 {
	var out []float64
	for j := 0; j < len(l.EastM); j += 5 {
		nearest := math.Inf(1)
		for k := range c.e {
			nearest = min(nearest, math.Hypot(c.e[k]-l.EastM[j], c.n[k]-l.NorthM[j]))
		}
		out = append(out, nearest)
	}
	return out
}

// The line of several runs lies nearer to the trail than one run does, and its length is that of the trail.
func TestLineOfSeveralRuns(t *testing.T) {
	for name, c := range shapes() {
		var paths []*Path
		for seed := range uint64(6) {
			paths = append(paths, c.ride(manner{rateHz: 5, speedMS: 6, noiseM: 0.1, wanderM: 1.5, wanderS: 40, seed: seed}).path)
		}
		l := mustLine(t, paths...)
		// Of two coordinates with 1.5 m each, 0.6 m each remain over six runs; 95 % of such distances across are within 1.2 m. At a crossing the other leg is nearer, never further.
		if q := signal.Quantiles(offCourse(c, l), 0.95); q[0] > 1.6 {
			t.Errorf("%s: 95 %% of the line lies within %.2f m of the trail", name, q[0])
		}
		if d := l.LengthM()/c.lengthM() - 1; math.Abs(d) > 0.03 {
			t.Errorf("%s: %.1f m long, trail %.1f m", name, l.LengthM(), c.lengthM())
		}
		if q := signal.Quantiles(l.SpreadM, 0.5); l.Runs != 6 || q[0] < 0.6 || q[0] > 2.4 {
			t.Errorf("%s: %d runs, median spread %.2f m, put in 1.5 m", name, l.Runs, q[0])
		}
		if len(l.SpreadM) != len(l.EastM) || len(l.EleM) != len(l.EastM) || math.Abs(l.EleM[100]-490) > 3 {
			t.Errorf("%s: elevation at 100 m is %.1f m, want about 490 m", name, l.EleM[100])
		}
		for j := range l.EastM {
			if j > 0 && math.Abs(math.Hypot(l.EastM[j]-l.EastM[j-1], l.NorthM[j]-l.NorthM[j-1])-l.StepM) > 0.4 { // a mean line cuts tight corners
				t.Errorf("%s: points %d and %d are not %g m apart", name, j-1, j, l.StepM)
				break
			}
		}
	}
}

// One run of six that took another way for a while does not pull the line over.
func TestLineIsRobust(t *testing.T) {
	c := winding()
	var paths []*Path
	for seed := range uint64(6) {
		p := c.ride(manner{rateHz: 5, speedMS: 6, noiseM: 0.1, across: 0.2 * float64(seed%3), seed: seed}).path
		if seed == 4 {
			for i, s := range p.AlongM {
				p.EastM[i] += 12 * min(max((s-300)/40, 0), 1) * min(max((520-s)/40, 0), 1)
			}
		}
		paths = append(paths, p)
	}
	if q := signal.Quantiles(offCourse(c, mustLine(t, paths...)), 1); q[0] > 1 {
		t.Errorf("the line is pulled %.2f m away", q[0])
	}
}

func TestLineIsTrimmedToCommonGround(t *testing.T) {
	c := winding()
	var paths []*Path
	for seed, ends := range [][2]float64{{0, 0}, {22, 880}, {11, 0}, {0, 500}} { // the last is a part run
		paths = append(paths, c.ride(manner{rateHz: 5, speedMS: 6, from: ends[0], to: ends[1], seed: uint64(seed)}).path)
	}
	if l := mustLine(t, paths...); math.Abs(l.LengthM()-(880-22)) > 6 {
		t.Errorf("%.1f m long, want about %d m", l.LengthM(), 880-22)
	}
	if l := mustLine(t, paths[1], paths[3]); math.Abs(l.LengthM()-(500-22)) > 6 {
		t.Errorf("two runs: %.1f m long, want about %d m", l.LengthM(), 500-22)
	}
}

func TestStrangersAreNamed(t *testing.T) {
	c := winding()
	ride := func(c *course, seed uint64) *Path {
		return c.ride(manner{rateHz: 5, speedMS: 6, noiseM: 0.2, seed: seed}).path
	}
	moved := func(by float64) *Path {
		p := ride(c, 9)
		for i := range p.EastM {
			p.EastM[i] += by
		}
		return p
	}
	turned := ride(c, 8)
	n := len(turned.EastM)
	for i := range n / 2 {
		turned.EastM[i], turned.EastM[n-1-i] = turned.EastM[n-1-i], turned.EastM[i]
		turned.NorthM[i], turned.NorthM[n-1-i] = turned.NorthM[n-1-i], turned.NorthM[i]
	}
	opt := DefaultLineOptions()
	opt.Names = []string{"a", "b", "c"}
	for want, paths := range map[string][]*Path{
		"b was ridden 4 km away from ":           {ride(c, 1), moved(4000), ride(c, 2)},
		"b was ridden the other way round from ": {ride(c, 1), turned, ride(c, 2)},
		"c follows only ":                        {ride(c, 1), ride(c, 2), ride(figureEight(), 3)},
		"b was ridden 2 km away from a":          {ride(c, 1), moved(2000)},
		"no two of the 3 runs share a trail":     {ride(c, 1), moved(2000), moved(-3000)},
	} {
		_, err := NewLine(paths, opt)
		var e *StrangersError
		if !errors.As(err, &e) || len(e.Runs) != 1 || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want %q", err, want)
		}
	}
}

func TestLineNeedsRiding(t *testing.T) {
	if _, err := NewLine(nil, DefaultLineOptions()); err == nil {
		t.Error("a line of no runs")
	}
	p := ring().ride(manner{rateHz: 5, speedMS: 6, to: 20, seed: 1}).path
	if _, err := NewLine([]*Path{p}, DefaultLineOptions()); err == nil || !strings.Contains(err.Error(), "run 1: it moves over less than 30 m") {
		t.Errorf("got %v", err)
	}
}
