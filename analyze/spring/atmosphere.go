package spring

import (
	"fmt"
	"math"
)

// The constants of the standard atmosphere, ISO 2533:1975, below the tropopause.
const (
	StandardGravity = 9.80665   // m/s²
	SeaLevelPa      = 101325.0  // Pa
	seaLevelK       = 288.15    // K
	lapseKPerM      = 0.0065    // K/m of geopotential altitude
	gasConstant     = 287.05287 // J/(kg·K)
	earthRadiusM    = 6356766.0 // m, for geopotential altitude
	tropopauseM     = 11000.0
	lowestM         = -2000.0
)

// Geopotential is the geopotential altitude in m of a geometric altitude in m, such as a map's: r·h/(r+h), ISO 2533.
func Geopotential(geometricM float64) float64 {
	return earthRadiusM * geometricM / (earthRadiusM + geometricM)
}

// Atmosphere is the pressure in Pa of the standard atmosphere at a geopotential altitude in m, −2000 to 11000 (ISO 2533):
// p = p0·(T/T0)^(g/(R·β)) with T = T0 − β·H. The weather moves the true pressure by some 3 % (common practice, no source).
func Atmosphere(geopotentialM float64) (float64, error) {
	if !(geopotentialM >= lowestM && geopotentialM <= tropopauseM) {
		return 0, fmt.Errorf("geopotential altitude is %g m, must lie between %g and %g", geopotentialM, lowestM, tropopauseM)
	}
	t := seaLevelK - lapseKPerM*geopotentialM
	return SeaLevelPa * math.Pow(t/seaLevelK, StandardGravity/(gasConstant*lapseKPerM)), nil
}

// A Place is where a fork is pumped or ridden.
type Place struct {
	TemperatureC float64 `json:"temperature_c"` // of the fork's air
	AltitudeM    float64 `json:"altitude_m"`    // geometric, as on a map
}

// check reports a place that no fork is ridden at.
func (p Place) check() error {
	if !(p.TemperatureC >= -50 && p.TemperatureC <= 90) {
		return fmt.Errorf("temperature is %g °C, must lie between −50 and 90", p.TemperatureC)
	}
	if !(p.AltitudeM >= lowestM && p.AltitudeM <= tropopauseM) {
		return fmt.Errorf("altitude is %g m, must lie between %g and %g", p.AltitudeM, lowestM, tropopauseM)
	}
	return nil
}

// AtmospherePa is the pressure of the air around the fork.
func (p Place) AtmospherePa() (float64, error) { return Atmosphere(Geopotential(p.AltitudeM)) }

// Moved is the spring after a ride from one place to another: the gas stays in, so its absolute pressure goes with the
// absolute temperature, and the gauge reads it against the air of the new place.
func (a Air) Moved(from, to Place) (Air, error) {
	for _, p := range []Place{from, to} {
		if err := p.check(); err != nil {
			return Air{}, err
		}
	}
	pa, err := to.AtmospherePa()
	if err != nil {
		return Air{}, err
	}
	ratio := Kelvin(to.TemperatureC) / Kelvin(from.TemperatureC)
	move := func(p Pressure) Pressure { return Pressure((float64(p)+a.AtmospherePa)*ratio - pa) }
	a.Positive, a.Negative, a.AtmospherePa = move(a.Positive), move(a.Negative), pa
	return a, nil
}
