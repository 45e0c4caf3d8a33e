package analyze

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The fit finds the curve that made clean samples, from starts far off. Closed form, relative tolerance 1e-6.
func TestFitDampedSineExact(t *testing.T) {
	for _, zeta := range []float64{0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 0.7} {
		for _, hz := range []float64{1.5, 3, 6, 12} {
			const n, dt = 400, 0.002
			x := make([]float64, n)
			for i := range x {
				x[i] = freeDecay(float64(i)*dt, zeta, hz, 20, -6, 35)
			}
			wd := 2 * math.Pi * hz * math.Sqrt(1-zeta*zeta)
			for _, off := range []float64{0.75, 1, 1.3} {
				name := fmt.Sprintf("ζ %g, %g Hz, start × %g", zeta, hz, off)
				fit, r2, ok := fitDampedSine(x, dt, 2*math.Pi*hz*zeta*off, wd*off)
				if !ok {
					t.Fatalf("%s: no fit", name)
				}
				closeTo(t, name+": ζ", fit.zeta(), zeta, 1e-6)
				closeTo(t, name+": Hz", fit.naturalHz(), hz, 1e-6)
				closeTo(t, name+": offset", fit.c, 35, 1e-6)
				closeTo(t, name+": R²", r2, 1, 1e-9)
			}
		}
	}
}

// SciPy's curve_fit on noisy decays: the same least-squares minimum, relative tolerance 1e-6.
func TestFitDampedSineAgainstSciPy(t *testing.T) {
	for i, d := range readReference(t).Decays {
		x := lcg(d.N, d.Seed)
		for k := range x {
			x[k] = freeDecay(float64(k)/d.RateHz, d.True.Zeta, d.True.Hz, d.True.A, d.True.B, d.True.C) + d.NoiseMM*x[k]
		}
		w := 2 * math.Pi * d.True.Hz
		fit, r2, ok := fitDampedSine(x, 1/d.RateHz, d.True.Zeta*w, w)
		if !ok {
			t.Fatalf("decay %d: no fit", i)
		}
		closeTo(t, fmt.Sprintf("decay %d: ζ", i), fit.zeta(), d.Zeta, 1e-6)
		closeTo(t, fmt.Sprintf("decay %d: Hz", i), fit.naturalHz(), d.Hz, 1e-6)
		closeTo(t, fmt.Sprintf("decay %d: offset", i), fit.c, d.C, 1e-6)
		closeTo(t, fmt.Sprintf("decay %d: R²", i), r2, d.R2, 1e-9)
	}
}

// Logarithmic decrement δ = 2πζ/√(1−ζ²): x(n+1)/x(n) of a free decay (Rao, Mechanical Vibrations; from memory, values
// recomputed with NumPy). Relative tolerance 1e-8.
func TestDampedSineDecrement(t *testing.T) {
	for _, c := range []struct{ zeta, ratio float64 }{
		{0.02, 0.881889207}, {0.05, 0.730115380}, {0.10, 0.531802083}, {0.20, 0.277329256}, {0.30, 0.138626728}, {0.50, 0.026579933},
	} {
		wn := 2 * math.Pi * 2
		d := dampedSine{sigma: c.zeta * wn, omega: wn * math.Sqrt(1-c.zeta*c.zeta)}
		closeTo(t, "ζ", d.zeta(), c.zeta, 1e-12)
		closeTo(t, "natural frequency", d.naturalHz(), 2, 1e-12)
		closeTo(t, "decrement", math.Exp(-d.sigma*2*math.Pi/d.omega), c.ratio, 2e-8)
	}
}

// Whatever the samples, the fit ends with finite numbers and an R² of at most 1, or says that there is none.
func TestFitDampedSineTotal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfN(rapid.Float64Range(-1e3, 1e3), 0, 60).Draw(t, "x")
		sigma, omega := rapid.Float64Range(0, 1e3).Draw(t, "sigma"), rapid.Float64Range(0, 1e3).Draw(t, "omega")
		fit, r2, ok := fitDampedSine(x, 0.01, sigma, omega)
		if !ok {
			return
		}
		for _, v := range []float64{fit.sigma, fit.omega, fit.a, fit.b, fit.c, r2, fit.zeta(), fit.naturalHz()} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("not finite: %+v, R² %g", fit, r2)
			}
		}
		if r2 > 1 || fit.sigma < 0 {
			t.Fatalf("R² %g, σ %g", r2, fit.sigma)
		}
	})
}
