package trail

import (
	"math"
	"math/rand/v2"
	"testing"

	"stanchion/ingest"
)

// A tour is a ride along a winding way at a changing speed, standing at both ends and once in the middle, known at every moment.
type tour struct {
	stepS      float64
	e, n, v, s []float64
}

// newTour rides for about 190 s: stands 8 s, rides, stands 10 s at half time, rides, stands 8 s.
func newTour() *tour {
	t := &tour{stepS: 0.01}
	var e, n, v, a, s float64
	for i := range 19000 {
		at := float64(i) * t.stepS
		want := 6 + 2.5*math.Sin(2*math.Pi*at/17) + math.Sin(2*math.Pi*at/5.3)
		if at < 8 || at > 90 && at < 108 || at > 178 {
			want = 0
		}
		a += (max(-3, min(2, (want-v)/0.5)) - a) * t.stepS / 0.15
		v = max(0, v+a*t.stepS)
		if want == 0 && v < 0.02 {
			v, a = 0, 0
		}
		s += v * t.stepS
		heading := 0.5 + 1.2*math.Sin(s/19) + 0.8*math.Sin(s/47)
		e, n = e+v*t.stepS*math.Sin(heading), n+v*t.stepS*math.Cos(heading)
		t.e, t.n, t.v, t.s = append(t.e, e), append(t.n, n), append(t.v, v), append(t.s, s)
	}
	return t
}

// faults are those of a receiver: white noise and wander of one coordinate, of speed.
type faults struct {
	rateHz, whiteM, wanderM, speedMS float64
	noSpeed                          bool
	seed                             uint64
}

// track is what a receiver with faults writes of the tour.
func (t *tour) track(f faults) *ingest.Track {
	rng := rand.New(rand.NewPCG(f.seed, 1))
	frame := Frame{46.5, 8.3}
	step := int(math.Round(1 / (f.rateHz * t.stepS)))
	keep := math.Exp(-float64(step) * t.stepS / 60)
	be, bn := f.wanderM*rng.NormFloat64(), f.wanderM*rng.NormFloat64()
	out := &ingest.Track{}
	for i := 0; i < len(t.e); i += step {
		lat, lon := frame.ToDegrees(t.e[i]+be+f.whiteM*rng.NormFloat64(), t.n[i]+bn+f.whiteM*rng.NormFloat64())
		fix := ingest.Fix{TimeS: float64(i) * t.stepS, LatDeg: lat, LonDeg: lon, EleM: 1800 - 0.1*t.s[i], SpeedMS: math.Abs(t.v[i] + f.speedMS*rng.NormFloat64())}
		if f.noSpeed {
			fix.SpeedMS = math.NaN()
		}
		out.Fixes = append(out.Fixes, fix)
		w := f.wanderM * math.Sqrt(1-keep*keep)
		be, bn = keep*be+w*rng.NormFloat64(), keep*bn+w*rng.NormFloat64()
	}
	return out
}

// errorsOf compares a path with the tour: RMS of the position error along and across the direction of travel while moving, of the
// along error in units of SigmaM, and of the speed.
func (t *tour) errorsOf(p *Path) (along, across, ratio, speed float64) {
	frame := Frame{46.5, 8.3}
	e0, n0 := frame.ToPlane(p.Frame.LatDeg, p.Frame.LonDeg)
	count := 0.0
	for k := range p.TimeS {
		i := int(math.Round(p.TimeS[k] / t.stepS))
		if i < 1 || i >= len(t.e) || t.v[i] < 1 {
			continue
		}
		ue, un := (t.e[i]-t.e[i-1])/(t.v[i]*t.stepS), (t.n[i]-t.n[i-1])/(t.v[i]*t.stepS)
		de, dn := p.EastM[k]+e0-t.e[i], p.NorthM[k]+n0-t.n[i]
		a, c := de*ue+dn*un, de*un-dn*ue
		along, across, speed, count = along+a*a, across+c*c, speed+(p.SpeedMS[k]-t.v[i])*(p.SpeedMS[k]-t.v[i]), count+1
		ratio += a * a / (p.SigmaM[k] * p.SigmaM[k])
	}
	r := func(x float64) float64 { return math.Sqrt(x / count) }
	return r(along), r(across), r(ratio), r(speed)
}

