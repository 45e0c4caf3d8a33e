package compare

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"stanchion/sampledata/ridesim"
)

// How often sweeps accuse clean adjusters and find coupled ones, on simulated forks that the table of figures was not set on. In full, writing
// testdata/crosstalk.md, with
//
//	COVERAGE=full go test ./analyze/compare -run TestCrosstalkRates -timeout 120m
const crosstalkCommand = "COVERAGE=full go test ./analyze/compare -run TestCrosstalkRates -timeout 120m"

// An invented adjuster of 12 clicks from closed; each click multiplies damping by 1/ratio.
type simAdjuster struct {
	name    string
	kind    Kind
	coupled bool
	turn    func(p *ridesim.Params, k float64) // k is ratio to the power of (6 − clicks)
}

// needle turns a valve as a needle does: the high-speed slope by the square root.
func needle(v *ridesim.Valve, k float64) { v.Low, v.High = v.Low*k, v.High*math.Sqrt(k) }

func simAdjusters() []simAdjuster {
	both := func(name string, kind Kind, share float64) simAdjuster {
		return simAdjuster{name, kind, share > 0, func(p *ridesim.Params, k float64) {
			own, other := &p.Fork.Damper.Compression, &p.Fork.Damper.Rebound
			if kind == Rebound {
				own, other = other, own
			}
			needle(own, k)
			needle(other, math.Pow(k, share))
		}}
	}
	return []simAdjuster{
		both("compression needle", LowSpeedCompression, 0),
		{"low-speed compression alone", LowSpeedCompression, false, func(p *ridesim.Params, k float64) { p.Fork.Damper.Compression.Low *= k }},
		{"high-speed compression alone", HighSpeedCompression, false, func(p *ridesim.Params, k float64) { p.Fork.Damper.Compression.High *= k }},
		both("rebound needle", Rebound, 0),
		{"low-speed rebound alone", LowSpeedRebound, false, func(p *ridesim.Params, k float64) { p.Fork.Damper.Rebound.Low *= k }},
		{"high-speed rebound alone", HighSpeedRebound, false, func(p *ridesim.Params, k float64) { p.Fork.Damper.Rebound.High *= k }},
		both("compression needle, 30 % on rebound", LowSpeedCompression, 0.3),
		both("compression needle, 50 % on rebound", LowSpeedCompression, 0.5),
		both("rebound needle, 30 % on compression", Rebound, 0.3),
		both("rebound needle, 50 % on compression", Rebound, 0.5),
	}
}

// simFork draws a fork, a rider and a trail, and the ratio of a click.
func simFork(seed uint64) (p ridesim.Params, ratio float64) {
	rng := rand.New(rand.NewPCG(seed, 1848))
	within := func(lo, hi float64) float64 { return lo * math.Pow(hi/lo, rng.Float64()) }
	p = trailOf(900+seed, 6)
	p.Seed, p.Sensor.RateHz = 1300+seed, 250
	f := &p.Fork
	s := f.Spring.(ridesim.AirSpring)
	if seed%2 == 1 { // a shorter fork
		f.TravelM, f.BumpStartM, s.VolumeM3 = 0.140, 0.133, 0.9*s.VolumeM3
	}
	f.FrictionN, f.SprungKg = within(4, 60), within(29, 44)
	pressure := f.SprungKg / 36 * within(0.85, 1.2)
	s.PressurePa, s.NegPressurePa, s.VolumeM3 = pressure*s.PressurePa, pressure*s.NegPressurePa, s.VolumeM3*within(0.9, 1.15)
	f.Spring = s
	for _, v := range []*ridesim.Valve{&f.Damper.Compression, &f.Damper.Rebound} {
		k := within(0.6, 1.6)
		v.Low, v.High, v.KneeMS = k*v.Low, k*within(0.75, 1.3)*v.High, within(0.2, 0.8)
	}
	rough, pace := within(0.6, 1.5), within(0.85, 1.2)
	for i := range p.Course.Sections {
		p.Course.Sections[i].GdN0 *= rough
		p.Course.Sections[i].SpeedMS *= pace
	}
	return p, within(1.1, 1.2)
}

// simSweep rides an adjuster at four positions so many times over.
func simSweep(t *testing.T, fork uint64, a simAdjuster, seed uint64, rounds int) []SweepRun {
	base, ratio := simFork(fork)
	clicks := []int{0, 8, 4, 12}
	runs := make([]SweepRun, len(clicks)*rounds)
	each(len(runs), func(i int) {
		at := clicks[(i+i/len(clicks))%len(clicks)]
		p := base.Again(10000*fork+100*seed+uint64(i)+1, ridesim.DefaultVariation())
		a.turn(&p, math.Pow(ratio, float64(6-at)))
		r := ridden(t, fmt.Sprintf("run %d", i+1), p)
		r.Signals = nil // the figures alone are tested here
		runs[i] = SweepRun{r, float64(at)}
	})
	return runs
}

