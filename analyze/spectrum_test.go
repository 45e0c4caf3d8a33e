package analyze

import (
	"math"
	"testing"
)

// rawRide is a ride of segments of unfiltered travel only.
func rawRide(fs float64, segments ...[]float64) *ride {
	r := &ride{opt: DefaultOptions(), fs: fs, T: 160}
	for _, x := range segments {
		r.segs = append(r.segs, segment{raw: x})
	}
	return r
}

// A sine of amplitude A at f Hz on a bin has power A²/2 in its band, velocity power (2πf)²·A²/2 and nothing elsewhere.
// Closed form. A periodic Hann window spreads it over three bins with shares 1/6, 2/3, 1/6 at f and f ± step, so the travel power is
// exact, the velocity power is (2π)²A²/2·(f² + step²/3) and the centroid of f²-weighted bins is
// f·(f² + step²)/(f² + step²/3).
func TestSpectrumOfASine(t *testing.T) {
	const fs, amplitude, step = 500.0, 7.0, 0.25
	for _, c := range []struct {
		hz   float64
		band int
	}{{2, 0}, {12, 1}, {30, 2}} {
		sp := rawRide(fs, sine(fs, 20, 50, amplitude, c.hz)).spectrum()
		closeTo(t, "windows", present(t, "windows", sp.Windows), 9, 0)
		for i, b := range sp.Bands {
			travel, velocity := present(t, "travel power", b.TravelMM2), present(t, "velocity power", b.VelocityMM2)
			if i != c.band {
				if travel > 1e-9 || velocity > 1e-6 {
					t.Errorf("%g Hz leaks into %s: %g mm², %g mm²/s²", c.hz, b.Name, travel, velocity)
				}
				continue
			}
			f2, s2 := c.hz*c.hz, step*step
			closeTo(t, "travel power", travel, amplitude*amplitude/2, 1e-9)
			closeTo(t, "velocity power", velocity, 4*math.Pi*math.Pi*amplitude*amplitude/2*(f2+s2/3), 1e-9)
			closeTo(t, "centroid", present(t, "centroid", b.CentroidHz), c.hz*(f2+s2)/(f2+s2/3), 1e-9)
			closeTo(t, "peak", present(t, "peak", b.PeakHz), c.hz, 1e-12)
			if len(b.CentroidHz.Caveats()) == 0 {
				t.Error("the centroid has no caveat about textbook bands")
			}
			if len(b.PeakHz.Caveats()) != 2 {
				t.Errorf("caveats of a peak from 9 windows: %q, want the bands and the few windows", b.PeakHz.Caveats())
			}
		}
		for k := range sp.TravelPSD {
			w := 2 * math.Pi * float64(k) * sp.StepHz
			if got, want := sp.VelocityPSD[k], w*w*sp.TravelPSD[k]; math.Abs(got-want) > 1e-12*want {
				t.Fatalf("velocity PSD of bin %d is %g, want %g", k, got, want)
			}
		}
	}
}

// SciPy's welch on a sum of sines and noise, relative tolerance 1e-9.
func TestSpectrumAgainstSciPy(t *testing.T) {
	ref := readReference(t).Spectrum
	x := lcg(ref.N, 7)
	for i := range x {
		s := float64(i) / ref.RateHz
		x[i] = 40 + 12*math.Sin(2*math.Pi*1.7*s) + 1.5*math.Sin(2*math.Pi*13.3*s+1) + 0.3*math.Sin(2*math.Pi*31.1*s+2) + 0.2*x[i]
	}
	sp := rawRide(ref.RateHz, x).spectrum()
	closeTo(t, "PSD at 5 Hz", sp.TravelPSD[20], ref.At5Hz, 1e-9)
	closeTo(t, "PSD at 13.25 Hz", sp.TravelPSD[53], ref.At1325Hz, 1e-9)
	for i, want := range ref.Bands {
		got := sp.Bands[i]
		if got.Name != want.Name {
			t.Fatalf("band %d is %s, want %s", i, got.Name, want.Name)
		}
		closeTo(t, want.Name+" travel", present(t, "travel", got.TravelMM2), want.Travel, 1e-9)
		closeTo(t, want.Name+" velocity", present(t, "velocity", got.VelocityMM2), want.Velocity, 1e-9)
		closeTo(t, want.Name+" centroid", present(t, "centroid", got.CentroidHz), want.Centroid, 1e-9)
	}
}

