package spring

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"pgregory.net/rapid"
)

// near fails where got is not want within a relative tolerance, absolute where want is 0.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if scale := max(math.Abs(want), 1e-300); !(math.Abs(got-want) <= tol*scale) && !(want == 0 && math.Abs(got) <= tol) {
		t.Errorf("%s: got %.12g, want %.12g (%.2g off)", what, got, want, (got-want)/scale)
	}
}

// single is one chamber of 200 cm³ under 10 cm², 5 bar gauge.
func single(n float64) Air {
	a, err := Chambers{TravelM: 0.15, PositiveAreaM2: 1e-3, PositiveVolumeM3: 2e-4, Feed: NoNegative, Exponent: n, StaticExponent: 1}.Fill(Bar(5), 0, SeaLevelPa)
	if err != nil {
		panic(err)
	}
	return a
}

// Closed forms F=(p0(V0/(V0−Ax))ⁿ−pa)·A, k=n·p·A²/V, W=p0V0((V0/V)ⁿ⁻¹−1)/(n−1)−pa·A·x, worked out to all digits shown.
func TestSingleChamber(t *testing.T) {
	for _, c := range []struct{ n, x, force, rate, work float64 }{
		{1.0, 0, 500, 3006.625, 0}, {1.3, 0, 500, 3908.6125, 0}, {1.4, 0, 500, 4209.275, 0},
		{1.0, 0.05, 700.441666666667, 5345.111111111111, 29.531834}, {1.0, 0.10, 1101.325, 12026.5, 73.228846}, {1.0, 0.15, 2303.975, 48106, 151.523941},
		{1.3, 0.05, 772.711597, 7574.983842, 31.068715}, {1.3, 0.10, 1379.310829, 19248.265773, 82.529443}, {1.3, 0.15, 3544.428057, 94789.579493, 191.543426},
		{1.4, 0.05, 798.221237, 8395.764880, 31.601089}, {1.4, 0.10, 1485.581189, 22216.686644, 85.931547}, {1.4, 0.15, 4086.545540, 117260.375114, 207.622567},
	} {
		a := single(c.n)
		const printed = 5e-7 // half of the last digit printed, which is all that some values have
		if got := a.ForceN(c.x); math.Abs(got-c.force) > printed+1e-9*c.force {
			t.Errorf("n %g, x %g: force %.9f, want %.9f", c.n, c.x, got, c.force)
		}
		if got := a.RateNPerM(c.x); math.Abs(got-c.rate) > printed+1e-9*c.rate {
			t.Errorf("n %g, x %g: rate %.9f, want %.9f", c.n, c.x, got, c.rate)
		}
		if got := a.EnergyJ(c.x); math.Abs(got-c.work) > printed+1e-9*c.work {
			t.Errorf("n %g, x %g: energy %.9f, want %.9f", c.n, c.x, got, c.work)
		}
	}
}

// Adiabatic compression of 240 to 40 cm³ at 1e5 Pa, γ 1.4: p = 1.2286e6 Pa, W = −62.86 J on the gas side (OpenStax University Physics,
// volume 2, §3.6, to the digits shown). The gas alone: the air outside is taken off again.
func TestAdiabaticCompression(t *testing.T) {
	const area, pa = 1e-3, 1e5
	a, err := Chambers{TravelM: 0.2, PositiveAreaM2: area, PositiveVolumeM3: 240e-6, Feed: NoNegative, Exponent: 1.4, StaticExponent: 1}.Fill(0, 0, pa)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "pressure", float64(a.PositiveAt(0.2))+pa, 1.2286e6, 5e-5)
	near(t, "work on the gas", a.EnergyJ(0.2)+pa*area*0.2, 62.86, 1e-4)
}

type reference struct {
	Springs []struct {
		Name       string
		Parameters struct {
			T, A, V, An, Vn, N, Ns, P, Pa float64
			Port, Pneg                    *float64
		}
		Points   []struct{ X, Force, Energy, Rate float64 }
		Sag      []struct{ Load, Sag float64 }
		Pressure []struct{ Load, Sag, Pressure float64 }
	}
	Atmosphere []struct{ H, Pressure float64 }
}

func loadReference(t *testing.T) reference {
	t.Helper()
	b, err := os.ReadFile("testdata/spring_reference.json")
	if err != nil {
		t.Fatal(err)
	}
	var r reference
	if err := json.Unmarshal(b, &r); err != nil {
		t.Fatal(err)
	}
	return r
}

