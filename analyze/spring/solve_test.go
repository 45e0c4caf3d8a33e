package spring

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// ISO 2533 table values, computed from its constants (the tables themselves print them rounded); tolerance 0.05 Pa.
func TestAtmosphere(t *testing.T) {
	for _, c := range []struct{ h, geopotential, geometric float64 }{
		{0, 101325, 101325}, {1000, 89874.56, 89876.28}, {2000, 79495.20, 79501.41}, {3000, 70108.53, 70121.14}, {5000, 54019.89, 54048.26},
	} {
		p, err := Atmosphere(c.h)
		q, err2 := Place{15, c.h}.AtmospherePa()
		if err != nil || err2 != nil || math.Abs(p-c.geopotential) > 0.05 || math.Abs(q-c.geometric) > 0.05 {
			t.Errorf("%g m: %.3f and %.3f Pa, want %.2f and %.2f (%v, %v)", c.h, p, q, c.geopotential, c.geometric, err, err2)
		}
	}
	for _, h := range []float64{-2001, 11001, math.NaN(), math.Inf(1)} {
		if p, err := Atmosphere(h); err == nil {
			t.Errorf("%g m gave %g Pa", h, p)
		}
	}
}

// Gay-Lussac and altitude, 5 bar gauge set at 20 °C at sea level: what the gauge reads elsewhere.
func TestMovedGauge(t *testing.T) {
	set := Place{20, 0}
	a := single(1)
	for c, want := range map[float64]float64{-10: 438462.39, 0: 458974.93, 10: 479487.46, 30: 520512.54, 40: 541025.07} {
		m, err := a.Moved(set, Place{c, 0})
		if err != nil || math.Abs(float64(m.Positive)-want) > 0.006 {
			t.Errorf("%g °C: %.3f Pa, want %.2f (%v)", c, float64(m.Positive), want, err)
		}
	}
	for h, want := range map[float64]float64{1000: 511450.44, 2000: 521829.80, 3000: 531216.47} { // geopotential
		pa, err := Atmosphere(h)
		if err != nil {
			t.Fatal(err)
		}
		m, err := a.Moved(set, Place{20, earthRadiusM * h / (earthRadiusM - h)})
		if err != nil || math.Abs(float64(m.Positive)-want) > 0.006 || math.Abs(m.AtmospherePa-pa) > 1e-6 {
			t.Errorf("%g m: %.3f Pa, want %.2f (%v)", h, float64(m.Positive), want, err)
		}
	}
	// There and back is where it began.
	there, err := a.Moved(set, Place{-2, 2000})
	if err != nil {
		t.Fatal(err)
	}
	back, err := there.Moved(Place{-2, 2000}, set)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "there and back", float64(back.Positive), float64(a.Positive), 1e-12)
	if _, err := a.Moved(set, Place{-300, 0}); err == nil {
		t.Error("−300 °C was taken")
	}
}

// Sag of a load, load of a sag, pressure of both: each gives back the other.
func TestSolversInvert(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := anAir(t)
		sag := a.TravelM * rapid.Float64Range(0.1, 0.6).Draw(t, "sag")
		load, err := a.FitLoad(sag)
		if err != nil {
			return // a separate negative chamber may pull harder than the positive one pushes
		}
		x, err := SagM(a.Slow(), a.TravelM, load)
		if err != nil || math.Abs(x-sag) > 1e-9 {
			t.Fatalf("sag %g came back as %g (%v)", sag, x, err)
		}
		p, err := a.PressureForSag(load, sag, a.Negative, a.AtmospherePa)
		if err != nil {
			if strings.Contains(err.Error(), "no pressure") && a.TransferM > 0 {
				return // above the port the negative chamber can gain more than the positive one
			}
			t.Fatal(err)
		}
		if math.Abs(float64(p-a.Positive)) > 1e-6*float64(a.Positive) {
			t.Fatalf("pressure %v came back as %v", a.Positive, p)
		}
		e := a.EnergyJ(0.97 * a.TravelM)
		p, err = a.PressureForEnergy(e, 0.97*a.TravelM, a.Negative, a.AtmospherePa)
		if err != nil || math.Abs(float64(p-a.Positive)) > 1e-6*float64(a.Positive) {
			t.Fatalf("pressure %v came back from its energy as %v (%v)", a.Positive, p, err)
		}
	})
}

