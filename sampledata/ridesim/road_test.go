package ridesim

import (
	"math"
	"testing"
)

func rms(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x * x
	}
	return math.Sqrt(sum / float64(len(v)))
}

// RMS height of the synthesis with L = 250 m, n = i/L, i = 1…1000 (2·dx·n_max < 1): it is math.Sqrt(ΣA²/2) for any phases.
// The values were computed independently from ISO 8608's class means; relative tolerance 1e-7 (printed digits).
func TestProfileRMSOfEachClass(t *testing.T) {
	want := map[RoadClass]float64{
		'A': 8.109093, 'B': 16.218185, 'C': 32.436370, 'D': 64.872741,
		'E': 129.745481, 'F': 259.490963, 'G': 518.981926, 'H': 1037.963852,
	}
	for class, mm := range want {
		gd, err := ClassMean(class)
		if err != nil {
			t.Fatal(err)
		}
		for seed := range uint64(2) {
			got := 1000 * rms(Profile(gd, 0.05, 5000, 4, seed))
			if math.Abs(got-mm) > 1e-7*mm {
				t.Errorf("class %c seed %d: RMS %.6f mm, want %.6f", class, seed, got, mm)
			}
		}
	}
	if _, err := ClassMean('I'); err == nil {
		t.Error("class I was accepted")
	}
}

// The one-sided periodogram 2|Z|²·L/N² gives Gd back at every line: for class A 1.6e-5 m³ at 0.1 cycles/m and 1.6e-7 at 1.
// The RMS slope is 2π·math.Sqrt(Gd·n0²·n_max) = 0.00502655 (rectangle sum over 1000 equal lines; relative 1e-6).
func TestProfileSpectrum(t *testing.T) {
	const n, dx = 5000, 0.05
	h := Profile(16e-6, dx, n, 4, 3)
	for k, want := range map[int]float64{25: 1.6e-5, 250: 1.6e-7, 1: 1e-1 * 1e-1 * 16e-6 * 250 * 250, 1000: 1e-8} {
		re, im := 0.0, 0.0
		for i, v := range h {
			s, c := math.Sincos(2 * math.Pi * float64(i*k%n) / n)
			re, im = re+v*c, im+v*s
		}
		got := 2 * (re*re + im*im) * (n * dx) / (n * n)
		if math.Abs(got-want) > 1e-8*want {
			t.Errorf("line %d: density %.12g m³, want %.12g", k, got, want)
		}
	}
	sum := 0.0
	for i := 1; i <= 1000; i++ {
		wavenumber := float64(i) / 250
		amp := 0.1 / wavenumber * math.Sqrt(2*16e-6/250)
		sum += amp * amp / 2 * math.Pow(2*math.Pi*wavenumber, 2)
	}
	if got := math.Sqrt(sum); math.Abs(got-0.00502655) > 1e-8 {
		t.Errorf("RMS slope %.8f, want 0.00502655", got)
	}
}

// A sine through the envelope keeps the closed-form gain of a raised-cosine window; half at a wavelength of its width.
func TestEnvelopeGain(t *testing.T) {
	const dx, width = 0.001, 0.16
	for _, wavelength := range []float64{0.16, 0.32, 0.8} {
		h := make([]float64, 4000)
		for i := range h {
			h[i] = math.Sin(2 * math.Pi * float64(i) * dx / wavelength)
		}
		out := envelope(h, dx, width)[1000:3000]
		u := width / wavelength
		want := 0.5
		if u != 1 {
			want = math.Sin(math.Pi*u) / (math.Pi * u) / (1 - u*u)
		}
		peak := 0.0
		for _, v := range out {
			peak = max(peak, math.Abs(v))
		}
		if math.Abs(peak-want) > 1e-3 {
			t.Errorf("wavelength %g m: gain %.5f, want %.5f", wavelength, peak, want)
		}
	}
}

// The grid reads a parabola back exactly between its nodes, height and slope, and is level beyond its ends.
func TestGridRoadIsExactForParabolas(t *testing.T) {
	r := gridRoad{dx: 0.5, h: make([]float64, 20)}
	for i := range r.h {
		s := float64(i) * r.dx
		r.h[i] = 1 - 2*s + 3*s*s
	}
	for s := 0.6; s < 8.9; s += 0.137 {
		h, slope := r.at(s)
		if math.Abs(h-(1-2*s+3*s*s)) > 1e-10 || math.Abs(slope-(6*s-2)) > 1e-10 {
			t.Errorf("at %g: %g, slope %g", s, h, slope)
		}
	}
	if h, slope := r.at(100); h != r.h[19] || slope != 0 {
		t.Errorf("beyond the end: %g, slope %g", h, slope)
	}
}
