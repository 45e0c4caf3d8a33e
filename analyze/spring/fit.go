package spring

import (
	"errors"
	"fmt"
	"math"
)

// A Measured sag belongs to the pressure at which it was taken.
type Measured struct {
	Pressure Pressure `json:"pressure"` // positive chamber, at full extension
	SagM     float64  `json:"-"`        // at rest
}

// FitLoad is the effective load in N along the stanchion that gives a measured sag: the spring's force there, gas at rest. It takes
// up, with the rider's weight, whatever the chambers' dimensions have wrong by a constant factor.
func (a Air) FitLoad(sagM float64) (float64, error) {
	if !(sagM > 0 && sagM < a.TravelM) {
		return 0, fmt.Errorf("a sag of %.1f mm must lie inside the travel of %.0f mm", 1000*sagM, 1000*a.TravelM)
	}
	load := a.Slow().ForceN(sagM)
	if !(load > 0) {
		return 0, fmt.Errorf("at %.1f mm these chambers push with %.0f N: with a load there must be a force; look at the dimensions and pressures", 1000*sagM, load)
	}
	return load, nil
}

// A ChamberFit is what measured pairs of pressure and sag say about chambers that are not known.
type ChamberFit struct {
	Chambers Chambers
	LoadN    float64
	RMSM     float64 // residual sag, m; 0 for two pairs that fit
}

// The search for the volume of the negative chamber (or of the positive one where there is none), as multiples of what the piston sweeps.
const (
	leastNegative, mostNegative = 0.04, 4.0
	leastPositive, mostPositive = 1.05, 8.0
	searchSteps                 = 64
	mostResidualM               = 0.003 // above what friction explains: common practice, no source
)

var errNoChamber = errors.New("the measured pairs fit no chamber: sag must fall as pressure rises, by a sensible amount; measure each twice, settled from above and from below, and take the mean")

// FitChambers finds, from two or more measured pairs under one rider, the volume of the negative chamber, which governs the
// first half of the travel, and the load, the rest of c held. The squares of the sag errors are made least: a search over a
// geometric grid, then golden section around its best.
func FitChambers(c Chambers, pairs []Measured, negative Pressure, pa float64) (ChamberFit, error) {
	if err := c.Validate(); err != nil {
		return ChamberFit{}, err
	}
	if err := checkPairs(pairs, c.TravelM); err != nil {
		return ChamberFit{}, err
	}
	with := func(share float64) Chambers {
		d := c
		if c.NegativeAreaM2 > 0 {
			d.NegativeVolumeM3 = share * c.NegativeAreaM2 * c.TravelM
		} else {
			d.PositiveVolumeM3 = share*c.PositiveAreaM2*c.TravelM + float64(c.Spacers)*c.SpacerM3
		}
		return d
	}
	least, most := leastNegative, mostNegative
	if c.NegativeAreaM2 == 0 {
		least, most = leastPositive, mostPositive
	}
	squares := func(logShare float64) float64 { return sagSquares(with(math.Exp(logShare)), pairs, negative, pa) }
	lo, hi := math.Log(least), math.Log(most)
	at := func(i int) float64 { return lo + (hi-lo)*float64(i)/searchSteps }
	best := 0
	for i := 1; i <= searchSteps; i++ {
		if squares(at(i)) < squares(at(best)) {
			best = i
		}
	}
	if best == 0 || best == searchSteps {
		return ChamberFit{}, errNoChamber
	}
	share := math.Exp(golden(at(best-1), at(best+1), squares))
	fit := ChamberFit{Chambers: with(share)}
	fit.LoadN = meanLoad(fit.Chambers, pairs, negative, pa)
	fit.RMSM = math.Sqrt(sagSquares(fit.Chambers, pairs, negative, pa) / float64(len(pairs)))
	if !(fit.RMSM <= mostResidualM) {
		return ChamberFit{}, errNoChamber
	}
	return fit, nil
}

func checkPairs(pairs []Measured, travelM float64) error {
	if len(pairs) < 2 {
		return errors.New("two or more pairs of pressure and sag are needed")
	}
	low, high := pairs[0].Pressure, pairs[0].Pressure
	for _, m := range pairs {
		if !(m.Pressure > 0) || !(m.SagM > 0 && m.SagM < travelM) {
			return fmt.Errorf("a pair of %.1f psi and %.1f mm: the pressure must be above 0 and the sag inside the travel", m.Pressure.PSI(), 1000*m.SagM)
		}
		low, high = min(low, m.Pressure), max(high, m.Pressure)
	}
	if high < 1.1*low {
		return errors.New("the measured pressures must differ by 10 % or more")
	}
	return nil
}

// meanLoad is the mean of the loads that the pairs tell.
func meanLoad(c Chambers, pairs []Measured, negative Pressure, pa float64) float64 {
	sum := 0.0
	for _, m := range pairs {
		sum += c.fill(m.Pressure, negative, pa).Slow().ForceN(m.SagM)
	}
	return sum / float64(len(pairs))
}

// sagSquares is the sum of squared sag errors in m², infinite where the mean load cannot be carried.
func sagSquares(c Chambers, pairs []Measured, negative Pressure, pa float64) float64 {
	load, sum := meanLoad(c, pairs, negative, pa), 0.0
	for _, m := range pairs {
		x, err := SagM(c.fill(m.Pressure, negative, pa).Slow(), c.TravelM, load)
		if err != nil {
			return math.Inf(1)
		}
		sum += (x - m.SagM) * (x - m.SagM)
	}
	return sum
}

// golden is the place of the least value of f between lo and hi, where f has one valley, to about 1e-9.
func golden(lo, hi float64, f func(float64) float64) float64 {
	ratio := (math.Sqrt(5) - 1) / 2
	a, b := hi-ratio*(hi-lo), lo+ratio*(hi-lo)
	fa, fb := f(a), f(b)
	for range 60 {
		if fa < fb {
			hi, b, fb = b, a, fa
			a = hi - ratio*(hi-lo)
			fa = f(a)
		} else {
			lo, a, fa = a, b, fb
			b = lo + ratio*(hi-lo)
			fb = f(b)
		}
	}
	return (lo + hi) / 2
}
