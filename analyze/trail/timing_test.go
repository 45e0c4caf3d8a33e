package trail

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// laps of a winding trail at different speeds, with a line and gates.
func timedDay(t testing.TB, n int, m manner) (*Line, []Gate, []TimedLap, []*ridden) {
	t.Helper()
	c := winding()
	var paths []*Path
	var rides []*ridden
	for i := range n {
		m.seed = uint64(10 + i)
		m.speedMS = 7 + 0.2*float64(i)
		r := c.ride(m)
		rides, paths = append(rides, r), append(paths, r.path)
	}
	l, err := NewLine(paths, DefaultLineOptions())
	if err != nil {
		t.Fatal(err)
	}
	var laps []TimedLap
	var placed []*Placed
	for i, p := range paths {
		q, err := l.Place(p, DefaultPlaceOptions())
		if err != nil {
			t.Fatal(err)
		}
		placed = append(placed, q)
		laps = append(laps, TimedLap{Name: string(rune('a' + i)), Path: p, Placed: q})
	}
	return l, l.EvenGates(placed, 3, 2), laps, rides
}

func mustTime(t testing.TB, l *Line, gates []Gate, laps []TimedLap, opt TimingOptions) *Timing {
	t.Helper()
	timing, err := Time(l, gates, laps, opt)
	if err != nil {
		t.Fatal(err)
	}
	return timing
}

// Splits add up to the run, the gap at the last gate is the difference of the times, the ideal time is the sum of the best splits and no run is faster,
// whatever the noise and the gates.
func TestTimingAddsUp(t *testing.T) {
	type day struct {
		l    *Line
		laps []TimedLap
	}
	var days []day
	for _, m := range []manner{{rateHz: 5}, {rateHz: 5, noiseM: 0.3, wanderM: 1.5, wanderS: 40}, {rateHz: 1, noiseM: 1}} {
		l, _, laps, _ := timedDay(t, 3, m)
		days = append(days, day{l, laps})
	}
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.SampledFrom(days).Draw(t, "day")
		n := rapid.IntRange(2, 12).Draw(t, "gates")
		gates := []Gate{{"g", rapid.Float64Range(5, 60).Draw(t, "start")}}
		for range n - 1 {
			gates = append(gates, Gate{"g", gates[len(gates)-1].StationM + rapid.Float64Range(3, 70).Draw(t, "split")})
		}
		opt := DefaultTimingOptions()
		opt.Against = rapid.IntRange(0, 3).Draw(t, "against")
		timing, err := Time(d.l, gates, d.laps, opt)
		if err != nil {
			t.Fatal(err)
		}
		ideal := 0.0
		for _, b := range timing.Best {
			ideal += b.TimeS.Or(math.NaN())
		}
		if math.Abs(ideal-timing.IdealS.Or(-1)) > 1e-9 {
			t.Fatalf("ideal time %g s, best splits add up to %g s", timing.IdealS.Or(-1), ideal)
		}
		for i, r := range timing.Runs {
			sum := 0.0
			for k, s := range r.Splits {
				sum += s.TimeS.Or(math.NaN())
				if !(s.SigmaS.Or(-1) > 0) || s.Best != (timing.Best[k].Run == i) || s.LossS.Or(-1) < 0 || s.Best != (s.LossS.Or(-1) == 0) {
					t.Fatalf("run %d, split %d: %+v, best is run %d", i, k, s, timing.Best[k].Run)
				}
			}
			if math.Abs(sum-r.TotalS.Or(-1)) > 1e-9 || r.LossToIdeal.Or(-1) < -1e-9 {
				t.Fatalf("run %d: splits add up to %g s, run %g s, %g s over ideal", i, sum, r.TotalS.Or(-1), r.LossToIdeal.Or(-1))
			}
		}
		for k, g := range timing.Gaps {
			last := len(g.GapS) - 1
			want := timing.Runs[g.Run].TotalS.Or(0) - timing.Runs[g.Against].TotalS.Or(0)
			if g.GapS[0] != 0 || g.SigmaS[0] != 0 || math.Abs(g.GapS[last]-want) > 1e-9 || g.StationM[last] != gates[n-1].StationM {
				t.Fatalf("gap from %g to %g s at %g m, times differ by %g s", g.GapS[0], g.GapS[last], g.StationM[last], want)
			}
			if v := timing.Versus[k]; v.Run != g.Run || math.Abs(v.Total.DifferenceS.Or(0)-want) > 1e-9 {
				t.Fatalf("difference %g s, want %g s", v.Total.DifferenceS.Or(0), want)
			}
		}
	})
}

