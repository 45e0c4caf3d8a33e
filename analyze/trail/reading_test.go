package trail

import (
	"encoding/json"
	"math"
	"os"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"stanchion/analyze"
)

// The pieces of the reading against NumPy and SciPy: testdata/reading_reference.py. Tolerance 1e-9 relative, 1e-7 for the
// linear programme.
func TestReadingReference(t *testing.T) {
	raw, err := os.ReadFile("testdata/reading_reference.json")
	if err != nil {
		t.Fatal(err)
	}
	var ref struct {
		Parabola []struct {
			Y        []float64
			Residual float64
		}
		Split []struct {
			Rough       []float64
			Width       int
			Calm, Harsh float64
		}
		Slope []struct {
			X, Y  []float64
			Slope float64
		}
	}
	if err := json.Unmarshal(raw, &ref); err != nil {
		t.Fatal(err)
	}
	near := func(what string, got, want, tolerance float64) {
		t.Helper()
		if !(math.Abs(got-want) <= tolerance*max(1, math.Abs(want))) {
			t.Errorf("%s: %.12g, want %.12g", what, got, want)
		}
	}
	for _, c := range ref.Parabola {
		near("parabola", parabolaResidual(c.Y), c.Residual, 1e-9)
	}
	for _, c := range ref.Split {
		l := partLevels(c.Rough, c.Width, 1.5)
		near("calm", l.calm, c.Calm, 1e-9)
		near("harsh", l.harsh, c.Harsh, 1e-9)
	}
	for _, c := range ref.Slope {
		var p []slopePair
		for i := range c.X {
			p = append(p, slopePair{c.Y[i] / c.X[i], math.Abs(c.X[i])})
		}
		near("slope", weightedMedian(p), c.Slope, 1e-7)
	}
	if len(ref.Parabola) < 3 || len(ref.Split) < 2 || len(ref.Slope) < 2 {
		t.Error("reference values are missing")
	}
}

// A parabola has no residual; a cosine of a whole number of periods, which no parabola follows, has its RMS less what the parabola takes.
func TestParabolaResidual(t *testing.T) {
	y := make([]float64, 50)
	for i := range y {
		u := float64(i)
		y[i] = 3 - 2*u + 0.1*u*u
	}
	if r := parabolaResidual(y); r > 1e-9 {
		t.Errorf("a parabola leaves %g", r)
	}
	for i := range y {
		y[i] = math.Cos(2 * math.Pi * 10 * float64(i) / 50)
	}
	if r := parabolaResidual(y); math.Abs(r-math.Sqrt(0.5)) > 0.01 {
		t.Errorf("ten periods of a cosine leave %g, want nearly %g", r, math.Sqrt(0.5))
	}
}

// The dynamic programme finds the best of all sequences of calm and harsh, tried one by one.
func TestHarshPartsAreTheBest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 11).Draw(t, "n")
		l := levels{calm: 200, harsh: 600, limit: 200 * math.Pow(3, limitShare), parted: true}
		least := rapid.Float64Range(0.3, 4).Draw(t, "least")
		rough := make([]float64, n)
		for i := range rough {
			rough[i] = rapid.Float64Range(20, 3000).Draw(t, "rough")
			if rapid.IntRange(0, 9).Draw(t, "hole") == 0 {
				rough[i] = math.NaN()
			}
		}
		top := math.Log(l.harsh / l.limit)
		worth := func(harsh func(i int) bool) float64 {
			sum := 0.0
			for i, r := range rough {
				y := 0.0
				if !math.IsNaN(r) {
					y = max(-top, min(top, math.Log(r/l.limit)))
				}
				if !harsh(i) {
					y = -y
				}
				sum += y
				if i > 0 && harsh(i) != harsh(i-1) {
					sum -= least * top
				}
			}
			return sum
		}
		best := math.Inf(-1)
		for bits := range 1 << n {
			best = max(best, worth(func(i int) bool { return bits>>i&1 == 1 }))
		}
		parts := harshParts(rough, l, least)
		got := worth(func(i int) bool {
			return slices.ContainsFunc(parts, func(p span) bool { return i >= p.lo && i < p.hi })
		})
		if got < best-1e-9 {
			t.Fatalf("%v is worth %g, the best %g", parts, got, best)
		}
	})
}