// Against SciPy: the force written out, its quadrature, its difference quotient, and roots by Brent's method.
func TestAgainstReference(t *testing.T) {
	r := loadReference(t)
	if len(r.Springs) != 4 || len(r.Atmosphere) != 8 {
		t.Fatal("the reference is not whole")
	}
	for _, s := range r.Springs {
		p := s.Parameters
		c := Chambers{TravelM: p.T, PositiveAreaM2: p.A, PositiveVolumeM3: p.V, NegativeAreaM2: p.An, NegativeVolumeM3: p.Vn, Exponent: p.N, StaticExponent: p.Ns, Feed: NoNegative}
		var negative Pressure
		if p.Port != nil {
			c.Feed, c.TransferM = SelfEqualised, *p.Port
		} else if p.An > 0 {
			c.Feed, negative = Separate, Pressure(*p.Pneg)
		}
		a, err := c.Fill(Pressure(p.P), negative, p.Pa)
		if err != nil {
			t.Fatal(s.Name, err)
		}
		for _, q := range s.Points {
			near(t, s.Name+": force", a.ForceN(q.X), q.Force, 1e-11)
			near(t, s.Name+": energy", a.EnergyJ(q.X), q.Energy, 1e-9)
			near(t, s.Name+": rate", a.RateNPerM(q.X), q.Rate, 1e-7) // the difference quotient is no better
		}
		for _, q := range s.Sag {
			got, err := SagM(a.Slow(), p.T, q.Load)
			if err != nil {
				t.Fatal(s.Name, err)
			}
			near(t, s.Name+": sag", got, q.Sag, 1e-9)
		}
		for _, q := range s.Pressure {
			got, err := c.PressureForSag(q.Load, q.Sag, negative, p.Pa)
			if err != nil {
				t.Fatal(s.Name, err)
			}
			near(t, s.Name+": pressure", float64(got), q.Pressure, 1e-9)
		}
	}
	for _, h := range r.Atmosphere {
		got, err := Atmosphere(h.H)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "atmosphere", got, h.Pressure, 1e-11)
	}
}

// anAir draws a spring that can be.
func anAir(t *rapid.T) Air {
	f := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	c := Chambers{
		TravelM: f("travel", 0.08, 0.22), PositiveAreaM2: f("area", 5e-4, 14e-4), Feed: rapid.SampledFrom([]string{SelfEqualised, Separate, NoNegative}).Draw(t, "feed"),
		Exponent: f("n", 1, 1.4), StaticExponent: f("n at rest", 1, 1.4), SpacerM3: f("spacer", 0, 1e-5), Spacers: rapid.IntRange(0, 3).Draw(t, "spacers"),
	}
	swept := c.PositiveAreaM2 * c.TravelM
	c.PositiveVolumeM3 = swept*f("room", 1.2, 3) + float64(c.Spacers)*c.SpacerM3
	var negative Pressure
	if c.Feed != NoNegative {
		c.NegativeAreaM2 = c.PositiveAreaM2 * f("negative area", 0.5, 1)
		c.NegativeVolumeM3 = swept * f("negative room", 0.1, 1)
		if c.Feed == SelfEqualised {
			c.TransferM = f("port", 0, 0.1) * c.TravelM
		} else {
			negative = Pressure(f("negative pressure", 0, 12e5))
		}
	}
	a, err := c.Fill(Pressure(f("pressure", 1e5, 12e5)), negative, f("air", 6e4, 1.05e5))
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// The force rises all the way, the rate is its slope, and the energy is its integral (Gauss–Legendre of 5 points on 40 pieces).
func TestForceRateEnergyAgree(t *testing.T) {
	node := []float64{0, 0.5384693101056831, -0.5384693101056831, 0.9061798459386640, -0.9061798459386640}
	weight := []float64{0.5688888888888889, 0.4786286704993665, 0.4786286704993665, 0.2369268850561891, 0.2369268850561891}
	rapid.Check(t, func(t *rapid.T) {
		a := anAir(t)
		const n = 40
		h := a.TravelM / n
		sum, scale, last := 0.0, 0.0, math.Inf(-1)
		for i := range n {
			mid := (float64(i) + 0.5) * h
			for k, u := range node {
				f := a.ForceN(mid + u*h/2)
				sum += weight[k] * f * h / 2
				scale += weight[k] * math.Abs(f) * h / 2
			}
			f := a.ForceN(mid)
			if f <= last {
				t.Fatalf("force %g at %g mm is not above %g", f, 1000*mid, last)
			}
			last = f
			if e := a.EnergyJ(float64(i+1) * h); math.Abs(e-sum) > 1e-9*scale {
				t.Fatalf("energy %.12g, quadrature %.12g", e, sum)
			}
			d := 1e-5 * a.TravelM
			if k, q := a.RateNPerM(mid), (a.ForceN(mid+d)-a.ForceN(mid-d))/(2*d); math.Abs(k-q) > 1e-5*k {
				t.Fatalf("rate %g, difference quotient %g", k, q)
			}
		}
	})
}

// At the port both chambers have one pressure, the gas at rest.
func TestPortEqualises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := anAir(t)
		if a.Feed != SelfEqualised {
			return
		}
		s := a.Slow()
		if p, n := float64(s.PositiveAt(a.TransferM)), float64(s.NegativeAt(a.TransferM)); math.Abs(p-n) > 1e-9*(p+a.AtmospherePa) {
			t.Fatalf("at the port %g and %g Pa", p, n)
		}
	})
}

