package spring

import (
	"errors"
	"fmt"
)

// Where the dimensions of the chambers come from.
const (
	BasisGiven   = "given"   // by the fork file
	BasisFitted  = "fitted"  // from measured pairs of pressure and sag, the rest typical or given
	BasisTypical = "typical" // those of an ordinary fork of this travel
)

// A Question is what is known about a fork's spring and what is asked.
type Question struct {
	Chambers Chambers // of an air spring
	Basis    string
	FitRMSM  float64 // residual of the fit, where Basis is BasisFitted
	Coil     *Coil   // instead of chambers
	TravelM  float64
	HeadDeg  float64 // head angle from horizontal
	HeadUsed string  // words: why HeadDeg is a guess, "" where it is known

	Pressure Pressure // as it is pumped now, 0 where not known
	Negative Pressure // of a separate negative chamber
	Set      Place    // where it was pumped
	Ride     *Place   // where it will be ridden

	SagM     float64 // as measured at rest with Pressure, 0 where not
	BandM    float64 // measured friction band about it, 0 where not; used where Chambers.FrictionN is not known
	LoadN    float64 // along the stanchion, where there is no measured sag
	LoadFrom string  // words: where sag or load come from

	TargetShare float64     // wanted sag over travel, 0 where none
	Bottoms     []Bottoming // of a run with the setting as it is
}

// check reports what is missing or cannot be.
func (q *Question) check() error {
	switch {
	case !(q.TravelM > 0):
		return errors.New("the fork's travel is not known")
	case q.Coil == nil && !(q.Pressure > 0) && q.TargetShare == 0:
		return errors.New("the pressure is not known")
	case q.Coil == nil && !(q.Pressure > 0) && len(q.Bottoms) > 0:
		return errors.New("the pressure that the run was ridden with is not known")
	case q.SagM > 0 && q.Coil == nil && !(q.Pressure > 0):
		return errors.New("the pressure at which sag was measured is not known")
	case !(q.SagM > 0) && !(q.LoadN > 0):
		return errors.New("neither a measured sag nor a load is known")
	case !(q.BandM >= 0 && q.BandM < q.TravelM):
		return fmt.Errorf("the friction band of %.1f mm is not inside the travel of %.0f mm", 1000*q.BandM, 1000*q.TravelM)
	case !(q.SagM < q.TravelM):
		return fmt.Errorf("the measured sag of %.1f mm is not inside the travel of %.0f mm", 1000*q.SagM, 1000*q.TravelM)
	case !(q.TargetShare >= 0 && q.TargetShare < 0.8):
		return fmt.Errorf("the wanted sag is %g %%, must lie between 0 and 80", 100*q.TargetShare)
	}
	if q.Ride != nil {
		if err := q.Ride.check(); err != nil {
			return err
		}
	}
	return q.Set.check()
}
