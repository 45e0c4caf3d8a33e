package ridesim

import (
	"errors"
	"fmt"
	"math"
)

// Gravity is the standard acceleration of free fall in m/s².
const Gravity = 9.80665

// A Stop is a one-sided end stop with hysteresis (Hunt and Crossley): at depth δ in m and closing speed u in m/s it pushes
// with (Linear·δ + Cubic·δ³)·(1 + Loss·u) N, never less than 0.
type Stop struct {
	Linear float64 // N/m
	Cubic  float64 // N/m³
	Loss   float64 // s/m
}

func (s Stop) force(depth, closing float64) float64 {
	if depth <= 0 {
		return 0
	}
	return max(0, depth*(s.Linear+s.Cubic*depth*depth)*(1+s.Loss*closing))
}

// Tyre is a one-sided spring and damper between road and wheel.
type Tyre struct {
	Rate    float64 // N/m
	Damping float64 // N·s/m
}

func (t Tyre) force(deflection, rate float64) float64 {
	if deflection <= 0 {
		return 0
	}
	return max(0, t.Rate*deflection+t.Damping*rate)
}

// Fork is the whole front end.
type Fork struct {
	TravelM      float64 // usable travel along the stanchion
	HeadAngleDeg float64 // stanchion from horizontal; 90 makes the model a plain vertical quarter car
	SprungKg     float64 // share of rider and bike that rests on the fork
	UnsprungKg   float64 // wheel, tyre, brake and lower legs
	Spring       Spring
	Damper       Damper
	Tyre         Tyre

	// FrictionN is the Coulomb friction along the stanchion. It is an elastic–perfectly-plastic element: it deflects by
	// up to FrictionSlipM while it sticks and slides at FrictionN beyond, so it holds the fork at rest for ever anywhere
	// within ±FrictionN of balance. Breakaway and sliding friction are equal (no Stribeck effect).
	FrictionN     float64
	FrictionSlipM float64

	BumpStop   Stop    // acts from BumpStartM on
	BumpStartM float64 // travel at which the bump stop begins
	TopOut     Stop    // acts below zero travel

	// BrakeShiftKg is the load in N that moves onto the fork per m/s² of braking: (total mass)·(height of its centre)/wheelbase.
	BrakeShiftKg float64
}

// DefaultFork is an invented 160 mm air fork under a rider and bike of 92 kg: a sound setting.
// Its numbers are common practice, no source.
func DefaultFork() Fork {
	return Fork{
		TravelM: 0.160, HeadAngleDeg: 64.5, SprungKg: 36, UnsprungKg: 4.2,
		Spring: AirSpring{
			AreaM2: 8.04e-4, VolumeM3: 205e-6, PressurePa: 5.0e5,
			NegAreaM2: 7.26e-4, NegVolumeM3: 40e-6, NegPressurePa: 5.0e5,
			Exponent: 1.3, AtmospherePa: 101325, MinVolumeShare: 0.02,
		},
		Damper: Damper{
			Compression: Valve{Low: 420, High: 190, KneeMS: 0.4},
			Rebound:     Valve{Low: 560, High: 310, KneeMS: 0.4},
		},
		Tyre:      Tyre{Rate: 75e3, Damping: 180},
		FrictionN: 18, FrictionSlipM: 50e-6,
		BumpStop: Stop{Linear: 2e3, Cubic: 1.1e10, Loss: 0.25}, BumpStartM: 0.152,
		TopOut:       Stop{Linear: 4e5, Loss: 0.6},
		BrakeShiftKg: 75,
	}
}

// Validate reports the first parameter that cannot be simulated.
func (f Fork) Validate() error {
	switch {
	case f.Spring == nil:
		return errors.New("fork: Spring is nil: set an AirSpring or a LinearSpring")
	case !(f.HeadAngleDeg > 0 && f.HeadAngleDeg <= 90):
		return fmt.Errorf("fork: head angle is %g°: must be over 0 and at most 90", f.HeadAngleDeg)
	case f.FrictionN < 0 || (f.FrictionN > 0 && !(f.FrictionSlipM > 0)):
		return fmt.Errorf("fork: friction is %g N with a slip length of %g m: the force must not be negative and the length must be positive", f.FrictionN, f.FrictionSlipM)
	}
	for _, v := range []struct {
		name  string
		value float64
	}{{"travel", f.TravelM}, {"sprung mass", f.SprungKg}, {"unsprung mass", f.UnsprungKg}, {"tyre rate", f.Tyre.Rate}} {
		if !(v.value > 0) || math.IsInf(v.value, 0) {
			return fmt.Errorf("fork: %s is %g: must be positive", v.name, v.value)
		}
	}
	return nil
}

// sin is the sine of the head angle.
func (f Fork) sin() float64 {
	if f.HeadAngleDeg == 90 {
		return 1
	}
	return math.Sin(f.HeadAngleDeg * math.Pi / 180)
}

// staticForce is spring plus stops at rest, in N at travel x in m.
func (f Fork) staticForce(x float64) float64 {
	return f.Spring.ForceN(x) + f.BumpStop.force(x-f.BumpStartM, 0) - f.TopOut.force(-x, 0)
}

// TravelAtLoad is the travel in m at which spring and stops balance an axial load in N, friction left out.
// It is found by bisection to the last bit; the static force rises with travel, so there is one answer.
func (f Fork) TravelAtLoad(axialN float64) float64 {
	lo, hi := -0.1*f.TravelM, 1.2*f.TravelM
	for range 80 {
		mid := (lo + hi) / 2
		if f.staticForce(mid) < axialN {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// StaticSagM is the travel in m at rest under gravity, friction left out: F(x) = ms·g·sin α.
func (f Fork) StaticSagM() float64 {
	return f.TravelAtLoad(f.SprungKg * Gravity * f.sin())
}

// FrictionBandM is the width in m of the travel in which friction can hold the fork at rest:
// from the travel at load − FrictionN to that at load + FrictionN.
func (f Fork) FrictionBandM() float64 {
	load := f.SprungKg * Gravity * f.sin()
	return f.TravelAtLoad(load+f.FrictionN) - f.TravelAtLoad(load-f.FrictionN)
}
