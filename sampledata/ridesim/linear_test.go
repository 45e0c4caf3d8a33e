package ridesim

import (
	"math"
	"math/cmplx"
	"testing"
)

// goldenFork is the reference quarter car of World Bank Technical Papers 45 and 46 and ASTM E1926 (numbers from memory):
// kt/ms = 653 s⁻², ks/ms = 63.3 s⁻², mu/ms = 0.15, cs/ms = 6 s⁻¹, no tyre damping. It stands upright and has room to
// move, so that the whole simulator with its road, tyre and integrator must show the linear gains.
func goldenFork() Fork {
	const ms = 250.0
	return Fork{
		TravelM: 1, HeadAngleDeg: 90, SprungKg: ms, UnsprungKg: 0.15 * ms,
		Spring: LinearSpring{Rate: 63.3 * ms, PreloadN: ms*Gravity - 0.5*63.3*ms},
		Damper: LinearDamper(6 * ms), Tyre: Tyre{Rate: 653 * ms}, BumpStartM: 1,
	}
}

// The modes, eigenvalues and damping ratios were computed independently with NumPy (relative tolerance 1e-6, that of
// the printed digits).
func TestGoldenCarModes(t *testing.T) {
	m := goldenFork().Modes()
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"sprung Hz", m.SprungHz, 1.208297}, {"wheel Hz", m.WheelHz, 11.004728},
		{"sprung ζ", m.SprungZeta, 0.333432}, {"wheel ζ", m.WheelZeta, 0.302019},
		{"λ1 real", real(m.Eigenvalues[0]), -2.59007379}, {"λ1 imaginary", imag(m.Eigenvalues[0]), 7.32339739},
		{"λ3 real", real(m.Eigenvalues[2]), -20.40992621}, {"λ3 imaginary", imag(m.Eigenvalues[2]), 64.42262611},
	} {
		if math.Abs(c.got-c.want) > 2e-6*math.Abs(c.want) {
			t.Errorf("%s = %.9g, want %.9g", c.name, c.got, c.want)
		}
	}
	if d := cmplx.Abs(m.Eigenvalues[0] - cmplx.Conj(m.Eigenvalues[1])); d > 1e-9 {
		t.Errorf("first pair is not conjugate: off by %g", d)
	}
}

// The simulated steady state over a sine road against the transfer functions computed independently with NumPy.
// Tolerance 1e-3 relative: the road is a cubic interpolation on a 12.5 mm grid of a wave of at least 1 m.
func TestGoldenCarGains(t *testing.T) {
	for _, c := range []struct{ hz, body, wheel, relative float64 }{
		{0.5, 1.189339985, 1.020266437, 0.177726910},
		{1, 1.829548576, 1.107396479, 0.980345682},
		{1.25, 1.868551080, 1.116457890, 1.460582495},
		{2, 0.823179496, 1.011610667, 1.320421086},
		{5, 0.241959646, 1.147125751, 1.200986901},
		{10, 0.161680692, 1.650688382, 1.669742120},
		{20, 0.016952199, 0.352787823, 0.353801366},
	} {
		const speed, settle, rate = 20.0, 8.0, 1000.0
		periods := math.Ceil(2 * c.hz)
		p := BumpTrain(goldenFork(), CleanSensor(rate), c.hz, 2, speed, settle+periods/c.hz+1)
		r := newRider(p, 1/8000.0)
		from := 2 + settle // the bumps begin after 2 s
		var body, wheel, relative complex128
		n := 0
		for r.pace.t < from+periods/c.hz-1e-9 {
			if r.pace.t >= from-1e-9 {
				turn := cmplx.Rect(1, -2*math.Pi*c.hz*r.pace.t)
				body += complex(r.now.zs, 0) * turn
				wheel += complex(r.now.zu, 0) * turn
				relative += complex(r.now.zu-r.now.zs, 0) * turn
				n++
			}
			r.step()
		}
		amplitude := func(sum complex128) float64 { return 2 * cmplx.Abs(sum) / float64(n) / 0.001 }
		for _, g := range []struct {
			name      string
			got, want float64
		}{{"zs/h", amplitude(body), c.body}, {"zu/h", amplitude(wheel), c.wheel}, {"(zs-zu)/h", amplitude(relative), c.relative}} {
			if math.Abs(g.got-g.want) > 1e-3*g.want {
				t.Errorf("%g Hz: |%s| = %.6f, want %.6f", c.hz, g.name, g.got, g.want)
			}
		}
	}
}
