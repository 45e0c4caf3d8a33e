package spring

import (
	"fmt"
	"math"
)

// SagM is the travel in m at which a spring balances a load in N along the stanchion, friction left out; 0 where the load is
// less than the force at full extension. The force must rise with travel. It is an error if the fork would stand at the
// end of its travel.
func SagM(s Spring, travelM, loadN float64) (float64, error) {
	if !(loadN >= 0) {
		return 0, fmt.Errorf("the load is %g N: must not be negative", loadN)
	}
	if end := s.ForceN(travelM); !(loadN < end) {
		return 0, fmt.Errorf("a load of %.0f N is more than the spring's %.0f N at full travel: the fork would stand on its end", loadN, end)
	}
	return bisect(0, travelM, func(x float64) bool { return s.ForceN(x) < loadN }), nil
}

// bisect finds where below turns from true to false between lo and hi, to the last bit. Where it is false at lo, lo is the answer.
func bisect(lo, hi float64, below func(float64) bool) float64 {
	if !below(lo) {
		return lo
	}
	for {
		mid := lo + (hi-lo)/2
		if mid <= lo || mid >= hi {
			return mid
		}
		if below(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
}

// A SagBand is where a fork may come to rest: the balance without friction, and the travel at load ± friction.
type SagBand struct {
	MidM, LowM, HighM float64
}

// SagOf is the sag of a spring under a load, with the band in which friction can hold it.
func SagOf(s Spring, travelM, loadN, frictionN float64) (SagBand, error) {
	mid, err := SagM(s, travelM, loadN)
	if err != nil {
		return SagBand{}, err
	}
	low, err := SagM(s, travelM, max(0, loadN-frictionN))
	if err != nil {
		return SagBand{}, err
	}
	high, err := SagM(s, travelM, loadN+frictionN)
	if err != nil {
		high = travelM
	}
	return SagBand{mid, low, high}, nil
}

// FrictionOf is the friction in N that holds a fork anywhere within a band of travel about its sag, both in m: half of the difference of
// the spring's force between the ends of the band.
func FrictionOf(s Spring, travelM, sagM, bandM float64) float64 {
	low, high := max(0, sagM-bandM/2), min(travelM, sagM+bandM/2)
	return (s.ForceN(high) - s.ForceN(low)) / 2
}

// PressureForSag is the positive pressure that balances a load in N at a travel in m, gas at rest. negative counts only
// where that chamber is pumped separately. Force is linear in the pressure, so that there is one answer or none.
func (c Chambers) PressureForSag(loadN, sagM float64, negative Pressure, pa float64) (Pressure, error) {
	if !(sagM > 0 && sagM < c.TravelM) {
		return 0, fmt.Errorf("a sag of %.1f mm must lie inside the travel of %.0f mm", 1000*sagM, 1000*c.TravelM)
	}
	what := fmt.Sprintf("a sag of %.1f mm under %.0f N", 1000*sagM, loadN)
	return c.pressureFor(what, loadN, negative, pa, func(a Air) float64 { return a.Slow().ForceN(sagM) })
}

// PressureForEnergy is the positive pressure at which the spring takes up an energy in J by a travel in m when riding.
func (c Chambers) PressureForEnergy(energyJ, x float64, negative Pressure, pa float64) (Pressure, error) {
	what := fmt.Sprintf("%.0f J by %.0f mm", energyJ, 1000*x)
	return c.pressureFor(what, energyJ, negative, pa, func(a Air) float64 { return a.EnergyJ(x) })
}

// pressureFor solves of(air) = want, which is linear in the pressure.
func (c Chambers) pressureFor(what string, want float64, negative Pressure, pa float64, of func(Air) float64) (Pressure, error) {
	if err := c.Validate(); err != nil {
		return 0, err
	}
	const step = paPerBar
	at0, at1 := of(c.fill(0, negative, pa)), of(c.fill(step, negative, pa))
	p := Pressure(step * (want - at0) / (at1 - at0))
	if !(at1 > at0) || !(p >= 0) || math.IsInf(float64(p), 0) {
		return 0, fmt.Errorf("no pressure gives %s with these chambers", what)
	}
	return p, nil
}

// A LimitError is a pressure above the maker's maximum. The pressure itself is not told, so that it cannot be pumped.
type LimitError struct {
	For string   // what the pressure was for
	Max Pressure // the maker's limit
}

// Error implements error.
func (e *LimitError) Error() string {
	return fmt.Sprintf("%s is above the maker's maximum of %s", e.For, e.Max)
}

// Allow refuses a pressure above the maker's maximum, where it is known.
func (c Chambers) Allow(p Pressure, what string) error {
	if c.MaxPressure > 0 && p > c.MaxPressure {
		return &LimitError{what, c.MaxPressure}
	}
	return nil
}