// How near the path comes to the truth. Bounds are for the mean square over six receivers of a kind; what they give is beside each.
func TestSmoothIsNearTheTruth(t *testing.T) {
	tr := newTour()
	for _, c := range []struct {
		name                 string
		f                    faults
		alongM, speedMS, way float64 // at most; way is the error of the length, as a share
	}{
		{"5 Hz, 3 m of white noise", faults{rateHz: 5, whiteM: 3 / math.Sqrt2, speedMS: 0.1}, 0.7, 0.1, 0.002},        // 0.5 m, 0.07 m/s
		{"the same without speed", faults{rateHz: 5, whiteM: 3 / math.Sqrt2, noSpeed: true}, 1.0, 0.8, 0.02},          // 0.86 m, 0.63 m/s
		{"1 Hz, 3 m of white noise", faults{rateHz: 1, whiteM: 3 / math.Sqrt2, speedMS: 0.1}, 1.2, 0.2, 0.008},        // 0.9 m
		{"1 Hz without speed", faults{rateHz: 1, whiteM: 3 / math.Sqrt2, noSpeed: true}, 1.5, 1.1, 0.03},              // 1.3 m
		{"5 Hz, mostly wander", faults{rateHz: 5, whiteM: 1 / math.Sqrt2, wanderM: 2, speedMS: 0.1}, 2, 0.1, 0.002},   // the wander itself
		{"1 Hz, mostly wander", faults{rateHz: 1, whiteM: 1 / math.Sqrt2, wanderM: 2, speedMS: 0.1}, 2.3, 0.2, 0.008}, // the wander itself
		{"a fine receiver", faults{rateHz: 5, whiteM: 0.12, wanderM: 0.33, speedMS: 0.05}, 0.35, 0.07, 0.002},
		{"no faults", faults{rateHz: 5}, 0.1, 0.1, 0.001},
	} {
		t.Run(c.name, func(t *testing.T) {
			var along, speed, ratio float64
			const runs = 6
			for seed := range uint64(runs) {
				c.f.seed = seed
				p, err := Smooth(tr.track(c.f), DefaultSmoothOptions())
				if err != nil {
					t.Fatal(err)
				}
				a, _, r, v := tr.errorsOf(p)
				along, speed, ratio = along+a*a/runs, speed+v*v/runs, ratio+r*r/runs
				if way := p.AlongM[len(p.AlongM)-1]/tr.s[len(tr.s)-1] - 1; math.Abs(way) > c.way {
					t.Errorf("the length is %.2f %% off", 100*way)
				}
				if p.Outliers > 0 || len(p.Notes) > 0 || math.Abs(p.RateHz-c.f.rateHz) > 1e-6 {
					t.Errorf("%d outliers, %v, %g Hz", p.Outliers, p.Notes, p.RateHz)
				}
				checkPath(t, p)
			}
			if along = math.Sqrt(along); along > c.alongM {
				t.Errorf("%.2f m off along the way, want at most %g", along, c.alongM)
			}
			if speed = math.Sqrt(speed); speed > c.speedMS {
				t.Errorf("speed is %.3f m/s off, want at most %g", speed, c.speedMS)
			}
			// SigmaM is honest. A wander of τ = 60 s gives about nine independent errors in six runs, so that their ratio scatters by a quarter.
			if ratio = math.Sqrt(ratio); ratio > 1.5 || ratio < 0.3 && c.f.whiteM > 0 {
				t.Errorf("errors are %.2f of what SigmaM says", ratio)
			}
			t.Logf("along %.2f m, speed %.3f m/s, ratio %.2f", along, speed, ratio)
		})
	}
}

// checkPath checks what Path promises.
func checkPath(t *testing.T, p *Path) {
	t.Helper()
	n := len(p.TimeS)
	for _, s := range [][]float64{p.EastM, p.NorthM, p.EleM, p.SpeedMS, p.AlongM, p.SigmaM} {
		if len(s) != n {
			t.Fatalf("lengths %d and %d", len(s), n)
		}
	}
	if len(p.Piece) != n {
		t.Fatalf("%d pieces", len(p.Piece))
	}
	for i := range n {
		for _, v := range []float64{p.TimeS[i], p.EastM[i], p.NorthM[i], p.SpeedMS[i], p.AlongM[i], p.SigmaM[i]} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("point %d is not finite", i)
			}
		}
		if i > 0 && (!(p.TimeS[i] > p.TimeS[i-1]) || p.AlongM[i] < p.AlongM[i-1] || p.Piece[i] < p.Piece[i-1]) {
			t.Fatalf("point %d does not come after the one before", i)
		}
		if i > 0 && p.Piece[i] != p.Piece[i-1] && p.AlongM[i] != p.AlongM[i-1] {
			t.Fatalf("distance was added across a loss of reception")
		}
	}
}

// Standing still adds no distance, with or without the receiver's speed.
func TestStandingStill(t *testing.T) {
	tr := newTour()
	for _, f := range []faults{
		{rateHz: 5, whiteM: 0.7, wanderM: 2, speedMS: 0.1}, {rateHz: 5, whiteM: 0.7, wanderM: 2, noSpeed: true},
		{rateHz: 1, whiteM: 2.1, speedMS: 0.1}, {rateHz: 1, whiteM: 0.7, wanderM: 2, noSpeed: true},
	} {
		for seed := range uint64(5) {
			f.seed = seed
			p, err := Smooth(tr.track(f), DefaultSmoothOptions())
			if err != nil {
				t.Fatal(err)
			}
			// The tour stands from 93.5 s at the latest until 108 s.
			var from, to float64
			for k := range p.TimeS {
				if p.TimeS[k] <= 95 {
					from = p.AlongM[k]
				}
				if p.TimeS[k] <= 107 {
					to = p.AlongM[k]
				}
			}
			if to-from > 0.3 {
				t.Errorf("%+v: %.2f m ridden while standing still", f, to-from)
			}
		}
	}
}
