package compare

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"stanchion/analyze"
)

// ground is the log-roughness of a made trail, metre by metre.
func ground(seed uint64, metres int) []float64 {
	rng := rand.New(rand.NewPCG(seed, 77))
	slow, fast := 0.0, 0.0
	out := make([]float64, metres)
	for i := range out {
		slow += -0.02*slow + 0.15*rng.NormFloat64()
		fast = 0.55*fast + 0.5*rng.NormFloat64()
		out[i] = math.Log(400) + slow + fast
	}
	return out
}

// sketch is a run over made ground, without a simulation: white noise as loud as the ground is rough. What the fork did is made up too.
func sketch(name string, trail []float64, seed uint64) Run {
	const rate, cell = 100.0, 25
	rng := rand.New(rand.NewPCG(seed, 5))
	res := &analyze.Result{Source: name, Options: analyze.DefaultOptions()}
	res.Fork.TravelMM, res.Quality.RateHz = 160, rate
	s := analyze.SignalSegment{}
	place, pace := 2.0, 6*(1+0.02*rng.NormFloat64())
	riding := 0
	for i := 0; place < float64(len(trail)-2); i++ {
		v := pace * (1 + 0.1*math.Sin(float64(i)/700+rng.Float64()/50+float64(seed)))
		place += v / rate
		s.VelocityMMS = append(s.VelocityMMS, math.Exp(atPlace(trail, place))*rng.NormFloat64())
		s.TravelMM = append(s.TravelMM, 40+10*rng.NormFloat64())
		if (i+1)%cell == 0 {
			s.RMSMMS, s.Riding, s.DistanceM = append(s.RMSMMS, math.Exp(atPlace(trail, place))), append(s.Riding, true), append(s.DistanceM, place)
			riding += cell
		}
	}
	s.DistanceM = nil
	value := func(mean, sd float64) analyze.Figure { return analyze.Value(mean+sd*rng.NormFloat64(), 100) }
	res.Ride.RidingS = analyze.Value(float64(riding)/rate, riding)
	res.Sag.DynamicMM, res.Sag.StaticMM, res.Travel.Q95MM = value(40, 0.5), analyze.Value(30, 1), value(110, 2)
	res.Velocity.Rebound.Q95MMS, res.Velocity.Compression.Q95MMS = value(900, 15), value(1000, 15)
	res.Rough.MedianMMS, res.Return.MedianS = value(400, 8), value(0.2, 0.004)
	return Run{Name: name, Result: res, Signals: &analyze.Signals{RateHz: rate, Segments: []analyze.SignalSegment{s}}}
}

// sketches are n runs over each of the given grounds in turn.
func sketches(prefix string, seed uint64, trails ...[]float64) []Run {
	out := make([]Run, len(trails))
	for i, g := range trails {
		out[i] = sketch(fmt.Sprint(prefix, i+1), g, seed+uint64(i))
	}
	return out
}

func names(c *Comparison) (left []string) {
	for _, l := range c.LeftOut {
		left = append(left, fmt.Sprintf("%s %s%d", l.Name, l.Set, l.Place))
	}
	return left
}

// warnings of a topic.
func about(list []analyze.Caveat, topic string) (out []string) {
	for _, c := range list {
		if c.Severity == analyze.Warning && c.Topic == topic {
			out = append(out, c.Text)
		}
	}
	return out
}

// One run of another trail is left out and said so; the sets are judged as if it had not been given.
func TestDoubtfulRunIsLeftOut(t *testing.T) {
	home, away := ground(1, 400), ground(2, 400)
	a, b := sketches("a", 10, home, home, home), sketches("b", 20, home, away, home)
	c := compared(t, a, b, DefaultOptions())
	if got := names(c); !slices.Equal(got, []string{"b2 B2"}) {
		t.Fatalf("left out %v; %q", got, c.Alignment.Refused)
	}
	if c.Alignment.Refused != "" || c.Alignment.OtherTrail || len(c.A) != 3 || len(c.B) != 2 || len(c.Alignment.Runs) != 5 {
		t.Errorf("refused %q, %d and %d runs, %d lined up", c.Alignment.Refused, len(c.A), len(c.B), len(c.Alignment.Runs))
	}
	fit, ok := c.LeftOut[0].Doubt.Fit.Get()
	if !ok || fit >= DefaultOptions().MinMatch || !strings.Contains(c.LeftOut[0].Doubt.Why, fmt.Sprintf("%.2f, under 0.55", fit)) {
		t.Errorf("the reason %q does not name the fit %v", c.LeftOut[0].Doubt.Why, fit)
	}
	if c.Caveats[0].Topic != "trail" || !strings.Contains(c.Caveats[0].Text, fmt.Sprintf("b2 (%.2f)", fit)) {
		t.Errorf("the first caveat does not name the run: %v", c.Caveats[0])
	}
	without := compared(t, a, []Run{b[0], b[2]}, DefaultOptions())
	for i := range c.Differences {
		x, y := c.Differences[i], without.Differences[i]
		if x.Verdict != y.Verdict || x.Difference.Or(9) != y.Difference.Or(9) || len(x.ValuesB) != 2 {
			t.Errorf("%s: %v and %v without the run", x.Key, x.Difference, y.Difference)
		}
	}
	if len(c.Sections) == 0 || len(c.Sections) != len(without.Sections) {
		t.Errorf("%d sections, and %d without the run", len(c.Sections), len(without.Sections))
	}
}

