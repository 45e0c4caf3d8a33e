package spring

import (
	"errors"
	"fmt"
	"math"
)

// How the negative chamber gets its pressure.
const (
	SelfEqualised = "self"     // by a transfer port from the positive chamber
	Separate      = "separate" // by a pump of its own
	NoNegative    = "none"     // there is none
)

// Chambers are the dimensions of an air spring and what the maker says about it.
type Chambers struct {
	TravelM          float64  // usable travel
	PositiveAreaM2   float64  // piston area A⁺
	PositiveVolumeM3 float64  // V⁺ at full extension, without spacers
	NegativeAreaM2   float64  // A⁻; 0 without a negative chamber
	NegativeVolumeM3 float64  // V⁻ at full extension
	Feed             string   // SelfEqualised, Separate or NoNegative
	TransferM        float64  // travel at which the port joins the chambers (SelfEqualised)
	Spacers          int      // volume spacers fitted
	MaxSpacers       int      // most that fit, 0 where the maker's number is not known
	SpacerM3         float64  // volume of one
	Exponent         float64  // n when riding
	StaticExponent   float64  // n at rest
	FrictionN        float64  // seal and bushing friction along the stanchion, 0 where not known
	MaxPressure      Pressure // the maker's limit, 0 where not known
}

// An Air is a filled air spring:
//
//	F(x) = A⁺[(p⁺+pa)(V⁺/(V⁺−A⁺x))ⁿ − pa] − A⁻[(p⁻+pa)(V⁻/(V⁻+A⁻x))ⁿ − pa]
//
// with V⁺ less the spacers. The force rises with travel for every n > 0, as its rate is a sum of positive terms.
type Air struct {
	Chambers
	Positive     Pressure // p⁺ at full extension
	Negative     Pressure // p⁻ at full extension
	AtmospherePa float64  // pa
}

// Validate reports the first dimension that cannot be.
func (c Chambers) Validate() error {
	for _, d := range []struct {
		name string
		v    float64
	}{{"travel", c.TravelM}, {"positive area", c.PositiveAreaM2}, {"positive volume", c.PositiveVolumeM3}, {"exponent", c.Exponent}, {"static exponent", c.StaticExponent}} {
		if !(d.v > 0) || math.IsInf(d.v, 0) {
			return fmt.Errorf("air spring: %s is %g: must be above 0", d.name, d.v)
		}
	}
	switch c.Feed {
	case SelfEqualised, Separate:
		if !(c.NegativeAreaM2 > 0) || !(c.NegativeVolumeM3 > 0) {
			return errors.New("air spring: the negative chamber needs an area and a volume above 0")
		}
	case NoNegative:
		if c.NegativeAreaM2 != 0 {
			return errors.New("air spring: without a negative chamber its area must be 0")
		}
	default:
		return fmt.Errorf("air spring: the negative chamber is fed by %q, must be %q, %q or %q", c.Feed, SelfEqualised, Separate, NoNegative)
	}
	switch {
	case !(c.TransferM >= 0 && c.TransferM <= c.TravelM):
		return fmt.Errorf("air spring: the transfer port at %g mm lies outside the travel", 1000*c.TransferM)
	case c.Spacers < 0 || !(c.SpacerM3 >= 0) || !(c.FrictionN >= 0) || !(c.MaxPressure >= 0):
		return errors.New("air spring: spacers, friction and the maximum pressure must not be negative")
	case c.MaxSpacers > 0 && c.Spacers > c.MaxSpacers:
		return fmt.Errorf("air spring: %d spacers are more than the %d that fit", c.Spacers, c.MaxSpacers)
	case c.positive() <= c.PositiveAreaM2*c.TravelM:
		return fmt.Errorf("air spring: the positive chamber of %.1f cm³ less spacers is not larger than the %.1f cm³ that the piston sweeps: look at area, volume and spacers",
			1e6*c.positive(), 1e6*c.PositiveAreaM2*c.TravelM)
	}
	return nil
}

// positive is V⁺ less the spacers.
func (c Chambers) positive() float64 { return c.PositiveVolumeM3 - float64(c.Spacers)*c.SpacerM3 }

// WithSpacers is the same spring with another number of spacers.
func (c Chambers) WithSpacers(n int) Chambers {
	c.Spacers = n
	return c
}