func TestSagEnds(t *testing.T) {
	a := single(1)
	if x, err := SagM(a, a.TravelM, 499); x != 0 || err != nil {
		t.Errorf("under less than its force at full extension: %g mm, %v", 1000*x, err)
	}
	for _, load := range []float64{1e5, -1, math.NaN(), math.Inf(1)} {
		if x, err := SagM(a, a.TravelM, load); err == nil {
			t.Errorf("%g N: %g mm and no error", load, 1000*x)
		}
	}
	b, err := SagOf(a, a.TravelM, 700, 20)
	if err != nil || !(b.LowM < b.MidM && b.MidM < b.HighM) {
		t.Fatalf("band %+v, %v", b, err)
	}
	near(t, "low end", a.ForceN(b.LowM), 680, 1e-9)
	near(t, "high end", a.ForceN(b.HighM), 720, 1e-9)
}

func TestLimit(t *testing.T) {
	c := Typical(0.16)
	if err := c.Allow(PSI(500), "this"); err != nil {
		t.Error("without a limit nothing can be refused:", err)
	}
	c.MaxPressure = PSI(120)
	if err := c.Allow(PSI(120), "this"); err != nil {
		t.Error(err)
	}
	err := c.Allow(PSI(120.01), "a sag of 20 %")
	var limit *LimitError
	if !errors.As(err, &limit) || !strings.Contains(err.Error(), "120.0 psi") || strings.Contains(err.Error(), "120.01") {
		t.Errorf("got %v", err)
	}
}

// Pairs made with one negative chamber are found again when the search starts from another; sag between them is predicted.
func TestFitChambers(t *testing.T) {
	truth := Typical(0.16)
	truth.NegativeVolumeM3 *= 1.7
	const load = 320
	var pairs []Measured
	for _, psi := range []float64{60, 75, 95} {
		a, _ := truth.Fill(PSI(psi), 0, SeaLevelPa)
		x, err := SagM(a.Slow(), truth.TravelM, load)
		if err != nil {
			t.Fatal(err)
		}
		pairs = append(pairs, Measured{PSI(psi), x})
	}
	for _, use := range [][]Measured{pairs, pairs[:2], {pairs[2], pairs[0]}} {
		fit, err := FitChambers(Typical(0.16), use, 0, SeaLevelPa)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "negative volume", fit.Chambers.NegativeVolumeM3, truth.NegativeVolumeM3, 1e-5)
		near(t, "load", fit.LoadN, load, 1e-6)
		if fit.RMSM > 1e-8 {
			t.Errorf("residual %g mm", 1000*fit.RMSM)
		}
	}
	for name, bad := range map[string][]Measured{
		"one":             pairs[:1],
		"same pressure":   {pairs[0], pairs[0]},
		"rising":          {{PSI(60), 0.03}, {PSI(90), 0.05}},
		"outside":         {{PSI(60), 0.2}, {PSI(90), 0.05}},
		"hardly falling":  {{PSI(60), 0.04}, {PSI(120), 0.0399}},
		"not a number":    {{PSI(60), math.NaN()}, {PSI(90), 0.05}},
		"falling too far": {{PSI(80), 0.15}, {PSI(90), 0.001}},
	} {
		if fit, err := FitChambers(Typical(0.16), bad, 0, SeaLevelPa); err == nil {
			t.Errorf("%s: no error, residual %g mm", name, 1000*fit.RMSM)
		}
	}
}

func TestEndStroke(t *testing.T) {
	a := single(1.3)
	e, err := EndStrokeOf(a, 318, 64.5, []Bottoming{{0.1455, 0.4}, {0.1455, 1.0}, {0.1455, 0}, {0.1455, 2.0}})
	if err != nil {
		t.Fatal(err)
	}
	mass := 318 * math.Sin(64.5*math.Pi/180) / 9.80665
	near(t, "mass", e.MassKg, mass, 1e-12)
	near(t, "all", e.NeedJ(0), a.EnergyJ(0.1455)+mass*2, 1e-12)
	near(t, "all but two", e.NeedJ(2), a.EnergyJ(0.1455)+mass*0.08, 1e-12)
	near(t, "as it was", e.NeedJ(3), a.EnergyJ(0.1455), 1e-12)
	for keep := range 4 {
		if got := e.Left(e.NeedJ(keep)); got != keep {
			t.Errorf("of 3 bottom-outs %d are left, want %d", got, keep)
		}
	}
	if _, err := EndStrokeOf(a, 318, 64.5, []Bottoming{{0.15, 0}}); err == nil {
		t.Error("no speed and no error")
	}
}