// Clean runs at known speeds: splits are true to 0.03 s at 5 Hz and the fastest is the one ridden fastest; differences far over the uncertainty are called.
func TestTimingFindsTheTruth(t *testing.T) {
	l, gates, laps, rides := timedDay(t, 3, manner{rateHz: 5})
	timing := mustTime(t, l, gates, laps, DefaultTimingOptions())
	c := winding()
	for i, r := range timing.Runs {
		for k, s := range r.Splits {
			truth := rides[i].timeAt(c.stationOf(l, gates[k+1].StationM)) - rides[i].timeAt(c.stationOf(l, gates[k].StationM))
			if d := s.TimeS.Or(0) - truth; math.Abs(d) > 0.03 {
				t.Errorf("run %d, split %d: off by %.3f s", i, k, d)
			}
		}
	}
	if timing.Against != 2 {
		t.Errorf("held against run %d, the fastest is 2", timing.Against)
	}
	for _, v := range timing.Versus {
		if v.Total.Verdict != Slower {
			t.Errorf("run %d: %s by %.2f ± %.2f s, ridden clearly slower", v.Run, v.Total.Verdict, v.Total.DifferenceS.Or(0), v.Total.SigmaS.Or(0))
		}
	}
	opt := DefaultTimingOptions()
	opt.Against = 1
	for _, v := range mustTime(t, l, gates, laps, opt).Versus {
		if v.Against != 0 || v.Total.Verdict != Faster {
			t.Errorf("run %d: %s than run %d, ridden clearly faster than run 0", v.Run, v.Total.Verdict, v.Against)
		}
	}
}

// The same run twice, with noise of its own each time, is too close to call nearly always: at two standard uncertainties about 1 in 20 is called.
func TestEqualRunsAreTooCloseToCall(t *testing.T) {
	c := winding()
	called, all := 0, 0
	for seed := range uint64(12) {
		var paths []*Path
		var laps []TimedLap
		for i := range uint64(3) {
			m := manner{rateHz: 5, speedMS: 7, noiseM: 0.3, wanderM: 1.5, wanderS: 30, seed: 1}
			p := c.ride(m).path
			noisy := c.ride(manner{rateHz: 5, speedMS: 7, noiseM: 0.3, wanderM: 1.5, wanderS: 30, seed: 1000 + 3*seed + i}).path
			clean := c.ride(manner{rateHz: 5, speedMS: 7, seed: 1}).path
			own := c.ride(manner{rateHz: 5, speedMS: 7, seed: 1000 + 3*seed + i}).path
			for k := range p.TimeS {
				j := min(k, len(own.TimeS)-1)
				p.EastM[k], p.NorthM[k] = clean.EastM[k]+noisy.EastM[j]-own.EastM[j], clean.NorthM[k]+noisy.NorthM[j]-own.NorthM[j]
				p.SigmaM[k] = 1.5
			}
			paths = append(paths, p)
		}
		l := mustLine(t, paths...)
		var placed []*Placed
		for _, p := range paths {
			placed = append(placed, mustPlace(t, l, p))
			laps = append(laps, TimedLap{Path: p, Placed: placed[len(placed)-1]})
		}
		timing := mustTime(t, l, l.EvenGates(placed, 4, 2), laps, DefaultTimingOptions())
		for _, v := range timing.Versus {
			for _, s := range v.Splits {
				all++
				if s.Verdict != TooClose {
					called++
				}
			}
		}
	}
	if share := float64(called) / float64(all); share > 0.12 {
		t.Errorf("%d of %d differences between equal runs were called", called, all)
	}
}

