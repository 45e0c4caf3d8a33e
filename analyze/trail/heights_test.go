package trail

import (
	"math"
	"testing"
)

// A run that reads 12 m too high and is missing for a stretch makes no step in the mean of the runs.
func TestMeanHeightsAreLevelled(t *testing.T) {
	n := 200
	h := [][]float64{make([]float64, n), make([]float64, n)}
	for j := range n {
		ground := 500 - 0.1*float64(j)
		h[0][j], h[1][j] = ground, ground+12
		if j >= 80 && j < 120 {
			h[1][j] = math.NaN()
		}
	}
	h[0][199], h[1][199] = math.NaN(), math.NaN()
	mean, ok := meanHeights(h)
	if !ok {
		t.Fatal("no heights")
	}
	for j := range n - 1 {
		if want := 500 - 0.1*float64(j) + 6; math.Abs(mean[j]-want) > 1e-9 {
			t.Fatalf("at %d: %g, want %g", j, mean[j], want)
		}
	}
	if !math.IsNaN(mean[199]) {
		t.Error("a height where none is known")
	}
	if _, ok := meanHeights([][]float64{{math.NaN()}, {math.NaN()}}); ok {
		t.Error("heights where none is known at all")
	}
}
