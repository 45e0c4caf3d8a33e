package compare

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"stanchion/analyze"
	"stanchion/sampledata/ridesim"

	"gonum.org/v1/gonum/mat"
)

// Coverage of verdicts and intervals by simulation. The synthetic part draws run values; the ridden part simulates rides and is slow:
// it runs with CI=true at a reduced size, and in full, writing testdata/coverage.md, with
//
//	COVERAGE=full go test ./analyze/compare -run TestCoverage -timeout 60m
const coverageCommand = "COVERAGE=full go test ./analyze/compare -run TestCoverage -timeout 60m"

// A pool holds rides of one setting to draw sets from.
type pool []Run

// ridePool simulates n rides, each with its own pace, line, load and noise.
func ridePool(t testing.TB, n int, seed uint64, sections int, change func(ridesim.Params) ridesim.Params) pool {
	out := make(pool, n)
	each(n, func(i int) {
		p := trailOf(1, sections)
		p.Sensor.RateHz = 250
		out[i] = ridden(t, fmt.Sprintf("ride %d of %d", i, seed), change(p.Again(seed*1000+uint64(i)+1, ridesim.DefaultVariation())))
		out[i].Signals = nil // the figures alone are tested here
	})
	return out
}

// draw takes n different rides.
func (p pool) draw(rng *rand.Rand, n int) []Run {
	out := make([]Run, n)
	for i, k := range rng.Perm(len(p))[:n] {
		out[i] = p[k]
	}
	return out
}