// More pressure, and a spacer, never make the spring softer; a spacer leaves full extension alone where the port is there.
func TestSpacers(t *testing.T) {
	c := Typical(0.16)
	a, err := c.Fill(PSI(80), 0, SeaLevelPa)
	if err != nil {
		t.Fatal(err)
	}
	b, err := c.WithSpacers(2).Fill(PSI(80), 0, SeaLevelPa)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "force at full extension", b.ForceN(0), a.ForceN(0), 1e-12)
	for x := 0.01; x <= 0.16; x += 0.01 {
		if b.ForceN(x) <= a.ForceN(x) || b.EnergyJ(x) <= a.EnergyJ(x) {
			t.Errorf("at %g mm two spacers give %g N, none %g N", 1000*x, b.ForceN(x), a.ForceN(x))
		}
	}
	if _, err := c.WithSpacers(12).Fill(PSI(80), 0, SeaLevelPa); err == nil {
		t.Error("12 spacers leave the piston no room and were taken")
	}
}

func TestFillRefuses(t *testing.T) {
	good := Typical(0.16)
	for name, spoil := range map[string]func(*Chambers){
		"travel":        func(c *Chambers) { c.TravelM = 0 },
		"NaN area":      func(c *Chambers) { c.PositiveAreaM2 = math.NaN() },
		"volume":        func(c *Chambers) { c.PositiveVolumeM3 = c.PositiveAreaM2 * c.TravelM },
		"no negative":   func(c *Chambers) { c.NegativeVolumeM3 = 0 },
		"feed":          func(c *Chambers) { c.Feed = "magic" },
		"none but area": func(c *Chambers) { c.Feed = NoNegative },
		"port":          func(c *Chambers) { c.TransferM = 0.2 },
		"spacers":       func(c *Chambers) { c.Spacers, c.MaxSpacers = 3, 2 },
		"exponent":      func(c *Chambers) { c.Exponent = 0 },
		"friction":      func(c *Chambers) { c.FrictionN = math.NaN() },
	} {
		c := good
		spoil(&c)
		if _, err := c.Fill(PSI(80), 0, SeaLevelPa); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	for _, p := range []float64{-1, math.NaN(), math.Inf(1)} {
		if _, err := good.Fill(PSI(p), 0, SeaLevelPa); err == nil {
			t.Errorf("a pressure of %g psi was taken", p)
		}
	}
}

func TestCoil(t *testing.T) {
	c := Coil{Rate: 9000, PreloadM: 0.005}
	near(t, "force", c.ForceN(0.03), 315, 1e-12)
	near(t, "energy", c.EnergyJ(0.1), 9000*(0.105*0.105-0.005*0.005)/2, 1e-12)
	sag, err := SagM(c, 0.15, 315)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "sag", sag, 0.03, 1e-12)
	k, err := c.RateForSag(360, 0.035)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "rate", k, 9000, 1e-12)
	p, err := c.PreloadForSag(315, 0.025)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "preload", p, 0.01, 1e-12)
	if _, err := c.PreloadForSag(315, 0.04); err == nil {
		t.Error("no preload makes this coil sag more than free, and one was given")
	}
}