// A stretch at the harsh level of more than the least length is found to the step; a shorter one is not, nor does a short calm break part it.
func TestHarshPartsOfSteps(t *testing.T) {
	l := levels{calm: 200, harsh: 600, limit: math.Sqrt(200 * 600), parted: true}
	rough := slices.Repeat([]float64{200}, 100)
	fill := func(lo, hi int, v float64) {
		for i := lo; i < hi; i++ {
			rough[i] = v
		}
	}
	fill(20, 26, 600) // six steps
	fill(40, 44, 2000)
	fill(60, 80, 600)
	fill(70, 74, 50)
	parts := harshParts(rough, l, 5)
	if want := []span{{20, 26}, {60, 80}}; !slices.Equal(parts, want) {
		t.Errorf("%v, want %v", parts, want)
	}
	if parts := harshParts(rough, levels{calm: 200, harsh: 250, limit: 220}, 5); parts != nil {
		t.Errorf("kinds that are not parted give %v", parts)
	}
}

// ramp is ground ridden at a steady speed from station 0.
func ramp(seconds, speed float64) *ground {
	g := &ground{basis: BasisLine}
	for t := 0.0; t <= seconds; t += 0.5 {
		g.t, g.s = append(g.t, t), append(g.s, speed*t)
		g.vt, g.v = append(g.vt, t), append(g.v, speed)
	}
	return g
}

// At a steady speed a span takes its length over the speed; standing at either end of it is not part of it; what is off the line or not seen has none.
func TestGroundSpan(t *testing.T) {
	g := ramp(60, 5)
	if a, b, ok := g.span(52.5, 101); !ok || math.Abs(a-10.5) > 1e-12 || math.Abs(b-20.2) > 1e-12 {
		t.Errorf("span from %g to %g s, %v", a, b, ok)
	}
	if m, ok := g.station(12.25); !ok || math.Abs(m-61.25) > 1e-12 {
		t.Errorf("station %g, %v", m, ok)
	}
	for _, s := range [][2]float64{{-20, 30}, {250, 320}} {
		if _, _, ok := g.span(s[0], s[1]); ok {
			t.Errorf("a run from 0 to 300 m covers %v", s)
		}
	}
	if _, _, ok := g.span(-3, 100); !ok {
		t.Error("3 m at the run's own end are forgiven")
	}
	stood := &ground{t: []float64{0, 5, 10, 15, 20}, s: []float64{0, 0, 50, 50, 100}}
	if a, b, ok := stood.span(0, 50); !ok || a != 5 || b != 10 {
		t.Errorf("between two stands: %g to %g, %v", a, b, ok)
	}
	g.off = [][2]float64{{30, 31}}
	if _, _, ok := g.span(100, 200); ok {
		t.Error("the run was off the line in it")
	}
	if _, ok := g.station(30.25); ok {
		t.Error("no station off the line")
	}
	hole := &ground{t: []float64{0, 10}, s: []float64{0, 50}}
	if _, ok := hole.station(4); ok {
		t.Error("no station in a hole of 10 s")
	}
}

// Of two runs, one without a position: agreement words, and the median and range of what there is.
func TestOverRunsAndSighting(t *testing.T) {
	o := over([]analyze.Figure{analyze.Value(3, 1), analyze.Absent("no"), analyze.Value(1, 1), analyze.Value(10, 1)})
	if m, n := o.Median.Or(0), o.Median.N(); m != 3 || n != 3 || o.Low.Or(0) != 1 || o.High.Or(0) != 10 {
		t.Errorf("%+v", o)
	}
	if o := over([]analyze.Figure{analyze.Absent("because")}); o.Median.OK() || o.Median.Reason() != "because" {
		t.Errorf("%+v", o)
	}
	for _, c := range []struct {
		found, passed int
		want          string
	}{{1, 1, AgreeSole}, {5, 5, AgreeAll}, {3, 5, AgreeMost}, {2, 5, AgreeFew}, {1, 5, AgreeOne}, {1, 2, AgreeMost}} {
		if s := sighting(c.found, c.passed); s.Agreement != c.want {
			t.Errorf("%d of %d: %s, want %s", c.found, c.passed, s.Agreement, c.want)
		}
	}
}

