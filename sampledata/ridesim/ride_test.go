package ridesim

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"testing"

	"stanchion/ingest"
)

func simulate(t *testing.T, p Params) Truth {
	t.Helper()
	truth, err := Simulate(p)
	if err != nil {
		t.Fatal(err)
	}
	return truth
}

// Static sag is where the spring carries ms·g·sin α. For a linear spring that is ms·g·sin α/k; for the air spring the polytropic
// formula is written out here once more.
func TestStaticSag(t *testing.T) {
	f := linearFork()
	load := 36 * 9.80665 * math.Sin(64.5*math.Pi/180)
	if got, want := f.StaticSagM(), load/10e3; math.Abs(got-want) > 1e-12 {
		t.Errorf("linear sag %.9f m, want %.9f", got, want)
	}
	f = DefaultFork()
	x := f.StaticSagM()
	pos := 8.04e-4 * ((5e5+101325)*math.Pow(205e-6/(205e-6-8.04e-4*x), 1.3) - 101325)
	neg := 7.26e-4 * ((5e5+101325)*math.Pow(40e-6/(40e-6+7.26e-4*x), 1.3) - 101325)
	if math.Abs(pos-neg-load) > 1e-9 {
		t.Errorf("at a sag of %.3f mm the spring carries %.9f N, load %.9f N", x*1000, pos-neg, load)
	}
	truth := simulate(t, Params{Fork: f, Sensor: CleanSensor(1000), Course: Course{StartHoldS: 2}})
	for i, got := range truth.TravelMM {
		if math.Abs(got-1000*x) > 1e-9 || math.Abs(truth.VelocityMMS[i]) > 1e-6 {
			t.Fatalf("standing still, sample %d: %.12f mm at %g mm/s, want %.12f at rest", i, got, truth.VelocityMMS[i], 1000*x)
		}
	}
}

// The analytic spring rate is the derivative of the force.
func TestAirSpringRate(t *testing.T) {
	s := DefaultFork().Spring
	for x := -0.002; x < 0.16; x += 0.01 {
		const h = 1e-5
		want := (s.ForceN(x+h) - s.ForceN(x-h)) / (2 * h)
		if got := s.RateNPerM(x); math.Abs(got-want) > 1e-5*want {
			t.Errorf("rate at %g m: %.6f, difference quotient %.6f", x, got, want)
		}
	}
}

func TestDamperSlopes(t *testing.T) {
	d := Damper{Compression: Valve{Low: 500, High: 200, KneeMS: 0.4}, Rebound: Valve{Low: 800, High: 400, KneeMS: 0.3}}
	for v, want := range map[float64]float64{0.1: 50, 0.4: 200, 1.4: 400, -0.1: -80, -0.3: -240, -1.3: -640, 0: 0} {
		if got := d.ForceN(v); math.Abs(got-want) > 1e-9 {
			t.Errorf("force at %g m/s = %g N, want %g", v, got, want)
		}
	}
	closed := d.Rebound.AtClicks(4, 8, 1.2)
	if math.Abs(closed.Low-800*1.2*1.2*1.2*1.2) > 1e-9 || math.Abs(closed.High-400*1.2*1.2) > 1e-9 {
		t.Errorf("four clicks in: %+v", closed)
	}
}

// The wheel of a front end that falls freely from rest meets the ground after math.Sqrt(2h/g).
// Tolerance: one sample (0.1 ms) each side.
func TestFreeFallTime(t *testing.T) {
	for _, h := range []float64{0.1, 0.5, 1.2} {
		truth := simulate(t, Params{Fork: DefaultFork(), Sensor: CleanSensor(10000), Course: Course{StartHoldS: 1, DropFromM: h}})
		want := math.Sqrt(2 * h / 9.80665)
		if len(truth.Summary.Flights) == 0 || truth.Summary.Flights[0].StartS != 0 {
			t.Fatalf("drop of %g m: flights %v, want one from 0 s", h, truth.Summary.Flights)
		}
		if got := truth.Summary.Flights[0].EndS; math.Abs(got-want) > 1e-4 {
			t.Errorf("drop of %g m: air time %.5f s, want %.5f", h, got, want)
		}
	}
}

