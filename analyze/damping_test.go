package analyze

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// A hit is a push of amplitude mm within 0.08 s and the free motion after it, 1.6 s in all.
type hit struct {
	amplitude, zeta, hz float64
}

// at is the distance from rest at s after the hit began.
func (h hit) at(s float64) float64 {
	const push = 0.08
	if s < push {
		return h.amplitude / 2 * (1 - math.Cos(math.Pi*s/push))
	}
	s -= push
	w := 2 * math.Pi * h.hz
	if h.zeta >= 1 {
		return h.amplitude * (1 + w*s) * math.Exp(-w*s) // critically damped
	}
	// At rest at the peak: b = a·ζ/√(1−ζ²).
	return freeDecay(s, h.zeta, h.hz, h.amplitude, h.amplitude*h.zeta/math.Sqrt(1-h.zeta*h.zeta), 0)
}

// rideWithHits is 3 s of riding about 40 mm, then per hit 1.6 s of free motion and 3 s of riding, with uniform noise.
func rideWithHits(fs, noiseMM float64, hits ...hit) []float64 {
	const ride, free, fade = 3.0, 1.6, 0.2
	period := ride + free
	n := int((ride + period*float64(len(hits))) * fs)
	x := lcg(n, 5)
	for i := range x {
		s := float64(i) / fs
		into := math.Mod(s, period)
		calm := max(0, into-ride)                     // s since the hit began
		edge := min(into, max(0, ride-into), fade)    // s to the nearest edge of riding
		loud := 0.5 - 0.5*math.Cos(math.Pi*edge/fade) // fades in and out
		x[i] = 40 + noiseMM*x[i] + loud*(8*math.Sin(2*math.Pi*2.1*s)+3*math.Sin(2*math.Pi*7.3*s+1))
		if k := int(s / period); calm > 0 && k < len(hits) {
			x[i] += hits[k].at(calm)
		}
	}
	return x
}

func dampingOf(t *testing.T, opt Options, fs float64, x []float64) Damping {
	t.Helper()
	res, _, err := Run(traceOf(fs, x), opt)
	if err != nil {
		t.Fatal(err)
	}
	return res.Damping
}

// dampedForks are damping ratios and natural frequencies, Hz, with ζ·f over the least that the rule of the dying speed lets
// through (0.6 Hz) and some margin for noise, which that rule counts as movement.
var dampedForks = []struct{ zeta, hz float64 }{
	{0.05, 14}, {0.05, 17}, {0.1, 7}, {0.1, 11}, {0.2, 4.5}, {0.2, 7}, {0.3, 3}, {0.3, 5}, {0.5, 2.5}, {0.5, 4},
}

// Free decays of known ζ inside a ride, through the whole of Run: within 2 % clean, within 10 % with noise. Closed form.
func TestDampingRatio(t *testing.T) {
	for _, f := range dampedForks {
		for _, c := range []struct{ noise, tolerance float64 }{{0, 0.02}, {0.2, 0.10}} {
			name := fmt.Sprintf("ζ %g, %g Hz, noise %g mm", f.zeta, f.hz, c.noise)
			hits := []hit{{34, f.zeta, f.hz}, {40, f.zeta, f.hz}, {-34, f.zeta, f.hz}}
			d := dampingOf(t, DefaultOptions(), 1000, rideWithHits(1000, c.noise, hits...))
			if len(d.Decays) != len(hits) {
				t.Errorf("%s: %d decays, want %d: %+v", name, len(d.Decays), len(hits), d.Decays)
			}
			for i, k := range d.Decays {
				closeTo(t, name+": ζ", k.Zeta, f.zeta, c.tolerance)
				closeTo(t, name+": Hz", k.NaturalHz, f.hz, c.tolerance/2)
				// It starts at the peak: 3 s of riding and 0.08 s of push into each period.
				if start := 3.08 + 4.6*float64(i); math.Abs(k.TimeS-start) > 0.02 {
					t.Errorf("%s: decay %d starts at %g s, want %g s", name, i, k.TimeS, start)
				}
				if k.R2 < 0.9 || k.NoOvershoot {
					t.Errorf("%s: decay %+v", name, k)
				}
			}
			closeTo(t, name+": median ζ", present(t, "ζ", d.Zeta), f.zeta, c.tolerance)
			if len(d.Zeta.Caveats()) == 0 || d.ZetaLow.OK() {
				t.Errorf("%s: three decays need a caveat and have no interval: %+v", name, d)
			}
		}
	}
}

// A fork that comes back without overshoot is counted, not averaged.
func TestDampingNoOvershoot(t *testing.T) {
	critical := hit{25, 1, 3}
	d := dampingOf(t, DefaultOptions(), 1000, rideWithHits(1000, 0, critical, critical))
	near(t, "no overshoot", d.NoOvershoot, 2, 0)
	gone(t, "ζ", d.Zeta)
	mixed := dampingOf(t, DefaultOptions(), 1000, rideWithHits(1000, 0, critical, hit{25, 0.3, 3}, hit{25, 0.8, 4}))
	near(t, "no overshoot", mixed.NoOvershoot, 2, 0) // ζ 0.8 overshoots by 1.5 %
	near(t, "ζ", mixed.Zeta, 0.3, 0.006)
	if mixed.Zeta.N() != 1 || len(mixed.Zeta.Caveats()) != 2 {
		t.Errorf("ζ rests on %d decays with caveats %q, want 1 and that most never overshot", mixed.Zeta.N(), mixed.Zeta.Caveats())
	}
}

