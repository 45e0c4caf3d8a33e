package signal

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// numpy.histogram, on edges that are no binary fractions, values on the edges and their neighbours included. Its last bin is
// closed, ours is not.
func TestBinnerAgainstNumPy(t *testing.T) {
	ref := readReference(t)
	bins := Binner{Width: ref.Histogram.Width, Bins: ref.Histogram.Bins}
	counts := make([]int, bins.Bins)
	over := 0
	for _, v := range append(slices.Clone(ref.Travel), ref.Histogram.Values...) {
		switch k := bins.Index(v); {
		case k == bins.Bins && v == bins.Edge(bins.Bins):
			counts[k-1]++
			over++
		case k < 0 || k >= bins.Bins:
			t.Errorf("%g falls in bin %d", v, k)
		default:
			counts[k]++
		}
	}
	if over != 1 || !slices.Equal(counts, ref.Histogram.Counts) {
		t.Errorf("%d on the last edge, want 1\ngot  %v\nwant %v", over, counts, ref.Histogram.Counts)
	}
}

func TestBinnerIndex(t *testing.T) {
	speed := Binner{First: -5000, Width: 100, Bins: 100}
	for v, want := range map[float64]int{
		-5000: 0, -5000.001: -1, -4900: 1, -0.001: 49, 0: 50, math.Copysign(0, -1): 50, 99.999: 50, 100: 51, 4999.999: 99, 5000: 100,
		math.Inf(1): 100, math.Inf(-1): -1, 1e300: 100, -1e300: -1, math.NaN(): -1,
	} {
		if got := speed.Index(v); got != want {
			t.Errorf("%g: got bin %d, want %d", v, got, want)
		}
	}
	if got := (Binner{Width: 1}).Index(0.5); got != 0 {
		t.Errorf("without bins: got %d, want 0, which is over the last edge", got)
	}
}

func TestBinnerEdges(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := Binner{
			First: rapid.Float64Range(-1e4, 1e4).Draw(t, "first"), Width: rapid.Float64Range(1e-3, 1e3).Draw(t, "width"),
			Bins: rapid.IntRange(1, 300).Draw(t, "bins"),
		}
		k := rapid.IntRange(0, b.Bins).Draw(t, "k")
		for v, want := range map[float64]int{b.Edge(k): k, math.Nextafter(b.Edge(k), math.Inf(-1)): k - 1} {
			if got := b.Index(v); got != want {
				t.Fatalf("%+v: %v at edge %d is in bin %d, want %d", b, v, k, got, want)
			}
		}
	})
}