// Fill pumps the spring at full extension in air of pa Pa. negative counts only where the chamber is pumped separately; a
// self-equalised one has the positive chamber's pressure where the port joins them, the gas at rest:
// P⁻ = P⁺·(V⁺/(V⁺−A⁺x))ⁿ·((V⁻+A⁻x)/V⁻)ⁿ at the port's travel x, absolute, n at rest.
func (c Chambers) Fill(positive, negative Pressure, pa float64) (Air, error) {
	if err := c.Validate(); err != nil {
		return Air{}, err
	}
	if !(positive >= 0 && negative >= 0) || math.IsInf(float64(positive+negative), 0) || !(pa > 0) {
		return Air{}, fmt.Errorf("air spring: pressures of %g and %g psi in air of %g Pa: must not be negative", positive.PSI(), negative.PSI(), pa)
	}
	return c.fill(positive, negative, pa), nil
}

// fill is Fill without checks, for solvers.
func (c Chambers) fill(positive, negative Pressure, pa float64) Air {
	a := Air{Chambers: c, Positive: positive, Negative: negative, AtmospherePa: pa}
	switch c.Feed {
	case SelfEqualised:
		x, n := c.TransferM, c.StaticExponent
		joined := (float64(positive) + pa) * math.Pow(a.squeeze(x), n)
		a.Negative = Pressure(joined/math.Pow(a.widen(x), n) - pa)
	case NoNegative:
		a.Negative = 0
	}
	return a
}

// Slow is the spring when its gas keeps the temperature of the fork.
func (a Air) Slow() Air {
	a.Exponent = a.StaticExponent
	return a
}

// squeeze is V⁺₀/V⁺ at travel x.
func (a Air) squeeze(x float64) float64 { return 1 / (1 - a.PositiveAreaM2*x/a.positive()) }

// widen is V⁻₀/V⁻ at travel x.
func (a Air) widen(x float64) float64 {
	if a.NegativeAreaM2 == 0 {
		return 1
	}
	return 1 / (1 + a.NegativeAreaM2*x/a.NegativeVolumeM3)
}

// PositiveAt is the gauge pressure of the positive chamber at travel x in m.
func (a Air) PositiveAt(x float64) Pressure { return a.gauge(a.Positive, a.squeeze(x)) }

// NegativeAt is the gauge pressure of the negative chamber at travel x in m.
func (a Air) NegativeAt(x float64) Pressure { return a.gauge(a.Negative, a.widen(x)) }

func (a Air) gauge(p Pressure, ratio float64) Pressure {
	return Pressure((float64(p)+a.AtmospherePa)*math.Pow(ratio, a.Exponent) - a.AtmospherePa)
}

// ForceN is the force in N at travel x in m, 0 to TravelM, friction left out.
func (a Air) ForceN(x float64) float64 {
	return a.PositiveAreaM2*float64(a.PositiveAt(x)) - a.NegativeAreaM2*float64(a.NegativeAt(x))
}

// RateNPerM is dF/dx = n·P·A²/V, summed over both chambers, P absolute.
func (a Air) RateNPerM(x float64) float64 {
	rate := func(p Pressure, area, volume float64) float64 {
		return a.Exponent * (float64(p) + a.AtmospherePa) * area * area / volume
	}
	k := rate(a.PositiveAt(x), a.PositiveAreaM2, a.positive()/a.squeeze(x))
	if a.NegativeAreaM2 > 0 {
		k += rate(a.NegativeAt(x), a.NegativeAreaM2, a.NegativeVolumeM3/a.widen(x))
	}
	return k
}

// EnergyJ is the work in J that takes the spring from full extension to travel x in m, ∫F dx:
// P⁺V⁺·((V⁺₀/V⁺)ⁿ⁻¹−1)/(n−1) − pa·A⁺x for the positive chamber, less that of the negative one.
func (a Air) EnergyJ(x float64) float64 {
	w := (float64(a.Positive)+a.AtmospherePa)*a.positive()*work(a.squeeze(x), a.Exponent) - a.AtmospherePa*a.PositiveAreaM2*x
	if a.NegativeAreaM2 > 0 {
		w += (float64(a.Negative)+a.AtmospherePa)*a.NegativeVolumeM3*work(a.widen(x), a.Exponent) + a.AtmospherePa*a.NegativeAreaM2*x
	}
	return w
}

// work is (rⁿ⁻¹−1)/(n−1), which is ln r for n = 1, without loss near it.
func work(r, n float64) float64 {
	l := math.Log(r)
	if n == 1 {
		return l
	}
	return math.Expm1((n-1)*l) / (n - 1)
}
