package compare

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"stanchion/sampledata/ridesim"
)

// longRuns are n analysed runs of about 300 s at 1 kHz: a simulated minute, repeated at a pace that wanders, other for each run.
func longRuns(b *testing.B, n int) []Run {
	p := trailOf(1, 12)
	p.Sensor.RateHz = 1000
	log, _, err := ridesim.Ride(p)
	if err != nil {
		b.Fatal(err)
	}
	out := make([]Run, n)
	for k := range out {
		rng := rand.New(rand.NewPCG(uint64(k), 5))
		x := make([]float64, 300_000)
		place := 0.0
		for i := range x {
			at := math.Mod(place, float64(len(log.Reading)-1))
			x[i] = log.Reading[int(at)]*(1+0.1*math.Sin(float64(i)/40e3)) + 0.02*rng.NormFloat64()
			place += 1 + 0.05*math.Sin(float64(i)/9e3+float64(k))
		}
		out[k] = analysed(b, traceOf(fmt.Sprint("run ", k), x, 1000))
	}
	return out
}

// Ten runs against ten, 5 min at 1 kHz each; the analysis of the single runs is not in it.
func BenchmarkCompare(b *testing.B) {
	runs := longRuns(b, 20)
	opt := DefaultOptions()
	opt.Align = ByRoughness
	var c *Comparison
	for b.Loop() {
		var err error
		if c, err = Compare(runs[:10], runs[10:], opt); err != nil {
			b.Fatal(err)
		}
	}
	if c.Alignment.Refused != "" {
		b.Fatal(c.Alignment.Refused)
	}
}

// One run against one: the bootstrap.
func BenchmarkComparePair(b *testing.B) {
	runs := longRuns(b, 2)
	for b.Loop() {
		if _, err := Compare(runs[:1], runs[1:], DefaultOptions()); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkWarp(b *testing.B) {
	for _, n := range []int{1200, 14400} {
		rng := rand.New(rand.NewPCG(1, 1))
		x, y := make([]float64, n), make([]float64, n)
		for i := range x {
			x[i], y[i] = rng.NormFloat64(), rng.NormFloat64()
		}
		b.Run(fmt.Sprintf("%d min", n/240), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				warp(x, y, n/10, 0.3, 0.5)
			}
		})
	}
}

func BenchmarkSweep(b *testing.B) {
	runs := longRuns(b, 10)
	var list []SweepRun
	for i, r := range runs {
		list = append(list, SweepRun{r, float64(i % 5)})
	}
	for b.Loop() {
		if _, err := Sweep(list, Adjuster{Name: "rebound", Kind: Rebound}, DefaultSweepOptions()); err != nil {
			b.Fatal(err)
		}
	}
}
