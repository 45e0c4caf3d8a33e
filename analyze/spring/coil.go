package spring

import "fmt"

// A Spring pushes the fork apart. Travel x is in m, from 0 at full extension.
type Spring interface {
	ForceN(x float64) float64
	RateNPerM(x float64) float64
	EnergyJ(x float64) float64
}

// A Coil is a steel spring: F = Rate·(x + Preload).
type Coil struct {
	Rate     float64 // N/m
	PreloadM float64 // by which it is shorter at full extension than free
}

// Validate reports a coil that cannot be.
func (c Coil) Validate() error {
	if !(c.Rate > 0) || !(c.PreloadM >= 0) {
		return fmt.Errorf("coil: rate is %g N/mm and preload %g mm: the rate must be above 0 and the preload not below", c.Rate/1000, 1000*c.PreloadM)
	}
	return nil
}

// ForceN implements Spring.
func (c Coil) ForceN(x float64) float64 { return c.Rate * (x + c.PreloadM) }

// RateNPerM implements Spring.
func (c Coil) RateNPerM(float64) float64 { return c.Rate }

// EnergyJ implements Spring.
func (c Coil) EnergyJ(x float64) float64 { return c.Rate * x * (x/2 + c.PreloadM) }

// RateForSag is the rate in N/m that sags to x m under a load of n N with the preload as it is.
func (c Coil) RateForSag(loadN, x float64) (float64, error) {
	if !(x+c.PreloadM > 0) || !(loadN > 0) {
		return 0, fmt.Errorf("no coil sags to %g mm under %g N with %g mm of preload", 1000*x, loadN, 1000*c.PreloadM)
	}
	return loadN / (x + c.PreloadM), nil
}

// PreloadForSag is the preload in m that sags to x m under a load in N with this rate.
func (c Coil) PreloadForSag(loadN, x float64) (float64, error) {
	p := loadN/c.Rate - x
	if !(p >= 0) {
		return 0, fmt.Errorf("%.0f N on %.2f N/mm sags only %.1f mm even without preload: a softer coil is needed for %.1f mm", loadN, c.Rate/1000, 1000*loadN/c.Rate, 1000*x)
	}
	return p, nil
}