// A person who knows better keeps the run; then it counts, with a warning.
func TestDoubtfulRunIsKept(t *testing.T) {
	home, away := ground(1, 400), ground(2, 400)
	opt := DefaultOptions()
	opt.KeepDoubtful = true
	c := compared(t, sketches("a", 10, home, home, home), sketches("b", 20, home, away, home), opt)
	if len(c.LeftOut) > 0 || len(c.B) != 3 || c.Alignment.Refused != "" || len(c.Alignment.Doubtful) != 1 || !c.Alignment.Doubtful[0].Kept {
		t.Fatalf("%v, %d runs in B, %q, %+v", names(c), len(c.B), c.Alignment.Refused, c.Alignment.Doubtful)
	}
	if w := about(c.Caveats, "trail"); len(w) != 1 || !strings.Contains(w[0], "Kept as you asked") || !strings.Contains(w[0], "b2 (") {
		t.Errorf("warnings %q", w)
	}
	if d := find(t, c, "velocity.rebound.q95_mm_s"); d.RunsB != 3 || d.Verdict == NotJudged {
		t.Errorf("%d runs of B, %q", d.RunsB, d.Verdict)
	}
	// So does a pair.
	c = compared(t, sketches("a", 10, home), sketches("b", 20, away), opt)
	if c.Alignment.OtherTrail || len(about(c.Caveats, "trail")) != 1 {
		t.Errorf("a pair: refused %q, %v", c.Alignment.Refused, c.Caveats)
	}
}

// Without a majority, or with a set emptied, nothing is judged and the reason is told.
func TestNoMajority(t *testing.T) {
	home, away := ground(1, 400), ground(2, 400)
	for name, c := range map[string]struct {
		a, b []Run
		want string
	}{
		"two trails":        {sketches("a", 10, home, home), sketches("b", 20, away, away), "the runs do not look like one trail: no more than 2 of 4 look alike (fit with "},
		"all of B is away":  {sketches("a", 10, home, home, home), sketches("b", 20, away, away), "without those that look like another, no run of B is left (fit with "},
		"all of A is away":  {sketches("a", 10, away), sketches("b", 20, home, home), "no run of A is left"},
		"a pair":            {sketches("a", 10, home), sketches("b", 20, away), "do not look like the same trail"},
		"five of one, none": {sketches("a", 10, ground(5, 400), ground(6, 400)), sketches("b", 20, ground(7, 400), home), "no more than 1 of 4 look alike"},
	} {
		got := compared(t, c.a, c.b, DefaultOptions())
		if !got.Alignment.OtherTrail || !strings.Contains(got.Alignment.Refused, c.want) || len(got.LeftOut) > 0 {
			t.Errorf("%s: %q, left out %v, want %q", name, got.Alignment.Refused, names(got), c.want)
		}
		if len(got.A) != len(c.a) || len(got.B) != len(c.b) || len(got.Alignment.Runs) != len(c.a)+len(c.b) {
			t.Errorf("%s: runs are missing from a refused comparison", name)
		}
		for _, d := range got.Differences {
			if d.Verdict != NotJudged || d.RunsNeeded.OK() || d.Size == SizeWorth || d.Size == SizeMaybe {
				t.Errorf("%s, %s: %q, %q, %v on another trail", name, d.Key, d.Verdict, d.Size, d.RunsNeeded)
			}
		}
	}
}

// One bad reference cannot condemn the rest, wherever it lies in riding time; and the order of the runs changes nothing.
func TestAnyOneOfManyIsFound(t *testing.T) {
	home := ground(1, 250)
	for seed := range uint64(20) {
		rng := rand.New(rand.NewPCG(seed, 8))
		n := 3 + rng.IntN(5)
		odd := rng.IntN(n)
		grounds := make([][]float64, n)
		for i := range grounds {
			grounds[i] = home
		}
		grounds[odd] = ground(seed+1000, 200+rng.IntN(100))
		runs := sketches("r", 100*seed, grounds...)
		al, err := Align(runs, DefaultOptions())
		if err != nil || al.Refused != "" {
			t.Fatalf("%v %q", err, al.Refused)
		}
		if len(al.Doubtful) != 1 || al.Doubtful[0].Name != runs[odd].Name || len(al.Runs) != n-1 {
			t.Fatalf("doubtful %+v, want %s", al.Doubtful, runs[odd].Name)
		}
		turned := slices.Clone(runs)
		slices.Reverse(turned)
		if other, _ := Align(turned, DefaultOptions()); other.Reference != al.Reference || other.StartS != al.StartS || other.Doubtful[0].Fit.Or(9) != al.Doubtful[0].Fit.Or(8) {
			t.Fatalf("reference %s, and %s in another order", al.Reference, other.Reference)
		}
	}
}