func TestMissedGatesHaveReasons(t *testing.T) {
	c := winding()
	var laps []TimedLap
	whole := []*Path{c.ride(manner{rateHz: 5, speedMS: 7, seed: 1}).path, c.ride(manner{rateHz: 5, speedMS: 6, seed: 2}).path, c.ride(manner{rateHz: 5, speedMS: 7, seed: 3}).path}
	l := mustLine(t, whole...)
	early, late := c.ride(manner{rateHz: 5, speedMS: 7, seed: 4, to: 500}), c.ride(manner{rateHz: 5, speedMS: 7, seed: 5, from: 150})
	for i, p := range append(whole, early.path, late.path) {
		laps = append(laps, TimedLap{Name: string(rune('a' + i)), Path: p, Placed: mustPlace(t, l, p)})
	}
	gates := []Gate{{"start", 20}, {"tree", 300}, {"bridge", 600}, {"finish", 850}}
	timing := mustTime(t, l, gates, laps, DefaultTimingOptions())
	for _, want := range []struct {
		run, split int
		reason     string
	}{{3, 1, "no time at gate bridge: the run leaves the line before this gate, at "}, {3, 2, "no time at gate bridge"}, {4, 0, "no time at gate start: the run comes to the line after this gate, at "}} {
		if s := timing.Runs[want.run].Splits[want.split]; s.TimeS.OK() || !strings.HasPrefix(s.TimeS.Reason(), want.reason) || s.LossS.OK() {
			t.Errorf("run %d, split %d: %+v, want %q", want.run, want.split, s, want.reason)
		}
	}
	if !timing.Runs[3].Splits[0].TimeS.OK() || !timing.Runs[4].Splits[1].TimeS.OK() || timing.Runs[3].TotalS.OK() {
		t.Error("splits that were ridden are missing, or a total that was not ridden is there")
	}
	if timing.Against > 2 || !timing.IdealS.OK() {
		t.Errorf("held against %d, ideal time %+v", timing.Against, timing.IdealS)
	}
	if g := timing.Gaps[len(timing.Gaps)-1]; g.Run != 4 || g.Why == "" {
		t.Errorf("gap of a run without a start: %+v", g.Why)
	}
	found := 0
	for _, c := range timing.Caveats {
		if c.Topic == "gates" {
			found++
		}
	}
	if found != 2 {
		t.Errorf("%d caveats about missed gates, want 2", found)
	}
}

func TestTimingRefuses(t *testing.T) {
	l, gates, laps, _ := timedDay(t, 2, manner{rateHz: 5})
	opt := DefaultTimingOptions()
	opt.Against = 3
	for want, f := range map[string]func() (*Timing, error){
		"no runs":        func() (*Timing, error) { return Time(l, gates, nil, DefaultTimingOptions()) },
		"two are needed": func() (*Timing, error) { return Time(l, gates[:1], laps, DefaultTimingOptions()) },
		"is not among":   func() (*Timing, error) { return Time(l, gates, laps, opt) },
		"is not after":   func() (*Timing, error) { return Time(l, []Gate{{"a", 50}, {"b", 50}}, laps, DefaultTimingOptions()) },
	} {
		if _, err := f(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want %q", err, want)
		}
	}
}

// A gate on the ground is the nearest point of the line; where the line comes by twice, the order of the gates decides.
func TestPlaceGates(t *testing.T) {
	c := figureEight()
	l := mustLine(t, c.ride(manner{rateHz: 10, speedMS: 6, seed: 1}).path)
	at := func(name string, s float64) GateSpec {
		e, n, de, dn := l.at(s)
		lat, lon := l.Frame.ToDegrees(e+2*dn, n-2*de) // 2 m to the right
		return GateSpec{Name: name, OnGround: true, LatDeg: lat, LonDeg: lon}
	}
	cross, again := 0.0, 0.0 // where it crosses itself
	nearest := math.Inf(1)
	for i := range l.EastM {
		for j := i + 50; j < len(l.EastM); j++ {
			if d := math.Hypot(l.EastM[i]-l.EastM[j], l.NorthM[i]-l.NorthM[j]); d < nearest {
				nearest, cross, again = d, float64(i), float64(j)
			}
		}
	}
	if nearest > 1 || again-cross < 50 {
		t.Fatalf("the test's line does not cross itself: %g m", nearest)
	}
	for _, order := range [][]GateSpec{
		{at("a", 20), at("crossing", cross), at("b", (cross+again)/2)},
		{at("b", (cross+again)/2), at("crossing", cross), at("c", l.LengthM()-10)},
		{{Name: "a", StationM: 20}, at("crossing", cross), at("b", (cross+again)/2), at("crossing again", cross), {Name: "c", StationM: l.LengthM()}},
	} {
		gates, err := l.PlaceGates(order, 30)
		if err != nil {
			t.Fatal(err)
		}
		for i, g := range gates {
			want := g.StationM
			switch {
			case g.Name == "b":
				want = (cross + again) / 2
			case g.Name == "crossing" && i == 1 && order[0].Name == "a":
				want = cross
			case strings.HasPrefix(g.Name, "crossing"):
				want = again
			}
			if math.Abs(g.StationM-want) > 4 || i > 0 && g.StationM <= gates[i-1].StationM {
				t.Errorf("gate %s at %.1f m, want %.1f m", g.Name, g.StationM, want)
			}
		}
	}
	away := at("lake", 100)
	away.LatDeg += 0.01
	for want, specs := range map[string][]GateSpec{
		"from 2 to 200 are needed":          {at("a", 20)},
		"gate lake lies 1":                  {at("a", 20), away},
		"gate b is at 9999 m, but the line": {at("a", 20), {Name: "b", StationM: 9999}},
		"gate a is not after gate b":        {{Name: "b", StationM: 120}, {Name: "a", StationM: 10}},
	} {
		if _, err := l.PlaceGates(specs, 30); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want %q", err, want)
		}
	}
}

