package signal

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// Values: R and NumPy, type 7.
func TestQuantilesType7(t *testing.T) {
	for _, c := range []struct{ x, p, want []float64 }{
		{[]float64{10, 1, 9, 2, 8, 3, 7, 4, 6, 5}, []float64{.10, .25, .50, .75, .90}, []float64{1.9, 3.25, 5.5, 7.75, 9.1}},
		{[]float64{50, 15, 40, 20, 35}, []float64{.05, .30, .40, .50, 1}, []float64{16, 23, 29, 35, 50}},
		{[]float64{4, 3, 2, 1}, []float64{.9, .4, .25}, []float64{3.7, 2.2, 1.75}},
		{[]float64{10, 7, 4, 3, 2, 1}, []float64{.5}, []float64{3.5}},
		{[]float64{7}, []float64{0, .3, 1}, []float64{7, 7, 7}},
		{[]float64{-1e17, 1}, []float64{0.9999999999999999}, []float64{-10.102230246251565}}, // numpy: near the upper end from there
	} {
		if w := worst(t, Quantiles(c.x, c.p...), c.want); w > 1e-12 {
			t.Errorf("quantiles %v of %v are off by %g", c.p, c.x, w)
		}
	}
}

// numpy.quantile, to the last bit.
func TestQuantilesAgainstNumPy(t *testing.T) {
	ref := readReference(t)
	levels := make([]float64, len(ref.Travel))
	for i, v := range ref.Travel {
		levels[i] = 4 * math.RoundToEven(v/4)
	}
	if got := Quantiles(slices.Clone(ref.Travel), ref.Quantiles.P...); !slices.Equal(got, ref.Quantiles.Travel) {
		t.Errorf("travel: got %v, want %v", got, ref.Quantiles.Travel)
	}
	if got := Quantiles(levels, ref.Quantiles.P...); !slices.Equal(got, ref.Quantiles.Levels) {
		t.Errorf("levels: got %v, want %v", got, ref.Quantiles.Levels)
	}
}

func TestQuantilesOfNothing(t *testing.T) {
	for _, x := range [][]float64{nil, {}, {1, math.NaN(), 2}} {
		for _, q := range append(Quantiles(slices.Clone(x), 0, 0.5), Median(slices.Clone(x))) {
			if !math.IsNaN(q) {
				t.Errorf("quantile of %v: got %g, want NaN", x, q)
			}
		}
	}
	if q := QuantilesSorted(nil, 0.5); len(q) != 1 || !math.IsNaN(q[0]) {
		t.Errorf("quantile of a sorted nothing: got %v, want NaN", q)
	}
	if q := Quantiles([]float64{2, 1}); len(q) != 0 {
		t.Errorf("no probability: got %v", q)
	}
	inf := math.Inf(1)
	p := []float64{0, 0.1, 0.3, 1. / 3, 0.4, 0.6, 0.9, 1}
	want := []float64{-inf, -inf, -inf, 3, inf, inf, inf, inf}
	if got := Quantiles([]float64{inf, 3, -inf, inf}, p...); !slices.Equal(got, want) {
		t.Errorf("with infinities: got %v, want %v", got, want)
	}
}

func TestQuantilesPanicOutsideRange(t *testing.T) {
	for _, p := range []float64{-0.01, 1.01, math.NaN()} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("quantile at %g did not panic", p)
				}
			}()
			Quantiles([]float64{1, 2}, p)
		}()
	}
}

// Inputs that lead a careless selection to quadratic time or to the wrong side of equal values.
func TestQuantilesEqualSort(t *testing.T) {
	const n = 50_000
	r := rand.New(rand.NewPCG(3, 4))
	shapes := map[string]func(i int) float64{
		"rising":     func(i int) float64 { return float64(i) },
		"falling":    func(i int) float64 { return float64(-i) },
		"equal":      func(int) float64 { return 3 },
		"two values": func(int) float64 { return float64(r.IntN(2)) },
		"one high":   func(i int) float64 { return float64(i / (n - 1)) },
		"pipe":       func(i int) float64 { return float64(min(i, n-i)) },
		"saw":        func(i int) float64 { return float64(i % 97) },
		"signs":      func(i int) float64 { return math.Copysign(0, float64(i%2)-0.5) },
		"steps":      func(i int) float64 { return float64(i / 5000) },
		"random":     func(int) float64 { return r.NormFloat64() },
	}
	p := []float64{0.99, 0, 0.05, 0.25, 0.5, 0.75, 0.95, 1, 0.123456, 0.5}
	for name, shape := range shapes {
		x := make([]float64, n)
		for i := range x {
			x[i] = shape(i)
		}
		sorted := slices.Sorted(slices.Values(x))
		want := QuantilesSorted(sorted, p...)
		if got := Quantiles(x, p...); !slices.Equal(got, want) {
			t.Errorf("%s: got %v, want %v", name, got, want)
		}
		slices.Sort(x)
		if !slices.Equal(x, sorted) {
			t.Errorf("%s: the values themselves have changed", name)
		}
	}
}

// Every pivot here is bad: the nine samples that give it are the least or the greatest ones, so that nearly all stays on one
// side. A selection that has lost its patience sorts that side, and is right all the same.
func TestQuantilesPatience(t *testing.T) {
	for _, sign := range []float64{1, -1} {
		for patience := -1; patience < 2; patience++ {
			r := rand.New(rand.NewPCG(5, 6))
			x := make([]float64, 4000)
			for i := range x {
				x[i] = sign * (10 + r.Float64())
			}
			for i := range 9 {
				x[i*((len(x)-1)/8)] = sign * float64(i)
			}
			want := slices.Sorted(slices.Values(x))
			ranks := []int{20, 2000, 3980}
			selectRanks(x, 0, ranks, patience)
			for _, k := range ranks {
				if x[k] != want[k] {
					t.Errorf("patience %d: rank %d is %g, want %g", patience, k, x[k], want[k])
				}
			}
			if sorted := slices.IsSorted(x[20:3980]); sorted != (patience < 1) {
				t.Errorf("patience %d, sign %g: sorted %v", patience, sign, sorted)
			}
		}
	}
}

func TestQuantilesProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 3000).Draw(t, "n")
		levels := rapid.SampledFrom([]int{2, 10, 1000, 1 << 40}).Draw(t, "levels")
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		x := make([]float64, n)
		for i := range x {
			x[i] = float64(r.IntN(levels)) / 7
		}
		p := rapid.SliceOfN(rapid.Float64Range(0, 1), 1, 8).Draw(t, "p")
		sorted := slices.Sorted(slices.Values(x))
		if got, want := Quantiles(x, p...), QuantilesSorted(sorted, p...); !slices.Equal(got, want) {
			t.Fatalf("quantiles %v: got %v, want %v", p, got, want)
		}
	})
}

func TestRMS(t *testing.T) {
	if got := RMS([]float64{3, -4}); math.Abs(got-math.Sqrt(12.5)) > 1e-15 {
		t.Errorf("got %g, want the root of 12.5", got)
	}
	if got := RMS(nil); !math.IsNaN(got) {
		t.Errorf("RMS of nothing: got %g, want NaN", got)
	}
	// Amplitude 50 mm at 2 Hz: RMS speed 444.2882938 mm/s.
	if got := RMS(cosine(1000, 1000, 2, 50*2*math.Pi*2, 0)); math.Abs(got-444.2882938) > 1e-6 {
		t.Errorf("RMS speed of a sine: got %g, want 444.2882938", got)
	}
}
