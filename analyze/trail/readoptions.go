package trail

import (
	"fmt"
	"math"
)

// ReadingOptions holds every threshold of the reading of a trail.
type ReadingOptions struct {
	SectionM float64 `json:"section_m"` // length of sections where there are no gates
	ProfileM float64 `json:"profile_m"` // step of Profile and of the fit of roughness over speed

	// Harsh places.
	StepM      float64 `json:"harsh_step_m"` // roughness is looked at in steps of this length,
	HarshMinM  float64 `json:"harsh_min_m"`  // and parts of the trail are at least this long
	HarshRatio float64 `json:"harsh_ratio"`  // the harsh parts must be rougher than the calm ones by this factor
	HarshShare float64 `json:"harsh_share"`  // share of the runs that must find a place for it to count as found by most

	// Jumps.
	JumpMinS    float64 `json:"jump_min_s"`     // least air time
	JumpSpeedMS float64 `json:"jump_speed_m_s"` // least speed over ground where it is known
	DeepPct     float64 `json:"deep_pct"`       // travel from which a landing is deep
	JoinM       float64 `json:"join_m"`         // events of different runs closer than this are of one place

	// Braking.
	BrakeMS2     float64 `json:"brake_m_s2"`     // least deceleration of the smoothed speed
	BrakeMinS    float64 `json:"brake_min_s"`    // least duration
	BrakeGapS    float64 `json:"brake_gap_s"`    // shorter breaks in braking are braking
	BrakeSmoothS float64 `json:"brake_smooth_s"` // deceleration is the slope of the speed over this time

	RefSpeedMS  float64 `json:"reference_speed_m_s"` // of roughness at one speed; 0 = the median speed of the runs
	CoachPlaces int     `json:"coach_places"`        // places in the coach's list
}

// DefaultReadingOptions returns the defaults.
func DefaultReadingOptions() ReadingOptions {
	return ReadingOptions{
		SectionM: 100, ProfileM: 10,
		StepM: 2, HarshMinM: 10, HarshRatio: 1.5, HarshShare: 0.5,
		JumpMinS: 0.3, JumpSpeedMS: 2, DeepPct: 80, JoinM: 10,
		BrakeMS2: 1.5, BrakeMinS: 0.5, BrakeGapS: 0.5, BrakeSmoothS: 1,
		CoachPlaces: 5,
	}
}

// check refuses options that make no sense.
func (o *ReadingOptions) check() error {
	for _, v := range []struct {
		name      string
		value     float64
		low, high float64
	}{
		{"section_m", o.SectionM, 1, 1e5}, {"profile_m", o.ProfileM, 1, 1e4},
		{"harsh_step_m", o.StepM, 0.25, 100}, {"harsh_min_m", o.HarshMinM, o.StepM, 1e4},
		{"harsh_ratio", o.HarshRatio, 1, 100}, {"harsh_share", o.HarshShare, 0.01, 1},
		{"jump_min_s", o.JumpMinS, 0.05, 60}, {"jump_speed_m_s", o.JumpSpeedMS, 0, 100}, {"deep_pct", o.DeepPct, 0, 100},
		{"join_m", o.JoinM, 0, 1e4},
		{"brake_m_s2", o.BrakeMS2, 0.01, 100}, {"brake_min_s", o.BrakeMinS, 0, 60}, {"brake_gap_s", o.BrakeGapS, 0, 60},
		{"brake_smooth_s", o.BrakeSmoothS, 0.05, 60},
		{"reference_speed_m_s", o.RefSpeedMS, 0, 100}, {"coach_places", float64(o.CoachPlaces), 0, 1000},
	} {
		if math.IsNaN(v.value) || v.value < v.low || v.value > v.high {
			return fmt.Errorf("option %s is %g: must be %g to %g", v.name, v.value, v.low, v.high)
		}
	}
	return nil
}
