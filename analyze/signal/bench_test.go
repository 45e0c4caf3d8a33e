package signal

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// rideLike is n samples of 1 kHz travel in mm: a slow drift, a body and a wheel mode, bumps and sensor noise.
func rideLike(n int) []float64 {
	r := rand.New(rand.NewPCG(1, 2))
	x := make([]float64, n)
	low, bump := 0.0, 0.0
	for i := range x {
		t := float64(i) / 1000
		low += 0.01 * (r.NormFloat64() - low)
		bump *= 0.98
		if r.IntN(400) == 0 {
			bump += 60 * r.Float64()
		}
		x[i] = 40 + 8*math.Sin(2*math.Pi*0.1*t) + 6*math.Sin(2*math.Pi*2*t) + 3*math.Sin(2*math.Pi*13*t) + 40*low + bump +
			0.05*r.NormFloat64()
	}
	return x
}

// benchSizes are 5 and 60 minutes of 1 kHz.
func benchSizes(b *testing.B, run func(b *testing.B, x []float64)) {
	for _, minutes := range []int{5, 60} {
		x := rideLike(minutes * 60_000)
		b.Run(fmt.Sprintf("%dmin", minutes), func(b *testing.B) {
			b.SetBytes(int64(8 * len(x)))
			b.ReportAllocs()
			run(b, x)
		})
	}
}

func BenchmarkLowPass(b *testing.B) {
	for _, cutoff := range []float64{100, 0.7} {
		b.Run(fmt.Sprintf("%gHz", cutoff), func(b *testing.B) {
			benchSizes(b, func(b *testing.B, src []float64) {
				x, v := make([]float64, len(src)), make([]float64, len(src))
				f := LowPass{RateHz: 1000, CutoffHz: cutoff, Order: 4}
				for b.Loop() {
					f.Apply(x, v, src)
				}
			})
		})
	}
}

func BenchmarkLowPassWithoutVelocity(b *testing.B) {
	benchSizes(b, func(b *testing.B, src []float64) {
		x := make([]float64, len(src))
		f := LowPass{RateHz: 1000, CutoffHz: 0.7, Order: 4}
		for b.Loop() {
			f.Apply(x, nil, src)
		}
	})
}

func BenchmarkWelch(b *testing.B) {
	benchSizes(b, func(b *testing.B, x []float64) {
		for b.Loop() {
			Welch([][]float64{x}, 1000, 4000)
		}
	})
}

func BenchmarkTurningPoints(b *testing.B) {
	benchSizes(b, func(b *testing.B, x []float64) {
		for b.Loop() {
			TurningPoints(x, 3)
		}
	})
}

func BenchmarkRainflow(b *testing.B) {
	benchSizes(b, func(b *testing.B, x []float64) {
		turns := TurningPoints(x, 3)
		points := make([]float64, len(turns))
		for i, t := range turns {
			points[i] = t.Value
		}
		b.ReportMetric(float64(len(points)), "points")
		for b.Loop() {
			Rainflow(points)
		}
	})
}

func BenchmarkQuantiles(b *testing.B) {
	benchSizes(b, func(b *testing.B, x []float64) {
		work := make([]float64, len(x))
		for b.Loop() {
			copy(work, x)
			Quantiles(work, 0.05, 0.25, 0.5, 0.75, 0.95, 0.99)
		}
	})
}

// BenchmarkQuantilesBySort is what Quantiles has to beat.
func BenchmarkQuantilesBySort(b *testing.B) {
	benchSizes(b, func(b *testing.B, x []float64) {
		work := make([]float64, len(x))
		for b.Loop() {
			copy(work, x)
			slices.Sort(work)
			QuantilesSorted(work, 0.05, 0.25, 0.5, 0.75, 0.95, 0.99)
		}
	})
}

func BenchmarkBinnerIndex(b *testing.B) {
	benchSizes(b, func(b *testing.B, x []float64) {
		bins := Binner{First: 0, Width: 8.15, Bins: 20}
		sum := 0
		for b.Loop() {
			for _, v := range x {
				sum += bins.Index(v)
			}
		}
		if sum == 0 {
			b.Fatal("all values in the first bin")
		}
	})
}

func BenchmarkRMS(b *testing.B) {
	benchSizes(b, func(b *testing.B, x []float64) {
		for b.Loop() {
			RMS(x)
		}
	})
}
