package ridesim

import (
	"math"
	"math/cmplx"
	"slices"
)

// Modes is the front end linearised at static sag, friction left out.
type Modes struct {
	SprungHz, WheelHz     float64 // undamped natural frequencies
	SprungZeta, WheelZeta float64 // damping ratios of the damped modes
	// Eigenvalues of the damped system in rad/s, sorted by size, conjugates with the positive imaginary part first.
	Eigenvalues [4]complex128
}

// Modes linearises the fork at its static sag: spring rate at sag, mean low-speed damper slope, tyre in contact.
// Vertical rates are axial ones over sin² α.
func (f Fork) Modes() Modes {
	sin2 := f.sin() * f.sin()
	return modes(f.SprungKg, f.UnsprungKg,
		f.Spring.RateNPerM(f.StaticSagM())/sin2, f.Damper.LowSpeedSlope()/sin2, f.Tyre.Rate, f.Tyre.Damping)
}

// modes solves the quarter car (Rao, Mechanical Vibrations, two-degree-of-freedom systems; from memory). With
// ms·z̈s = −c(żs−żu) − k(zs−zu) and mu·z̈u = c(żs−żu) + k(zs−zu) − ct·żu − kt·zu the characteristic polynomial is
//
//	ms·mu·λ⁴ + [ms(c+ct) + mu·c]λ³ + [ms(k+kt) + mu·k + c·ct]λ² + [c·kt + ct·k]λ + k·kt
func modes(ms, mu, k, c, kt, ct float64) Modes {
	b := (ms*(k+kt) + mu*k) / (ms * mu)
	root := math.Sqrt(b*b/4 - k*kt/(ms*mu))
	m := Modes{
		SprungHz: math.Sqrt(k*kt/(ms*mu)/(b/2+root)) / (2 * math.Pi),
		WheelHz:  math.Sqrt(b/2+root) / (2 * math.Pi),
	}
	m.Eigenvalues = quarticRoots([4]float64{
		(ms*(c+ct) + mu*c) / (ms * mu),
		(ms*(k+kt) + mu*k + c*ct) / (ms * mu),
		(c*kt + ct*k) / (ms * mu),
		k * kt / (ms * mu),
	}, 2*math.Pi*m.WheelHz)
	m.SprungZeta = pairZeta(m.Eigenvalues[0], m.Eigenvalues[1])
	m.WheelZeta = pairZeta(m.Eigenvalues[2], m.Eigenvalues[3])
	return m
}

// pairZeta is the damping ratio of a pair of roots: −(λ1+λ2)/(2·math.Sqrt(λ1·λ2)), over 1 for two real ones.
func pairZeta(a, b complex128) float64 {
	return -real(a+b) / (2 * math.Sqrt(real(a*b)))
}

// quarticRoots finds the roots of λ⁴ + p0·λ³ + p1·λ² + p2·λ + p3 by the Durand–Kerner iteration, started on a
// circle of the given radius.
func quarticRoots(p [4]float64, radius float64) [4]complex128 {
	var z [4]complex128
	for i := range z {
		z[i] = cmplx.Rect(radius, 0.4+math.Pi/2*float64(i))
	}
	for range 500 {
		moved := 0.0
		for i := range z {
			value := complex(1, 0)
			for _, c := range p {
				value = value*z[i] + complex(c, 0)
			}
			for j := range z {
				if j != i {
					value /= z[i] - z[j]
				}
			}
			z[i] -= value
			moved = max(moved, cmplx.Abs(value))
		}
		if moved < 1e-13*radius {
			break
		}
	}
	slices.SortFunc(z[:], func(a, b complex128) int {
		if d := cmplx.Abs(a) - cmplx.Abs(b); math.Abs(d) > 1e-9*radius {
			return int(math.Copysign(1, d))
		}
		return int(math.Copysign(1, imag(b)-imag(a)))
	})
	return z
}