// Free decay: the simulated travel follows x = A·e^(−ζωt)·(cos ωd·t + …) of the sprung mode: successive extremes
// shrink by exp(−πζ/math.Sqrt(1−ζ²)) and lie π/ωd apart, with ω and ζ from the eigenvalue. Tolerance 1 %: the tyre is stiff, not
// rigid, so a little wheel motion rides on the first extreme.
func TestFreeDecayShrinksAsTheDampingRatioSays(t *testing.T) {
	for _, zeta := range []float64{0.1, 0.2, 0.4} {
		p := FreeDecay(zeta, 30, 4)
		truth := simulate(t, p)
		if got := truth.Summary.DampingRatio; math.Abs(got-zeta) > 1e-9 {
			t.Errorf("asked for ζ = %g, linearised to %g", zeta, got)
		}
		rest := truth.Summary.StaticSagMM
		var at, size []float64
		for i := 600; i < len(truth.TravelMM)-1; i++ {
			a, b, c := truth.TravelMM[i-1], truth.TravelMM[i], truth.TravelMM[i+1]
			if (b-a)*(c-b) < 0 && math.Abs(b-rest) > 0.3 {
				v0, v1 := truth.VelocityMMS[i-1], truth.VelocityMMS[i+1]
				at = append(at, (float64(i-1)+2*v0/(v0-v1))/1000)
				size = append(size, math.Abs(b-rest))
			}
		}
		if len(at) < 3 {
			t.Fatalf("ζ = %g: only %d extremes", zeta, len(at))
		}
		root := math.Sqrt(1 - zeta*zeta)
		wd := imag(p.Fork.Modes().Eigenvalues[0])
		for i := 1; i < len(at); i++ {
			if got, want := size[i]/size[i-1], math.Exp(-math.Pi*zeta/root); math.Abs(got-want) > 0.01*want {
				t.Errorf("ζ = %g: extreme %d shrinks to %.5f, want %.5f", zeta, i, got, want)
			}
			if got, want := at[i]-at[i-1], math.Pi/wd; math.Abs(got-want) > 0.01*want {
				t.Errorf("ζ = %g: half period %d is %.5f s, want %.5f", zeta, i, got, want)
			}
		}
	}
}

// Two settles come to rest a friction band apart, friction being what holds the fork: the band of the truth, which is
// near 2·friction/rate. The fork stops a little inside it. It sticks: at rest it does not creep by a micrometre in 3 s.
func TestTwoSettlesShowTheFrictionBand(t *testing.T) {
	for _, friction := range []float64{4, 25, 50, 90} {
		f := DefaultFork()
		f.FrictionN = friction
		truth := simulate(t, TwoSettles(f, CleanSensor(1000), 6, 5))
		first := truth.TravelMM[14400] // 1 + 2.5 + 6 + 5 s end of the first rest
		second := truth.TravelMM[len(truth.TravelMM)-1]
		band := truth.Summary.FrictionBandMM
		approx := 2 * friction / f.Spring.RateNPerM(f.StaticSagM()) * 1000
		if math.Abs(band-approx) > 0.08*approx {
			t.Errorf("%g N: band %.3f mm, 2·friction/rate gives %.3f", friction, band, approx)
		}
		if got := first - second; got > band+1e-3 || got < 0.93*band {
			t.Errorf("%g N: settles are %.3f mm apart, friction band is %.3f", friction, got, band)
		}
		if creep := math.Abs(truth.TravelMM[14400] - truth.TravelMM[11400]); creep > 1e-3 {
			t.Errorf("%g N: crept by %g mm at rest", friction, creep)
		}
	}
}

func roughParams() Params {
	p := ConstantClass(DefaultFork(), CleanSensor(1000), 10000e-6, 6, 3.5, 5)
	p.Course.Sections[0].Features = []Feature{{Kind: Drop, AtM: 12, HeightM: 0.6, LengthM: 0.6}}
	return p
}

func TestTyreNeverPulls(t *testing.T) {
	truth := simulate(t, roughParams())
	if low := slices.Min(truth.TyreN); low != 0 {
		t.Errorf("least wheel load %g N on ground with a drop: want 0, and never less", low)
	}
	if len(truth.Summary.Flights) == 0 {
		t.Error("no flight over a drop")
	}
}

