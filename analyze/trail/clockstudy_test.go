package trail

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"

	"gonum.org/v1/gonum/mat"

	"stanchion/sampledata/ridesim"
)

// brakingCourse is a drawn trail of n stretches between two stands, with some braking and some corners.
func brakingCourse(seed uint64, n int) ridesim.Course {
	rng := rand.New(rand.NewPCG(seed, 0x6272616b65))
	c := ridesim.Course{StartHoldS: draw(rng, 3, 12), EndHoldS: draw(rng, 3, 8), EnvelopeM: 0.16, SwayN: draw(rng, 10, 35)}
	for range n {
		c.Sections = append(c.Sections, ridesim.Section{Kind: "flow", LengthM: draw(rng, 30, 80), GdN0: draw(rng, 300e-6, 2500e-6), SpeedMS: draw(rng, 5.5, 9), AccelMS2: draw(rng, 1, 2)})
		switch rng.IntN(3) {
		case 0:
			c.Sections = append(c.Sections, ridesim.Section{Kind: "rocks", LengthM: draw(rng, 20, 50), GdN0: draw(rng, 5000e-6, 12000e-6), SpeedMS: draw(rng, 4, 6), BrakeMS2: draw(rng, 1.5, 3)})
		case 1:
			c.Sections = append(c.Sections,
				ridesim.Section{Kind: "braking", LengthM: draw(rng, 10, 25), GdN0: draw(rng, 500e-6, 3000e-6), SpeedMS: draw(rng, 2.5, 4.5), BrakeMS2: draw(rng, 1.8, 3.5)},
				ridesim.Section{Kind: "corner", LengthM: draw(rng, 8, 18), GdN0: 300e-6, SpeedMS: draw(rng, 3.5, 5), LoadG: draw(rng, 0.1, 0.5)})
		}
	}
	c.Sections = append(c.Sections, ridesim.Section{Kind: "stop", LengthM: 80, GdN0: draw(rng, 200e-6, 1500e-6), BrakeMS2: draw(rng, 1.5, 3)})
	return c
}

// A clockCase is a kind of receiver.
type clockCase struct {
	name     string
	receiver ridesim.Receiver
}

func clockCases() []clockCase {
	var out []clockCase
	for _, noSpeed := range []bool{false, true} {
		for _, hz := range []float64{5, 1} {
			open := ridesim.OpenGround(hz)
			white := ridesim.Receiver{RateHz: hz, NoiseM: 3, EleNoiseM: 5, SpeedNoiseMS: 0.1}
			for _, c := range []clockCase{{"open ground", open}, {"3 m white", white}} {
				c.receiver.NoSpeed = noSpeed
				with := "with speed"
				if noSpeed {
					with = "without speed"
				}
				out = append(out, clockCase{fmt.Sprintf("%g Hz %s, %s", hz, with, c.name), c.receiver})
			}
		}
	}
	return out
}

// clockRides are drawn courses on several forks.
func clockRides(from, n int) []simulatedRide {
	out := make([]simulatedRide, n)
	var wg sync.WaitGroup
	forks := simForks()
	for i := range n {
		wg.Go(func() {
			seed := uint64(from + i)
			p := ridesim.Params{Seed: seed, Fork: forks[(from+i)%len(forks)].fork()}
			switch seed % 4 {
			case 0, 1, 2:
				p.Course = brakingCourse(seed, 4+int(seed)%7)
			default:
				p.Course = jumpCourse(seed, 8)
			}
			out[i] = simulate(p)
		})
	}
	wg.Wait()
	return out
}

func quantile(sorted []float64, p float64) float64 {
	return sorted[min(len(sorted)-1, int(math.Ceil(p*float64(len(sorted))))-1)]
}