// talks says whether the sweep names crosstalk, and whether it names dead clicks.
func talks(t *testing.T, runs []SweepRun, kind Kind) (talk, dead bool, ratio float64) {
	s := swept(t, runs, kind)
	for _, r := range s.Responses {
		if r.Role == RoleShouldNot {
			ratio = r.Ratio.Or(0)
		}
		talk = talk || r.Crosstalk
	}
	return talk, len(s.Dead) > 0, ratio
}

func TestCrosstalkRates(t *testing.T) {
	forks := 0
	switch {
	case os.Getenv("COVERAGE") == "full":
		forks = 6
	case os.Getenv("CI") == "true" && !testing.Short():
		forks = 2
	default:
		t.Skipf("simulates hundreds of rides: set CI=true, or run %s", crosstalkCommand)
	}
	adjusters := simAdjusters()
	type count struct{ talk3, talk2, dead int }
	counts := make([]count, len(adjusters))
	for f := range forks {
		for k, a := range adjusters {
			runs := simSweep(t, uint64(f+1), a, uint64(k), 3)
			talk, dead, ratio := talks(t, runs, a.kind)
			talk2, _, _ := talks(t, runs[:8], a.kind)
			c := &counts[k]
			for _, n := range []struct {
				on bool
				of *int
			}{{talk, &c.talk3}, {talk2, &c.talk2}, {dead, &c.dead}} {
				if n.on {
					*n.of++
				}
			}
			t.Logf("fork %d, %s: crosstalk %v (2 rounds %v), ratio %.2f, dead %v", f+1, a.name, talk, talk2, ratio, dead)
		}
	}
	var report bytes.Buffer
	say := func(format string, args ...any) { fmt.Fprintf(&report, format+"\n", args...) }
	say("# Crosstalk named in adjuster sweeps\n\nMade with `%s`.\n", crosstalkCommand)
	say("%d invented forks that the figures and the limit were not set on, with their own friction (4 to 60 N), travel (140 and 160 mm), spring, rider, damping, trail", forks)
	say("and pace. Each adjuster is ridden at four positions of 12 clicks, three times each (two times each: the first two), with damping × 1.1 to 1.2 a click and the")
	say("same differences from run to run as in `coverage.md`. \"30 %% on rebound\" means that rebound damping changes by 30 %% of the change of compression damping, in logarithms.\n")
	say("| adjuster | crosstalk named, 4 × 3 runs | 4 × 2 runs | dead clicks named (there are none) |")
	say("| --- | --- | --- | --- |")
	var clean, coupled, cleanTalk, coupledTalk, dead int
	for k, a := range adjusters {
		c := counts[k]
		say("| %s | %d of %d | %d of %d | %d of %d |", a.name, c.talk3, forks, c.talk2, forks, c.dead, forks)
		dead += c.dead
		if a.coupled {
			coupled, coupledTalk = coupled+forks, coupledTalk+c.talk3
		} else {
			clean, cleanTalk = clean+forks, cleanTalk+c.talk3
		}
	}
	pct := func(n, of int) float64 { return 100 * float64(n) / float64(of) }
	say("\nClean adjusters accused: %d of %d sweeps (%.1f %%). Coupled adjusters found: %d of %d (%.1f %%).", cleanTalk, clean, pct(cleanTalk, clean), coupledTalk, coupled, pct(coupledTalk, coupled))
	t.Log("\n" + report.String())
	if pct(cleanTalk, clean) > 10 || pct(coupledTalk, coupled) < 75 || pct(dead, clean+coupled) > 10 { // few sweeps: each rate may be some per cent off
		t.Errorf("accused %d of %d clean, found %d of %d coupled, %d dead", cleanTalk, clean, coupledTalk, coupled, dead)
	}
	if os.Getenv("COVERAGE") == "full" {
		if err := os.WriteFile("testdata/crosstalk.md", report.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// A clean compression adjuster makes rebound faster all over, from deeper compressions, and is not accused of it; one that turns rebound too is.
func TestCompressionAdjusterCleanAndCoupled(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates rides")
	}
	adjusters := simAdjusters()
	for _, k := range []int{0, 7} {
		a := adjusters[k]
		s := swept(t, simSweep(t, 2, a, uint64(k), 2), a.kind)
		if r := response(t, s, "velocity.rebound.q95_mm_s"); !(r.Slope.Or(0) > 0) {
			t.Errorf("%s: rebound changes by %.3g mm/s a click, want it faster", a.name, r.Slope.Or(0))
		}
		if r := response(t, s, "velocity.at_depth.rebound_mean_mm_s"); r.Crosstalk != a.coupled {
			t.Errorf("%s: crosstalk %v at a ratio of %.2f, %s", a.name, r.Crosstalk, r.Ratio.Or(-1), r.Verdict)
		}
	}
}
