package signal

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// reference holds values by SciPy 1.10 and NumPy 1.24; testdata/reference.py says how each came about.
type reference struct {
	Travel  []float64
	Walk    []float64
	LowPass []struct {
		RateHz   float64 `json:"rate_hz"`
		CutoffHz float64 `json:"cutoff_hz"`
		Order    int
		X, V     []float64
	} `json:"low_pass"`
	Welch []struct {
		N, Windows int
		Density    []float64
		Cut        []int
	}
	Quantiles struct{ P, Travel, Levels []float64 }
	Histogram struct {
		Width  float64
		Bins   int
		Values []float64
		Counts []int
	}
	Turning []struct {
		Gate    float64
		Indices []int
		Walk    bool
	}
}

func readReference(t *testing.T) reference {
	t.Helper()
	data, err := os.ReadFile("testdata/reference.json")
	if err != nil {
		t.Fatal(err)
	}
	var r reference
	if err := json.Unmarshal(data, &r); err != nil {
		t.Fatal(err)
	}
	if len(r.Travel) == 0 || len(r.LowPass) == 0 || len(r.Welch) == 0 || len(r.Turning) == 0 {
		t.Fatal("testdata/reference.json lacks values")
	}
	return r
}

// worst is the largest distance of a from b.
func worst(t *testing.T, a, b []float64) float64 {
	t.Helper()
	if len(a) != len(b) {
		t.Fatalf("%d values against %d", len(a), len(b))
	}
	w := 0.0
	for i := range a {
		d := math.Abs(a[i] - b[i])
		if d != d {
			t.Fatalf("value %d: got %g, want %g", i, a[i], b[i])
		}
		w = max(w, d)
	}
	return w
}