// Segments are averaged by their number of windows: 4 s give one, 12 s give five, 3.9 s none.
func TestSpectrumSegments(t *testing.T) {
	const fs = 200.0
	loud, quiet := sine(fs, 4, 0, 4, 10), sine(fs, 12, 0, 1, 10)
	sp := rawRide(fs, loud, quiet, sine(fs, 3.9, 0, 100, 10)).spectrum()
	closeTo(t, "windows", present(t, "windows", sp.Windows), 6, 0)
	closeTo(t, "power", present(t, "power", sp.Bands[1].TravelMM2), (16.0/2+5*1.0/2)/6, 1e-9)
	short := rawRide(fs, make([]float64, 799)).spectrum()
	if short.Windows.OK() || short.Windows.Reason() == "" || len(short.Bands) != 3 || short.Bands[0].TravelMM2.OK() {
		t.Errorf("under 4 s: %+v, want absent figures with a reason", short)
	}
}

// A band needs its upper edge at or under half the rate; a rate under 100 Hz leaves the velocity figures out.
func TestSpectrumLowRates(t *testing.T) {
	sp := rawRide(99, sine(99, 20, 0, 5, 12)).spectrum()
	if sp.Bands[2].TravelMM2.OK() || !sp.Bands[1].TravelMM2.OK() {
		t.Errorf("99 Hz: chatter %+v, wheel %+v; want only chatter absent", sp.Bands[2].TravelMM2, sp.Bands[1].TravelMM2)
	}
	r := rawRide(90, sine(90, 20, 0, 5, 12))
	r.noVelocity = "too slow"
	sp = r.spectrum()
	wheel := sp.Bands[1]
	if !wheel.TravelMM2.OK() || wheel.VelocityMM2.OK() || wheel.CentroidHz.OK() || wheel.PeakHz.OK() || len(sp.VelocityPSD) != 0 {
		t.Errorf("without velocity: %+v, want travel power only", wheel)
	}
	if wheel.CentroidHz.Reason() != "too slow" {
		t.Errorf("reason %q", wheel.CentroidHz.Reason())
	}
}

// White acceleration has no peak in any band: the travel PSD falls with f⁻⁴, its highest bin is at the lower edge of each band and
// is not named. A flat trace has no power and no centroid.
func TestSpectrumNoPeak(t *testing.T) {
	const fs = 200.0
	a := lcg(60*200, 3)
	x := make([]float64, len(a))
	v, p := 0.0, 0.0
	for i := range a {
		v = 0.97*v + a[i]
		p = 0.97*p + v
		x[i] = p
	}
	sp := rawRide(fs, x).spectrum()
	for _, b := range sp.Bands {
		if b.PeakHz.OK() {
			t.Errorf("%s: a peak at %v Hz was named on a falling spectrum", b.Name, b.PeakHz.Or(0))
		}
	}
	flat := rawRide(fs, constant(4000, 40)).spectrum().Bands[0]
	if flat.CentroidHz.OK() || flat.PeakHz.OK() || flat.TravelMM2.Or(1) != 0 {
		t.Errorf("flat trace: %+v", flat)
	}
}

// The rule of 3 times the median is inclusive, and a peak must stand over both its sides, bins outside the band included.
func TestStandsOut(t *testing.T) {
	r := &ride{opt: DefaultOptions()}
	for _, c := range []struct {
		name    string
		density []float64
		lo, hi  int
		k       int
		ok      bool
	}{
		{"a peak", []float64{1, 1, 1, 3, 1, 1, 1}, 0, 7, 3, true},
		{"just under", []float64{1, 1, 1, 2.99, 1, 1, 1}, 0, 7, 3, false},
		{"a broad peak", []float64{1, 1, 4, 5, 4, 1, 1, 1, 1}, 0, 9, 3, true},
		{"flank of what lies below", []float64{9, 9, 9, 8, 1, 1, 1, 1}, 3, 8, 3, false},
		{"flank of what lies above", []float64{1, 1, 1, 8, 9, 9, 9}, 0, 4, 3, false},
		{"chance on a falling spectrum", []float64{16, 13, 11, 8, 9, 5, 4, 3, 2, 1, 1, 1, 1}, 4, 13, 4, false},
		{"first bin of all", []float64{8, 1, 1, 1, 1}, 0, 5, 0, true},
		{"flat", []float64{2, 2, 2, 2, 2}, 0, 5, 0, false},
		{"no power", make([]float64, 5), 0, 5, 0, false},
		{"empty", []float64{8, 1}, 1, 1, 0, false},
	} {
		if k, ok := r.standsOut(c.density, c.lo, c.hi, 2.0/3); ok != c.ok || ok && k != c.k {
			t.Errorf("%s: bin %d, %v; want %d, %v", c.name, k, ok, c.k, c.ok)
		}
	}
}