// A run too short to tell a trail by is left out with that reason.
func TestShortRunIsLeftOut(t *testing.T) {
	home := ground(1, 400)
	b := sketches("b", 20, home, home[:40], home)
	c := compared(t, sketches("a", 10, home, home), b, DefaultOptions())
	if got := names(c); !slices.Equal(got, []string{"b2 B2"}) || !strings.Contains(c.LeftOut[0].Doubt.Why, "too little to tell a trail by") || c.LeftOut[0].Doubt.Fit.OK() {
		t.Errorf("left out %v: %+v", got, c.LeftOut)
	}
	// Of two runs there is no rest to hold it against: the figures are compared, and that nothing was checked is told.
	c = compared(t, sketches("a", 10, home), b[1:2], DefaultOptions())
	if c.Alignment.OtherTrail || !strings.Contains(c.Alignment.Refused, "b2 has 5.75 s") {
		t.Errorf("%q", c.Alignment.Refused)
	}
}

// placed are runs at the given positions.
func placed(runs []Run, clicks ...float64) []SweepRun {
	out := make([]SweepRun, len(runs))
	for i := range runs {
		out[i] = SweepRun{runs[i], clicks[i]}
	}
	return out
}

// A sweep goes on without a doubtful run as long as enough is left, and is refused with the reason where it is not.
func TestSweepLeavesOut(t *testing.T) {
	home, away := ground(1, 400), ground(2, 400)
	s := swept(t, placed(sketches("r", 30, home, home, away, home, home, home), 0, 4, 8, 12, 4, 12), Rebound)
	if len(s.LeftOut) != 1 || s.LeftOut[0].Name != "r3" || s.LeftOut[0].Clicks != 8 || s.LeftOut[0].Place != 3 {
		t.Fatalf("left out %+v, refused %q", s.LeftOut, s.Alignment.Refused)
	}
	if !slices.Equal(s.Positions, []float64{0, 4, 12}) || len(s.Runs) != 5 || s.Runs[2].Clicks != 12 || len(s.Responses[0].Values) != 5 {
		t.Errorf("positions %v, %d runs", s.Positions, len(s.Runs))
	}
	if w := about(s.Caveats, "trail"); len(w) != 1 || !strings.HasPrefix(w[0], "Left out, since it does not look like the same trail") || s.Caveats[0].Topic != "trail" {
		t.Errorf("caveats %v", s.Caveats)
	}
	s = swept(t, placed(sketches("r", 30, home, home, away, home, home), 0, 4, 8, 4, 0), Rebound)
	if !s.Alignment.OtherTrail || !strings.Contains(s.Alignment.Refused, "4 runs at 2 positions are left, and a sweep needs 4 at 3") || len(s.Runs) != 5 || len(s.LeftOut) > 0 {
		t.Errorf("%q, %d runs", s.Alignment.Refused, len(s.Runs))
	}
	for _, r := range s.Responses {
		if r.Verdict != NotJudged || r.Ratio.OK() {
			t.Errorf("%s: %q, %v on another trail", r.Key, r.Verdict, r.Ratio)
		}
	}
}

// The mean of the runs that look alike takes in a run that fits none of them well enough alone, and no other trail.
func TestMeanTakesIn(t *testing.T) {
	home := ground(1, 600)
	blur := func(g []float64, seed uint64, chance float64) []float64 { // as an extreme setting does: more chance
		rng := rand.New(rand.NewPCG(seed, 3))
		out := slices.Clone(g)
		for i := range out {
			out[i] += chance * rng.NormFloat64()
		}
		return out
	}
	var trails [][]float64
	for i := range uint64(6) {
		trails = append(trails, blur(home, i, 0.55))
	}
	trails = append(trails, blur(home, 50, 1), ground(2, 600))
	runs := sketches("r", 40, trails...)
	al, err := Align(runs, DefaultOptions())
	if err != nil || al.Refused != "" {
		t.Fatal(err, al.Refused)
	}
	if len(al.Doubtful) != 1 || al.Doubtful[0].Name != "r8" {
		t.Errorf("doubtful: %+v", al.Doubtful)
	}
	runs = []Run{runs[slices.IndexFunc(runs, func(r Run) bool { return r.Name == al.Reference })], runs[6]}
	pair, _ := Align(runs, DefaultOptions())
	alone := min(pair.Runs[0].Quality.Or(0), pair.Runs[1].Quality.Or(0))
	t.Logf("fit with the reference alone %.2f, with the mean %.2f; another trail %.2f", alone, al.Runs[6].Quality.Or(0), al.Doubtful[0].Fit.Or(0))
	if alone >= DefaultOptions().MinMatch {
		t.Error("the test does not need the mean")
	}
}
