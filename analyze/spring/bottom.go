package spring

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
)

// A Bottoming is one bottom-out as the sensor saw it.
type Bottoming struct {
	OpenM   float64 // travel at which it is counted
	EntryMS float64 // compression speed there, m/s
}

// An EndStroke is an estimate of the energy that the spring would have had to take up by the opening travel for bottom-outs
// not to happen: what it holds there, and the motion that was left: E = E_spring(x) + ½·m·v².
//
// The effective mass m is that of the load along the stanchion, m = F·sin α/g: the sprung mass comes down and the wheel stands on the
// ground. Where the wheel was thrown up instead, its mass is far less, so that the estimate is high; tyre, bump stop, end-of-travel damping
// and the load's own work over the last few mm are left out. Damping before that point is in it as it was ridden.
type EndStroke struct {
	OpenM   float64
	MassKg  float64
	HoldsJ  float64   // the spring as it was, by OpenM
	LeftJ   []float64 // motion left, each bottom-out, falling
	EntryMS []float64 // likewise
}

// EndStrokeOf estimates the end-stroke energies of bottom-outs, of which there must be one or more with a speed above 0.
// headAngleDeg is from horizontal.
func EndStrokeOf(s Spring, loadN, headAngleDeg float64, list []Bottoming) (EndStroke, error) {
	if !(loadN > 0) || !(headAngleDeg > 0 && headAngleDeg <= 90) {
		return EndStroke{}, fmt.Errorf("end-stroke energy: a load of %g N at a head angle of %g°: both must be above 0 and the angle at most 90", loadN, headAngleDeg)
	}
	e := EndStroke{MassKg: loadN * math.Sin(headAngleDeg*math.Pi/180) / StandardGravity}
	for _, b := range list {
		if b.EntryMS > 0 && b.OpenM > 0 {
			e.OpenM = b.OpenM
			e.EntryMS = append(e.EntryMS, b.EntryMS)
		}
	}
	if len(e.EntryMS) == 0 {
		return EndStroke{}, errors.New("end-stroke energy: no bottom-out with an entry speed")
	}
	slices.SortFunc(e.EntryMS, func(a, b float64) int { return cmp.Compare(b, a) })
	for _, v := range e.EntryMS {
		e.LeftJ = append(e.LeftJ, e.MassKg*v*v/2)
	}
	e.HoldsJ = s.EnergyJ(e.OpenM)
	return e, nil
}

// NeedJ is the energy by OpenM that would have stopped all but keep of the bottom-outs short of it.
func (e EndStroke) NeedJ(keep int) float64 {
	if keep >= len(e.LeftJ) {
		return e.HoldsJ
	}
	return e.HoldsJ + e.LeftJ[max(0, keep)]
}

// Left is how many of the bottom-outs a spring that takes up energyJ by OpenM would still see.
func (e EndStroke) Left(energyJ float64) int {
	n := 0
	for _, left := range e.LeftJ {
		if e.HoldsJ+left > energyJ {
			n++
		}
	}
	return n
}
