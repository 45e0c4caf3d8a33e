package compare

import (
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"testing"

	"stanchion/analyze"
)

// find is the difference of a figure.
func find(t *testing.T, c *Comparison, key string) *Difference {
	t.Helper()
	for i := range c.Differences {
		if c.Differences[i].Key == key {
			return &c.Differences[i]
		}
	}
	t.Fatalf("no figure %s", key)
	return nil
}

func compared(t *testing.T, a, b []Run, opt Options) *Comparison {
	t.Helper()
	c, err := Compare(a, b, opt)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := json.Marshal(c); err != nil { // NaN and infinities have no JSON
		t.Fatal(err)
	}
	return c
}

// Three clicks of rebound damping, known by construction: rebound is slower, the fork rides deeper and returns later, compression
// stays as it was to within what can be felt.
func TestSlowerRebound(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates rides")
	}
	r := rides()
	c := compared(t, r.a, r.b, DefaultOptions())
	for key, want := range map[string]string{
		"velocity.rebound.q95_mm_s": Lower, "velocity.rebound_to_compression_ratio": Lower, "sag.dynamic_median_mm": Higher,
		"packing.sink_in_rough_pct": Higher, "return.median_s": Higher, "velocity.compression.q95_mm_s": NoClear,
	} {
		if d := find(t, c, key); d.Verdict != want {
			t.Errorf("%s: %q (holm p %v), want %q", key, d.Verdict, d.HolmP, want)
		}
	}
	if c.Scope != "" || c.Alignment.Refused != "" || c.Alignment.Method != ByDistance {
		t.Errorf("scope %q, alignment %q %q", c.Scope, c.Alignment.Method, c.Alignment.Refused)
	}
	if len(c.Sections) < 2 {
		t.Fatalf("%d sections", len(c.Sections))
	}
	for _, s := range c.Sections {
		if d := s.Figures[4].Difference.Or(0); s.Figures[4].Key != "velocity.rebound.q95_mm_s" || d > -50 {
			t.Errorf("section %g–%g s: %s differs by %g", s.StartS, s.EndS, s.Figures[4].Key, d)
		}
	}
}

// One run a side never claims more than what these two runs show.
func TestOneRunASide(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates rides")
	}
	r := rides()
	c := compared(t, r.a[:1], r.b[:1], DefaultOptions())
	if c.Scope != WithinRun {
		t.Errorf("scope %q", c.Scope)
	}
	judged := 0
	for _, d := range c.Differences {
		switch d.Verdict {
		case Higher, Lower:
			t.Errorf("%s: verdict %q from one run a side", d.Key, d.Verdict)
		case NotJudged:
			if d.Why == "" {
				t.Errorf("%s is not judged without a reason", d.Key)
			}
		default:
			judged++
			if d.Method != Bootstrap || !slices.Contains(d.Caveats, WithinRun) {
				t.Errorf("%s: method %q, caveats %v", d.Key, d.Method, d.Caveats)
			}
		}
		if d.RunsNeeded.OK() {
			t.Errorf("%s: runs needed from one run a side", d.Key)
		}
	}
	if judged < 15 {
		t.Errorf("%d figures judged", judged)
	}
	if d := find(t, c, "velocity.rebound.q95_mm_s"); d.Verdict != LowerPair {
		t.Errorf("rebound: %q", d.Verdict)
	}
	// The figures recomputed from the shared ground are those of the whole runs but for the stands at its ends.
	whole, shared := r.a[0].Result.Velocity.Rebound.Q95MMS.Or(0), find(t, c, "velocity.rebound.q95_mm_s").A.Or(0)
	if d := whole - shared; d < -30 || d > 30 {
		t.Errorf("rebound of the shared ground %g, of the whole run %g", shared, whole)
	}
}

// Changing the sets over changes signs and nothing else; the order within a set changes nothing.
func TestSwapAndShuffle(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates rides")
	}
	r := rides()
	for _, n := range []int{1, 3} {
		ab, ba := compared(t, r.a[:n], r.b[:n], DefaultOptions()), compared(t, r.b[:n], r.a[:n], DefaultOptions())
		flip := map[string]string{Higher: Lower, Lower: Higher, HigherPair: LowerPair, LowerPair: HigherPair, NoClear: NoClear, NotJudged: NotJudged}
		for i := range ab.Differences {
			x, y := ab.Differences[i].Estimate, ba.Differences[i].Estimate
			if x.Difference.Or(0) != -y.Difference.Or(0) || x.P.Or(2) != y.P.Or(2) || flip[x.Verdict] != y.Verdict {
				t.Errorf("%d runs, %s: %+v turned over is %+v", n, ab.Differences[i].Key, x, y)
			}
			near := func(a, b float64) bool { return a == b || (a-b) < 1e-9*max(a, -a) && (b-a) < 1e-9*max(a, -a) }
			if !near(x.Low.Or(0), -y.High.Or(0)) {
				t.Errorf("%d runs, %s: interval [%v, %v] turned over is [%v, %v]", n, ab.Differences[i].Key, x.Low, x.High, y.Low, y.High)
			}
		}
	}
	one := compared(t, r.a, r.b, DefaultOptions())
	other := compared(t, []Run{r.a[2], r.a[0], r.a[3], r.a[1]}, []Run{r.b[1], r.b[3], r.b[2], r.b[0]}, DefaultOptions())
	for i := range one.Differences {
		if !reflect.DeepEqual(one.Differences[i].Estimate, other.Differences[i].Estimate) {
			t.Errorf("%s changed with the order of runs", one.Differences[i].Key)
		}
	}
	if !reflect.DeepEqual(one.Sections, other.Sections) {
		t.Error("sections changed with the order of runs")
	}
}

// Runs that cannot be compared are errors that say which runs and why.
func TestRefusals(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates rides")
	}
	r := rides()
	change := func(f func(*analyze.Result)) Run {
		res := *r.b[0].Result
		f(&res)
		return Run{Name: "changed", Result: &res}
	}
	same := *r.a[0].Result
	for name, c := range map[string]struct {
		a, b []Run
		want string
	}{
		"empty":     {r.a, nil, "no runs"},
		"no result": {r.a, []Run{{Name: "lost"}}, "no result"},
		"twice":     {r.a, []Run{r.a[1]}, "same run"},
		"same copy": {r.a, []Run{{Name: "copy", Result: &same}}, "same run"},
		"same hash": {[]Run{{Result: r.a[0].Result, Hash: "x"}}, []Run{{Result: r.b[0].Result, Hash: "x"}}, "same run"},
		"fork":      {r.a, []Run{change(func(r *analyze.Result) { r.Fork.TravelMM = 170 })}, "forks differ"},
		"fork name": {[]Run{r.a[0], change(func(r *analyze.Result) { r.Fork.Name = "one" })},
			[]Run{{Name: "third", Result: func() *analyze.Result { res := *r.b[1].Result; res.Fork.Name = "other"; return &res }()}}, "forks differ"},
		"sample rate": {r.a, []Run{change(func(r *analyze.Result) { r.Quality.RateHz = 1000 })}, "sample rates"},
		"thresholds":  {r.a, []Run{change(func(r *analyze.Result) { r.Options.SplitMMS = 300 })}, "thresholds"},
	} {
		_, err := Compare(c.a, c.b, DefaultOptions())
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want %q", name, err, c.want)
		}
	}
}