// The limits: a decay under 8 % of travel, one that dies too slowly (ζ·f = 0.2 Hz) and riding alone give nothing, with a reason.
func TestDampingNothingFree(t *testing.T) {
	// From 70 mm down to full extension within 0.3 s, as off a take-off: a perfect exponential about 0.
	takeOff := rideWithHits(1000, 0, hit{0, 0.3, 3})
	for i := range 1400 {
		takeOff[3100+i] = 70 * math.Exp(-float64(i)/80)
	}
	for name, x := range map[string][]float64{
		"air":    takeOff,
		"small":  rideWithHits(1000, 0, hit{12, 0.3, 3}),
		"slow":   rideWithHits(1000, 0, hit{25, 0.1, 2}),
		"riding": rideWithHits(1000, 0, hit{0, 0.3, 3}),
		"short":  rideWithHits(1000, 0, hit{25, 0.3, 3})[:3900],
	} {
		d := dampingOf(t, DefaultOptions(), 1000, x)
		if len(d.Decays) != 0 {
			t.Errorf("%s: %+v", name, d.Decays)
		}
		gone(t, name+": ζ", d.Zeta)
		gone(t, name+": interval", d.ZetaLow)
		near(t, name+": no overshoot", d.NoOvershoot, 0, 0)
	}
}

// The interval is the same for the same samples, also when the trace starts at another time; its seed is reported; another seed gives
// another interval; it holds the median.
func TestDampingInterval(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	var hits []hit
	for range 12 {
		hits = append(hits, hit{20 + 15*rng.Float64(), 0.2 + 0.2*rng.Float64(), 4})
	}
	x := rideWithHits(1000, 0.05, hits...)
	d := dampingOf(t, DefaultOptions(), 1000, x)
	low, mid, high := present(t, "low", d.ZetaLow), present(t, "median", d.Zeta), present(t, "high", d.ZetaHigh)
	if !(low < mid && mid < high && low > 0.2*0.98 && high < 0.4*1.02) {
		t.Errorf("interval %g < %g < %g, want it inside 0.2…0.4", low, mid, high)
	}
	if d.Seed == 0 || d.Seed >= 1<<53 {
		t.Errorf("seed %d, want one that JSON numbers keep", d.Seed)
	}
	shifted := traceOf(1000, x)
	shifted.Segments[0].StartS = 77
	res, _, err := Run(shifted, DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	if res.Damping.Seed != d.Seed || res.Damping.ZetaLow.Or(0) != low || res.Damping.ZetaHigh.Or(0) != high {
		t.Errorf("a shift in time moved the interval: %+v", res.Damping)
	}
	opt := DefaultOptions()
	opt.BootstrapSeed = 5
	other := dampingOf(t, opt, 1000, x)
	if other.Seed != 5 || other.Zeta.Or(0) != mid {
		t.Errorf("seed 5: %+v", other)
	}
}

// The bootstrap distribution of the median of 7 values is known exactly: for B → ∞ the share of resamples whose median is the k-th
// smallest is Efron's weight; of the mouse data (Efron & Tibshirani 1993, Table 2.1; from memory, recomputed with NumPy) 0.010150,
// 0.098124, 0.238626, 0.306200, … So the 2.5 % and 97.5 % quantiles are the 2nd and 6th values.
func TestMedianInterval(t *testing.T) {
	mouse := []float64{94, 197, 16, 38, 99, 141, 23}
	low, high := medianInterval(mouse, 20000, 1)
	if low != 23 || high != 141 {
		t.Errorf("interval %g…%g, want 23…141", low, high)
	}
	if low, high = medianInterval([]float64{4}, 0, 1); low != 4 || high != 4 {
		t.Errorf("one value: %g…%g", low, high)
	}
	count := []int{2, 0, 1, 1}
	for k, want := range []int{0, 0, 2, 3} {
		if got := pick(count, k); got != want {
			t.Errorf("pick %d: %d, want %d", k, got, want)
		}
	}
}

// Successive extremes must come closer to rest: the same motion with one extreme as far out as the one before is no free decay.
func TestDecayMustShrink(t *testing.T) {
	r := rideOf(t, 1000, rideWithHits(1000, 0, hit{34, 0.3, 4}))
	s := &r.segs[0]
	turns := r.turnsBySegment(r.strokes().List)[0]
	for k, c := range turns {
		d, ok := r.decayAt(s, turns[k:])
		if !ok {
			continue
		}
		rest := c.mm - d.AmplitudeMM
		turns[k+1].mm = 2*rest - c.mm // as far out on the other side
		if _, ok := r.decayAt(s, turns[k:]); ok {
			t.Error("a motion that does not shrink passes for a decay")
		}
		return
	}
	t.Error("no decay was found")
}

// Where a decay has no damping ratio, none is written: a 0 would read as one.
func TestDecayWithoutOvershootHasNoNumbers(t *testing.T) {
	d := dampingOf(t, DefaultOptions(), 1000, rideWithHits(1000, 0, hit{25, 1, 3}))
	b, err := json.Marshal(d.Decays)
	if err != nil || len(d.Decays) != 1 || !d.Decays[0].NoOvershoot {
		t.Fatalf("%+v, %v", d.Decays, err)
	}
	for _, key := range []string{"zeta", "natural_hz", "r2"} {
		if strings.Contains(string(b), `"`+key+`"`) {
			t.Errorf("%s is written: %s", key, b)
		}
	}
}