// On a rough ride (friction, lift-off and stops included) the step of 8 kHz is within 0.1 mm everywhere and 0.01 mm RMS of
// a step of 64 kHz, and finer steps come nearer.
func TestStepSizeConverges(t *testing.T) {
	at := func(hz float64) []float64 {
		p := roughParams()
		p.StepHz = hz
		return simulate(t, p).TravelMM
	}
	fine := at(64000)
	last := math.Inf(1)
	for _, hz := range []float64{8000, 32000} {
		off := at(hz)
		off = off[:min(len(off), len(fine))] // the ride ends on a step, so the last sample may be one more or less
		for i := range off {
			off[i] -= fine[i]
		}
		worst := max(slices.Max(off), -slices.Min(off))
		t.Logf("%g Hz: up to %.2g mm off, RMS %.2g mm", hz, worst, rms(off))
		if worst > 0.1 || rms(off) > 0.01 || rms(off) > last/2 {
			t.Errorf("%g Hz: travel is up to %g mm, RMS %g mm off the finest step (coarser step: RMS %g)", hz, worst, rms(off), last)
		}
		last = rms(off)
	}
}

// Where nothing kinks, the integrator is of fourth order: half the step, about a sixteenth of the error.
func TestIntegratorIsOfFourthOrder(t *testing.T) {
	s := newSystem(goldenFork())
	in := input{gravity: Gravity}
	end := func(steps int) float64 {
		m := s.atRest(0, Gravity)
		m.vs = -0.2
		for range steps {
			m = s.step(m, 0.5/float64(steps), in, in, in)
		}
		return m.zs
	}
	exact := end(4000)
	coarse, fine := math.Abs(end(100)-exact), math.Abs(end(200)-exact)
	if ratio := coarse / fine; ratio < 12 || ratio > 20 {
		t.Errorf("halving the step divides the error by %.1f, want about 16 (%g, %g)", ratio, coarse, fine)
	}
}

// Without damping, friction and losses the integrator keeps the energy of the oscillating fork: 1e-4 of the swing over 10 s.
func TestEnergyIsKept(t *testing.T) {
	f := linearFork()
	f.Damper, f.Tyre.Damping = Damper{}, 0
	s := newSystem(f)
	m := s.atRest(0, Gravity)
	m.vs = -0.5
	energy := func(m motion) float64 {
		x, _ := s.travel(m)
		return 0.5*f.SprungKg*m.vs*m.vs + 0.5*f.UnsprungKg*m.vu*m.vu + Gravity*(f.SprungKg*m.zs+f.UnsprungKg*m.zu) +
			0.5*10e3*x*x + 0.5*f.Tyre.Rate*m.zu*m.zu
	}
	in := input{gravity: Gravity}
	swing := 0.5 * f.SprungKg * 0.25
	start := energy(m)
	for range 80000 {
		m = s.step(m, 1/8000.0, in, in, in)
	}
	if d := math.Abs(energy(m) - start); d > 1e-4*swing {
		t.Errorf("energy drifted by %g J of a swing of %g J", d, swing)
	}
}

func TestSameParamsSameBytes(t *testing.T) {
	write := func(seed uint64) []byte {
		p := ConstantClass(DefaultFork(), DefaultSensor(), 4000e-6, 6, 3, seed)
		log, _, err := Ride(p)
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := PlainCSV(ingest.UnitCounts).Write(&b, &log); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	if !bytes.Equal(write(1), write(1)) {
		t.Error("same seed, different bytes")
	}
	if bytes.Equal(write(1), write(2)) {
		t.Error("another seed, the same bytes")
	}
}

func TestBadParamsAreNamed(t *testing.T) {
	for want, change := range map[string]func(*Params){
		"Spring is nil":    func(p *Params) { p.Fork.Spring = nil },
		"sprung mass":      func(p *Params) { p.Fork.SprungKg = 0 },
		"head angle":       func(p *Params) { p.Fork.HeadAngleDeg = 95 },
		"friction":         func(p *Params) { p.Fork.FrictionSlipM = 0 },
		"rate":             func(p *Params) { p.Sensor.RateHz = math.NaN() },
		"nothing to ride":  func(p *Params) { p.Course = Course{} },
		"only the last":    func(p *Params) { p.Course.Sections[0].SpeedMS = 0 },
		"smooths the road": func(p *Params) { p.Course.EnvelopeM = -1 },
		"has speed NaN":    func(p *Params) { p.Course.Sections[0].SpeedMS = math.NaN() },
		"roughness":        func(p *Params) { p.Course.Sections[0].GdN0 = -1 },
		"has no length":    func(p *Params) { p.Course.Sections[0].Features = []Feature{{Kind: Jump, LengthM: 1}} },
		"counts with 0 AD": func(p *Params) { p.Sensor.ADCBits = 0 },
	} {
		p := DefaultParams()
		p.Course.Sections = p.Course.Sections[3:]
		change(&p)
		if _, _, err := Ride(p); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("want an error with %q, got %v", want, err)
		}
	}
}
