package analyze

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// scipyReference is testdata/control_reference.json, made by control_reference.py with SciPy 1.10.
type scipyReference struct {
	Decays []struct {
		True struct {
			Zeta, Hz, A, B, C float64
		}
		NoiseMM float64 `json:"noise_mm"`
		Seed    uint32
		RateHz  float64 `json:"rate_hz"`
		N       int
		Zeta    float64
		Hz      float64
		C       float64
		R2      float64
	}
	Spectrum struct {
		RateHz float64 `json:"rate_hz"`
		N      int
		Bands  []struct {
			Name                       string
			Travel, Velocity, Centroid float64
		}
		At5Hz    float64 `json:"psd_at_5_hz"`
		At1325Hz float64 `json:"psd_at_13_25_hz"`
	}
}

func readReference(t *testing.T) scipyReference {
	t.Helper()
	b, err := os.ReadFile("testdata/control_reference.json")
	if err != nil {
		t.Fatal(err)
	}
	var ref scipyReference
	if err := json.Unmarshal(b, &ref); err != nil {
		t.Fatal(err)
	}
	return ref
}

// lcg gives the noise of control_reference.py: n values in [-1, 1).
func lcg(n int, state uint32) []float64 {
	out := make([]float64, n)
	for i := range out {
		state = 1664525*state + 1013904223
		out[i] = float64(state)/(1<<31) - 1
	}
	return out
}

// freeDecay is the free motion of a damped oscillator about c at time s.
func freeDecay(s, zeta, hz, a, b, c float64) float64 {
	w := 2 * math.Pi * hz
	wd := w * math.Sqrt(1-zeta*zeta)
	return c + math.Exp(-zeta*w*s)*(a*math.Cos(wd*s)+b*math.Sin(wd*s))
}

// closeTo fails the test where got is further from want than the relative tolerance.
func closeTo(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance*math.Abs(want)) {
		t.Errorf("%s: got %.9g, want %.9g (relative tolerance %g)", what, got, want, tolerance)
	}
}

// present fails the test where the figure is absent.
func present(t *testing.T, what string, f Figure) float64 {
	t.Helper()
	v, ok := f.Get()
	if !ok {
		t.Fatalf("%s is absent: %s", what, f.Reason())
	}
	return v
}