// bound is the least standard deviation that any unbiased estimator of the offset can have (Cramér and Rao), if the fork told the whole speed of the ride:
// a shift of the clock moves the positions along the trail by the speed, so that J = v'C⁻¹v with the mean taken out, C the covariance of the
// positions' error; measured speeds add Σa²/σ². The fork in truth tells braking only, and that not well, so that no estimator gets there.
func (s simulatedRide) bound(t *testing.T, r ridesim.Receiver) float64 {
	truth := s.passage.Truth
	at := func(v []float64, time float64) float64 { return v[min(len(v)-1, int(time*truth.RateHz))] }
	n := int(float64(len(truth.SpeedMS)) / truth.RateHz * r.RateHz)
	v, one := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
	c := mat.NewSymDense(n, nil)
	j := 0.0
	for i := range n {
		time := float64(i) / r.RateHz
		v.SetVec(i, at(truth.SpeedMS, time))
		one.SetVec(i, 1)
		for k := i; k < n && r.WanderM > 0; k++ {
			c.SetSym(i, k, r.WanderM*r.WanderM/2*math.Exp(-float64(k-i)/r.RateHz/r.WanderS))
		}
		c.SetSym(i, i, c.At(i, i)+r.NoiseM*r.NoiseM/2)
		if !r.NoSpeed {
			a := (at(truth.SpeedMS, time+0.05) - at(truth.SpeedMS, max(0, time-0.05))) / 0.1
			j += a * a / (r.SpeedNoiseMS * r.SpeedNoiseMS)
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(c) {
		t.Fatal("the covariance is singular")
	}
	var cv, c1 mat.VecDense
	if chol.SolveVecTo(&cv, v) != nil || chol.SolveVecTo(&c1, one) != nil {
		t.Fatal("the covariance is singular")
	}
	v1 := mat.Dot(v, &c1)
	return 1 / math.Sqrt(j+mat.Dot(v, &cv)-v1*v1/mat.Dot(one, &c1))
}

// A clockTally is what came out for one kind of receiver.
type clockTally struct {
	errors, ratios []float64 // s; errors over SigmaS
	sound          []float64 // errors of the sound forks
	missed         int
}

// tallyClock finds the offset of every ride with seeds receivers each.
func tallyClock(t *testing.T, rides []simulatedRide, c clockCase, first, seeds int) (n clockTally) {
	for i, ride := range rides {
		for k := range seeds {
			r := c.receiver
			r.Seed, r.TailS, r.ClockOffsetS = uint64(i*1000+k), 15, -20-7.77*float64(k)-0.37*float64(i)
			track, path := ride.receive(t, r)
			o := FindOffset(ride.trace, track, path, OffsetOptions{})
			got, ok := o.OffsetS.Get()
			if !ok {
				n.missed++
				continue
			}
			sigma, _ := o.SigmaS.Get()
			e := math.Abs(got - r.OffsetS())
			n.errors, n.ratios = append(n.errors, e), append(n.ratios, e/sigma)
			if simForks()[(first+i)%len(simForks())].name == "sound" {
				n.sound = append(n.sound, e)
			}
		}
	}
	slices.Sort(n.errors)
	slices.Sort(n.ratios)
	slices.Sort(n.sound)
	return n
}

// The offset of drawn courses between two stands on five kinds of fork. Where it is found, 95 % of errors are within two of the stated sigmas. The table of
// testdata/clock.md comes from here with STANCHION_STUDY=1.
func TestOffsetOfDrawnCourses(t *testing.T) {
	first, n, seeds := 304, 2, 1 // other seeds than those that the lag of the fork was chosen with
	if study() {
		first, n, seeds = 301, 20, 3
	} else if testing.Short() {
		t.Skip("long")
	}
	rides := clockRides(first, n)
	table := []string{"| receiver | found | median | 90 % | 95 % | within 0.1 s | of sound forks | 95 % of error / sigma | bound |", "| --- | --- | --- | --- | --- | --- | --- | --- | --- |"}
	var all []float64
	for _, c := range clockCases() {
		if !study() && strings.Contains(c.name, "white") {
			continue
		}
		got := tallyClock(t, rides, c, first, seeds)
		e := got.errors
		if len(e) == 0 {
			t.Errorf("%s: nothing found", c.name)
			continue
		}
		all = append(all, got.ratios...)
		bound := "-"
		if study() {
			var b []float64
			for _, r := range rides {
				b = append(b, r.bound(t, c.receiver))
			}
			slices.Sort(b)
			bound = fmt.Sprintf("%.3f s", quantile(b, 0.5))
		}
		table = append(table, fmt.Sprintf("| %s | %d of %d | %.2f s | %.2f s | %.2f s | %.0f %% | %.0f %% | %.1f | %s |", c.name, len(e), len(e)+got.missed,
			quantile(e, 0.5), quantile(e, 0.9), quantile(e, 0.95), 100*within(e, 0.1), 100*within(got.sound, 0.1), quantile(got.ratios, 0.95), bound))
		if p := quantile(e, 0.9); !c.receiver.NoSpeed && p > 0.2 {
			t.Errorf("%s: one in ten is over %.2f s off", c.name, p)
		}
	}
	t.Log("\n" + strings.Join(table, "\n"))
	slices.Sort(all)
	if share := within(all, 2); share < 0.95 {
		t.Errorf("%.0f %% of errors are within two sigmas", 100*share)
	}
}