// Groups hold every event once, at most one of a run, and none further than joinM from where the group's median was when it joined.
func TestJoinByRun(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var events []event
		for run := range rapid.IntRange(1, 5).Draw(t, "runs") {
			for i := range rapid.IntRange(0, 6).Draw(t, "events") {
				events = append(events, event{run, i, rapid.Float64Range(0, 100).Draw(t, "station")})
			}
		}
		const joinM = 10
		n := 0
		for _, g := range joinByRun(events, joinM) {
			runs := map[int]bool{}
			for _, e := range g {
				if runs[e.run] {
					t.Fatalf("run %d twice in %v", e.run, g)
				}
				runs[e.run] = true
				n++
				if math.Abs(e.station-g[0].station) > 4*joinM {
					t.Fatalf("%v reaches too far", g)
				}
			}
		}
		if n != len(events) {
			t.Fatalf("%d of %d events in groups", n, len(events))
		}
	})
	same := joinByRun([]event{{0, 0, 100}, {1, 0, 103}, {0, 1, 108}, {1, 1, 110}}, 10)
	if len(same) != 2 || len(same[0]) != 2 || same[0][1].station != 103 {
		t.Errorf("two jumps of two runs: %v", same)
	}
}

// Of a sine, the mean over an odd number n of samples is the sine times Dirichlet's kernel sin(πfn/fs)/(n·sin(πf/fs)); half of what is left of it is over 0, so that
// its RMS is half its amplitude. A swing of 2 Hz loses most, the shaking of 8 Hz nothing much.
func TestBlowsOfSines(t *testing.T) {
	fs, amplitude := 500.0, 300.0
	half := math.Floor(fs * blowS / 2)
	n := 2*half + 1
	for _, c := range []struct{ hz, low, high float64 }{{0.5, 0, 0.05}, {2, 0, 0.4}, {8, 0.9, 1.3}} {
		v := make([]float64, int(12*fs))
		for i := range v {
			v[i] = amplitude * math.Sin(2*math.Pi*c.hz*float64(i)/fs)
		}
		sum := 0.0
		all := blows(v, fs)
		inner := all[int(fs):int(11*fs)] // whole periods, and none near an end
		for _, b := range inner {
			sum += b * b
		}
		got := math.Sqrt(sum / float64(len(inner)))
		left := math.Abs(1 - math.Sin(math.Pi*c.hz*n/fs)/(n*math.Sin(math.Pi*c.hz/fs)))
		if math.Abs(got-left*amplitude/2) > 1e-3*amplitude || left < c.low || left > c.high {
			t.Errorf("%g Hz: %.2f mm/s, want %.2f; left %.3f", c.hz, got, left*amplitude/2, left)
		}
	}
	if len(blows(nil, fs)) != 0 || blows([]float64{7}, fs)[0] != 0 {
		t.Error("blows of nothing or of one sample")
	}
}

// Parts lose the steps at their ends of which nothing is known, and vanish where they have no other.
func TestTrimmed(t *testing.T) {
	no := math.NaN()
	rough := []float64{no, no, 5, no, 5, no, no, no, 5}
	if got, want := trimmed([]span{{0, 6}, {6, 8}, {8, 9}}, rough), []span{{2, 5}, {8, 9}}; !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}

// Neighbours that overlap meet in the middle; one that lies in its neighbour is left alone.
func TestPart(t *testing.T) {
	places := []HarshPlace{{StartM: 0, EndM: 30}, {StartM: 26, EndM: 60}, {StartM: 60, EndM: 90}, {StartM: 62, EndM: 64}}
	part(places)
	if places[0].EndM != 28 || places[1].StartM != 28 || places[1].EndM != 60 || places[2].EndM != 90 || places[3].StartM != 62 {
		t.Errorf("%+v", places)
	}
}
