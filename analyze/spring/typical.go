package spring

import (
	"errors"
	"math"
)

// Usual exponents: common practice, no source.
const (
	RidingExponent = 1.3
	RestExponent   = 1.0
)

// Typical are the chambers of an ordinary air fork of a travel in m, for a person who does not know those of the fork:
// a bore of 32 mm with a 10 mm shaft, a positive chamber 1.6 times and a negative one 0.35 times as large as what the
// piston sweeps, joined at full extension, spacers of 7 cm³. Common practice, no source: absolute forces may be off by a
// fifth and more. What is predicted from a measured sag depends on them far less.
func Typical(travelM float64) Chambers {
	const bore, shaft = 0.032, 0.010
	c := Chambers{
		TravelM: travelM, PositiveAreaM2: math.Pi / 4 * bore * bore, NegativeAreaM2: math.Pi / 4 * (bore*bore - shaft*shaft),
		Feed: SelfEqualised, SpacerM3: 7e-6, Exponent: RidingExponent, StaticExponent: RestExponent,
	}
	c.PositiveVolumeM3 = 1.6 * c.PositiveAreaM2 * travelM
	c.NegativeVolumeM3 = 0.35 * c.NegativeAreaM2 * travelM
	return c
}

// LoadN is the load in N along the stanchion of a front end that carries a share of a mass in kg: m·share·g·sin α, the head angle
// α in degrees from horizontal.
func LoadN(massKg, frontShare, headAngleDeg float64) (float64, error) {
	if !(massKg > 0) || !(frontShare > 0 && frontShare < 1) || !(headAngleDeg > 0 && headAngleDeg <= 90) {
		return 0, errors.New("load: the mass must be above 0, the front share between 0 and 100 % and the head angle between 0 and 90°")
	}
	return massKg * frontShare * StandardGravity * math.Sin(headAngleDeg*math.Pi/180), nil
}
