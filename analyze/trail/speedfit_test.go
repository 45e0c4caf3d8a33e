package trail

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"stanchion/sampledata/ridesim"
)

// madeSums is runs of known speeds whose roughness is exactly (effect of the step)·speed^k, times noise.
func madeSums(k, noise float64, paces ...float64) ([][]sums, []float64) {
	rng := rand.New(rand.NewPCG(1, 2))
	all, fs := make([][]sums, len(paces)), make([]float64, len(paces))
	for r := range all {
		all[r], fs[r] = make([]sums, 80), 500
	}
	for i := range 80 {
		effect, base := 100*(1+3*rng.Float64()), 4+4*rng.Float64()
		for r, pace := range paces {
			v := base * pace
			rms := effect * math.Pow(v, k) * math.Exp(noise*rng.NormFloat64())
			n := 500
			all[r][i] = sums{n: n, squares: rms * rms * float64(n), speed: v * float64(n), speedN: n}
		}
	}
	return all, fs
}

// On made data the fit gives the exponent back, exactly without noise and within its interval with it; at the reference speed the runs are alike.
func TestSpeedFitOnMadeData(t *testing.T) {
	all, fs := madeSums(0.7, 0, 0.8, 1, 1.25)
	f := fitSpeed(all, fs, 6)
	if k := f.K.Or(0); math.Abs(k-0.7) > 1e-9 || math.Abs(f.NormalRatio.Or(0)-1) > 1e-9 {
		t.Errorf("k is %g, runs differ by %g at one speed", k, f.NormalRatio.Or(0))
	}
	// RMS at the reference speed is effect·ref^k, whatever speed it was ridden at.
	if a, b := f.normal(&all[0][7]).Or(0), f.normal(&all[2][7]).Or(1); math.Abs(a-b) > 1e-9*a {
		t.Errorf("%g and %g at one speed", a, b)
	}
	if r := f.Runs[0].Raw.Or(0); math.Abs(r-math.Pow(0.8, 0.7)) > 1e-9 {
		t.Errorf("the slow run's factor is %g", r)
	}
	all, fs = madeSums(0.7, 0.15, 0.8, 1, 1.25)
	f = fitSpeed(all, fs, 0)
	if low, high := f.KLow.Or(9), f.KHigh.Or(-9); !(low < 0.7 && high > 0.7 && high-low < 0.5) {
		t.Errorf("interval %g to %g", low, high)
	}
}

// Where nothing can be told, the figures are absent with a reason.
func TestSpeedFitAbsent(t *testing.T) {
	for _, paces := range [][]float64{{1}, {1, 1.001, 0.999}} {
		all, fs := madeSums(0.5, 0.1, paces...)
		f := fitSpeed(all, fs, 0)
		if f.K.OK() || f.K.Reason() == "" || f.normal(&all[0][0]).OK() {
			t.Errorf("paces %v: k %v", paces, f.K)
		}
	}
	f := fitSpeed(make([][]sums, 3), make([]float64, 3), 0)
	if f.K.OK() || f.RefMS.OK() {
		t.Error("a fit without steps")
	}
}

// On simulated runs of one trail at paces of 0.85, 1 and 1.15 the exponent is positive, known to within its interval, and the runs differ by much less at
// one speed than as ridden.
func TestSimulatedSpeedFit(t *testing.T) {
	if testing.Short() {
		t.Skip("rides trails")
	}
	forks, length := simForks()[:1], 350.0
	if study() {
		forks, length = simForks(), 700
	}
	var table strings.Builder
	for _, f := range forks {
		base := ridesim.Params{Seed: 31, Fork: f.fork(), Course: harshCourse(31, 0.3, length)}
		var runs []RunOnTrail
		for i, pace := range []float64{0.85, 1, 1.15} {
			p := base.Again(uint64(i+1), ridesim.Variation{SectionShare: 0.02, LineShare: 0.1})
			for k := range p.Course.Sections {
				p.Course.Sections[k].SpeedMS *= pace
			}
			run, truth := rode(t, p, 500, 0.02)
			run.Placed = place(&truth, uint64(i), 3)
			runs = append(runs, run)
		}
		read, err := Read(runs, nil, DefaultReadingOptions())
		if err != nil {
			t.Fatal(err)
		}
		s := &read.Speed
		slow, fast := &s.Runs[0], &s.Runs[2]
		raw, normal := fast.Raw.Or(0)/slow.Raw.Or(1), fast.Normal.Or(0)/slow.Normal.Or(1)
		fmt.Fprintf(&table, "| %s | %.2f | %.2f to %.2f | %d | %.3f | %.3f |\n", f.name, s.K.Or(0), s.KLow.Or(0), s.KHigh.Or(0), s.K.N(), raw, normal)
		if !s.K.OK() || !(math.Abs(math.Log(normal)) < 0.4*math.Abs(math.Log(raw))) {
			t.Errorf("%s: fast over slow is %.3f as ridden, %.3f at one speed (%s)", f.name, raw, normal, s.K.Reason())
		}
	}
	t.Logf("\n%s", table.String())
}