func judged(t *testing.T, a, b []Run) *Comparison {
	c, err := Compare(a, b, DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// alarms counts the figures of a family with a verdict of a difference.
func alarms(c *Comparison, f Family) (n int) {
	for _, d := range c.Differences {
		if d.Family == f && (d.Verdict == Higher || d.Verdict == Lower) {
			n++
		}
	}
	return n
}

func TestCoverageRidden(t *testing.T) {
	size := 0
	switch {
	case os.Getenv("COVERAGE") == "full":
		size = 2
	case os.Getenv("CI") == "true" && !testing.Short():
		size = 1
	default:
		t.Skipf("simulates hundreds of rides: set CI=true, or run %s", coverageCommand)
	}
	var report bytes.Buffer
	say := func(format string, args ...any) { fmt.Fprintf(&report, format+"\n", args...) }
	rides, trials, sections := 24, 300, 5
	if size == 2 {
		rides, trials = 80, 1000
	}
	same := func(p ridesim.Params) ridesim.Params { return p }
	a := ridePool(t, rides, 1, sections, same)
	if size == 2 {
		measureBetweenRuns(a).write(t)
	}
	b := ridePool(t, rides/2, 2, sections, func(p ridesim.Params) ridesim.Params { return slow(p, 3) })
	say("# Coverage of verdicts and intervals\n\nMade with `%s`.\n", coverageCommand)
	say("## Simulated rides\n")
	say("%d rides of one setting and %d with the rebound three clicks slower (damping × 1.2 a click), about %.0f s of riding each. Run to run, pace varies by 1.5 %%,",
		rides, rides/2, a[0].Result.Ride.RidingS.Or(0))
	say("each section's speed by 2.5 %%, the load by 0.4 kg (standard deviations), a quarter of the ground's power is the line's, and the rider")
	say("moves about and the sensor is noisy anew. Sets are drawn from the rides %d times.\n", trials)
	say("| runs a side | any false verdict among the primary figures | among the secondary | 95 %% intervals that hold the truth (primary) | slower rebound found |")
	say("| --- | --- | --- | --- | --- |")
	for _, n := range []int{3, 5, 8} {
		rng := rand.New(rand.NewPCG(uint64(n), 9))
		var false1, false2, held, intervals, found, wrong int
		for range trials {
			drawn := a.draw(rng, 2*n)
			c := judged(t, drawn[:n], drawn[n:])
			if alarms(c, Primary) > 0 {
				false1++
			}
			if alarms(c, Secondary) > 0 {
				false2++
			}
			for _, d := range c.Differences {
				low, okL := d.Low.Get()
				high, okH := d.High.Get()
				if d.Family == Primary && okL && okH {
					intervals++
					if low <= 0 && 0 <= high {
						held++
					}
				}
			}
			c = judged(t, a.draw(rng, n), b.draw(rng, n))
			switch find(t, c, "velocity.rebound.q95_mm_s").Verdict {
			case Lower:
				found++
			case Higher:
				wrong++
			}
		}
		pct := func(k, of int) float64 { return 100 * float64(k) / float64(of) }
		say("| %d | %.1f %% | %.1f %% | %.1f %% | %.1f %% (wrong sign %.1f %%) |", n, pct(false1, trials), pct(false2, trials), pct(held, intervals), pct(found, trials), pct(wrong, trials))
		if pct(false1, trials) > 7 || pct(false2, trials) > 7 {
			t.Errorf("%d a side: false verdicts %.1f %% and %.1f %%", n, pct(false1, trials), pct(false2, trials))
		}
		if n == 5 && (pct(found, trials) < 90 || wrong > 0) {
			t.Errorf("slower rebound found in %.1f %%, wrong sign in %d", pct(found, trials), wrong)
		}
	}
	coverSweeps(t, say, size)
	coverTrails(t, say, size)
	coverPairs(t, say, size)
	coverSynthetic(t, say, 4000)
	t.Log("\n" + report.String())
	if size == 2 {
		if err := os.WriteFile("testdata/coverage.md", report.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// coverSweeps draws sweeps from pools of rides at each position of a clean adjuster and of one that is dead from click 8 on.
func coverSweeps(t *testing.T, say func(string, ...any), size int) {
	positions := []int{0, 2, 4, 6, 8, 10, 12}
	rides, trials := 4, 100
	if size == 2 {
		rides, trials = 6, 300
	}
	say("\n## Simulated sweeps\n")
	say("A rebound adjuster of 12 clicks, damping × 1.15 a click, at seven positions; %d rides a position to draw from, two a position drawn, %d sweeps each.\n", rides, trials)
	say("| adjuster | clicks 8–12 named dead | other clicks named dead | crosstalk named |")
	say("| --- | --- | --- | --- |")
	for k, c := range []struct {
		name string
		adj  rebound
	}{{"clean", rebound{deadFrom: 12}}, {"dead from click 8", rebound{deadFrom: 8}}, {"turns compression too", rebound{deadFrom: 12, coupled: true}}} {
		pools := make([]pool, len(positions))
		for i, at := range positions {
			pools[i] = ridePool(t, rides, uint64(10+100*k+i), 5, func(p ridesim.Params) ridesim.Params { return c.adj.at(p, at) })
		}
		rng := rand.New(rand.NewPCG(uint64(k), 3))
		var right, other, talk int
		for range trials {
			var runs []SweepRun
			for i, at := range positions {
				for _, r := range pools[i].draw(rng, 2) {
					runs = append(runs, SweepRun{r, float64(at)})
				}
			}
			s := swept(t, runs, Rebound)
			early := false
			for _, d := range s.Dead {
				early = early || d.From < 8
			}
			if early {
				other++
			}
			if covers(s.Dead, 8, 12) {
				right++
			} else if len(s.Dead) > 0 && !early && k != 1 {
				right++ // a part of 8–12 is as wrong on an adjuster without dead clicks
			}
			for _, r := range s.Responses {
				if r.Crosstalk {
					talk++
					break
				}
			}
		}
		pct := func(n int) float64 { return 100 * float64(n) / float64(trials) }
		say("| %s | %.1f %% | %.1f %% | %.1f %% |", c.name, pct(right), pct(other), pct(talk))
		ok := pct(other) <= 5 // few rides a position: each rate may be some per cent off
		switch k {
		case 0:
			ok = ok && pct(right) <= 5 && pct(talk) <= 10
		case 1:
			ok = ok && pct(right) >= 80 && pct(talk) <= 10
		default:
			ok = ok && pct(right) <= 5 && pct(talk) >= 90
		}
		if !ok {
			t.Errorf("sweeps, %s: dead %.1f %%, other %.1f %%, crosstalk %.1f %%", c.name, pct(right), pct(other), pct(talk))
		}
	}
}

// coverTrails tells rides of the same trail from rides of different trails of the same kinds of ground.
func coverTrails(t *testing.T, say func(string, ...any), size int) {
	trails := 4
	if size == 2 {
		trails = 8
	}
	say("\n## Same trail or not, by roughness\n")
	say("Two rides each of %d trails put together from the same four kinds of ground, every pair aligned by dynamic time warping.\n", trails)
	say("| sections (about 4 s each) | same trail, least quality | different trails, largest | different trails refused | AUC |")
	say("| --- | --- | --- | --- | --- |")
	for _, sections := range []int{12, 24} {
		same, other := trailPairs(t, trails, sections)
		low, high, refused := math.Inf(1), math.Inf(-1), 0
		for _, q := range same {
			low = min(low, q)
		}
		for _, q := range other {
			high = max(high, q)
			if q < DefaultOptions().MinMatch {
				refused++
			}
		}
		refusedPct := 100 * float64(refused) / float64(len(other))
		say("| %d | %.2f | %.2f | %.1f %% | %.4f |", sections, low, high, refusedPct, auc(same, other))
		if refusedPct < 95 || auc(same, other) < 0.99 {
			t.Errorf("%d sections: %.1f %% of different trails refused, AUC %.4f", sections, refusedPct, auc(same, other))
		}
	}
}

// betweenRuns is how the primary figures vary together from run to run of one setting.
type betweenRuns struct {
	MadeWith string      `json:"made_with"`
	Rides    int         `json:"rides"`
	Keys     []string    `json:"keys"`
	Mean     []float64   `json:"mean"`
	Cov      [][]float64 `json:"covariance"`
}

const betweenRunsFile = "testdata/between_runs.json"

// measureBetweenRuns is the mean and covariance of the primary figures over a pool.
func measureBetweenRuns(p pool) betweenRuns {
	out := betweenRuns{MadeWith: coverageCommand, Rides: len(p), Keys: DefaultPrimary()}
	columns := make([][]float64, len(out.Keys))
	for i := range p {
		for _, s := range p[i].Result.Scalars() {
			if k := slices.Index(out.Keys, s.Key); k >= 0 {
				columns[k] = append(columns[k], s.Figure.Or(math.NaN()))
			}
		}
	}
	for i := range columns {
		out.Mean = append(out.Mean, describe(columns[i]).mean)
		var row []float64
		for k := range columns {
			r, _ := pearson(columns[i], columns[k])
			row = append(row, r*describe(columns[i]).sd()*describe(columns[k]).sd())
		}
		out.Cov = append(out.Cov, row)
	}
	return out
}

// write keeps the covariance for the test that draws from it.
func (b betweenRuns) write(t *testing.T) {
	raw, err := json.MarshalIndent(b, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(betweenRunsFile, append(raw, '\n'), 0o644); err != nil {
		t.Fatal(err)
	}
}

// A drawer draws run values of the primary figures.
type drawer struct {
	mean []float64
	root mat.TriDense // lower Cholesky factor of the covariance
}

func newDrawer(t *testing.T) drawer {
	t.Helper()
	raw, err := os.ReadFile(betweenRunsFile)
	if err != nil {
		t.Fatal(err)
	}
	var b betweenRuns
	if err := json.Unmarshal(raw, &b); err != nil {
		t.Fatal(err)
	}
	n := len(b.Keys)
	if n != len(DefaultPrimary()) || b.Rides < 30 {
		t.Fatalf("%s is of %d figures and %d rides: make it again", betweenRunsFile, n, b.Rides)
	}
	cov := mat.NewSymDense(n, nil)
	for i := range n {
		for k := range i + 1 {
			cov.SetSym(i, k, b.Cov[i][k])
		}
	}
	d := drawer{mean: b.Mean}
	var c mat.Cholesky
	if !c.Factorize(cov) {
		t.Fatal("the covariance has no root")
	}
	c.LTo(&d.root)
	return d
}

// draw is n runs, figure by figure, spread by scale about the mean.
func (d *drawer) draw(rng *rand.Rand, n int, scale float64) [][]float64 {
	out := make([][]float64, len(d.mean))
	z := make([]float64, len(d.mean))
	for range n {
		for k := range z {
			z[k] = rng.NormFloat64()
		}
		for k := range out {
			x := d.mean[k]
			for j := range k + 1 {
				x += scale * d.root.At(k, j) * z[j]
			}
			out[k] = append(out[k], x)
		}
	}
	return out
}

func coverSynthetic(t *testing.T, say func(string, ...any), trials int) {
	from := newDrawer(t)
	say("\n## Drawn run values\n")
	say("The primary figures, normal with the between-run covariance of the simulated rides (`between_runs.json`), no true difference; %d comparisons each.\n", trials)
	say("| runs in A | runs in B | spread of B over that of A | any false verdict | 95 %% intervals that hold the truth |")
	say("| --- | --- | --- | --- | --- |")
	for _, c := range []struct {
		a, b  int
		scale float64
	}{{2, 2, 1}, {3, 3, 1}, {3, 3, 2}, {5, 5, 1}, {5, 5, 3}, {3, 8, 1}, {8, 3, 2}, {10, 10, 1}, {1, 5, 1}} {
		rng := rand.New(rand.NewPCG(uint64(100*c.a+c.b), uint64(c.scale)))
		alarm, held, intervals := 0, 0, 0
		for range trials {
			a, b := from.draw(rng, c.a, 1), from.draw(rng, c.b, c.scale)
			family := make([]*Estimate, len(a))
			any := false
			for k := range a {
				e := estimate(figures(a[k]), figures(b[k]))
				family[k] = &e
				intervals++
				if e.Low.Or(math.Inf(1)) <= 0 && 0 <= e.High.Or(math.Inf(-1)) {
					held++
				}
			}
			judge(family)
			for _, e := range family {
				any = any || e.Verdict == Higher || e.Verdict == Lower
			}
			if any {
				alarm++
			}
		}
		falsePct, heldPct := 100*float64(alarm)/float64(trials), 100*float64(held)/float64(intervals)
		say("| %d | %d | %g | %.1f %% | %.1f %% |", c.a, c.b, c.scale, falsePct, heldPct)
		if falsePct > 7 {
			t.Errorf("%d v %d, spread × %g: false verdicts in %.1f %%", c.a, c.b, c.scale, falsePct)
		}
		if min(c.a, c.b) >= 3 && (heldPct < 93 || heldPct > 97) {
			t.Errorf("%d v %d, spread × %g: intervals hold the truth in %.1f %%", c.a, c.b, c.scale, heldPct)
		}
	}
}

func figures(v []float64) []analyze.Figure {
	out := make([]analyze.Figure, len(v))
	for i, x := range v {
		out[i] = analyze.Value(x, 1)
	}
	return out
}

// Families hold their false verdicts and intervals their coverage on drawn run values.
func TestCoverageSynthetic(t *testing.T) {
	trials := 1500
	if testing.Short() {
		trials = 400
	}
	coverSynthetic(t, func(format string, args ...any) { t.Logf(format, args...) }, trials)
}