func TestMarkersAsGates(t *testing.T) {
	names := []string{"r1", "r2"}
	gates, times, err := MatchMarks(names, [][]Mark{{{3, "go"}, {20, "tree"}, {41, "end"}}, {{5, "go"}, {44, "end"}}})
	if err != nil || len(gates) != 3 || gates[1].Name != "tree" || times[1][0] != 5 || !math.IsNaN(times[1][1]) || times[1][2] != 44 {
		t.Fatalf("by label: %v %v %v", gates, times, err)
	}
	timing := mustTime(t, nil, gates, []TimedLap{{Name: "r1", Marks: times[0]}, {Name: "r2", Marks: times[1]}}, DefaultTimingOptions())
	if r := timing.Runs[0]; r.TotalS.Or(0) != 38 || r.Splits[0].TimeS.Or(0) != 17 || math.Abs(r.SigmaS.Or(0)-0.2*math.Sqrt2) > 1e-12 {
		t.Errorf("r1: %+v", r)
	}
	if r := timing.Runs[1]; r.TotalS.Or(0) != 39 || r.Splits[0].TimeS.Reason() != "no time at gate tree: the run has no such marker" {
		t.Errorf("r2: %+v", r)
	}
	if v := timing.Versus[0]; v.Run != 1 || v.Total.DifferenceS.Or(0) != 1 || v.Total.Verdict != Slower || timing.By != "markers" || len(timing.Gaps) != 0 {
		t.Errorf("%+v", v)
	}
	gates, times, err = MatchMarks(names, [][]Mark{{{3, ""}, {41, ""}}, {{5, ""}, {44, ""}}})
	if err != nil || gates[0].Name != "marker 1" || times[1][1] != 44 {
		t.Errorf("in order: %v %v %v", gates, times, err)
	}
	if _, _, err = MatchMarks(names, [][]Mark{{{3, ""}, {41, ""}}, {{5, ""}, {8, ""}, {44, ""}}}); err == nil || !strings.Contains(err.Error(), "r1 has 2 and r2 has 3") {
		t.Errorf("different numbers: %v", err)
	}
	if _, _, err = MatchMarks(names, [][]Mark{{{3, ""}}, nil}); err == nil {
		t.Error("one marker alone made a timing")
	}
}

// The size of a known slow error is found again from six runs of two minutes within a factor of 1.6. Its time constant comes out shorter, down to a third: the
// trail turns, so that what is across it now is along it soon.
func TestPositionError(t *testing.T) {
	l, _, laps, _ := timedDay(t, 6, manner{rateHz: 5, wanderM: 2, wanderS: 12})
	var placed []*Placed
	for i := range laps {
		for k := range laps[i].Placed.SigmaM {
			laps[i].Placed.SigmaM[k] = 1 // half of what it is
		}
		placed = append(placed, laps[i].Placed)
	}
	opt := DefaultTimingOptions()
	w := positionError(l, placed, &opt)
	if w.SigmaM < 2/1.6 || w.SigmaM > 2*1.6 || w.TauS < 12/3 || w.TauS > 12*1.6 || w.Scale < 1.3 || w.Observations < 10 {
		t.Errorf("got %+v, put in 2 m and 12 s", w)
	}
	if w := positionError(l, placed[:1], &opt); w.Scale != 1 || w.Observations != 0 || w.TauS != opt.WanderS || w.SigmaM != 1 {
		t.Errorf("one run: %+v", w)
	}
}
