package compare

import (
	"fmt"
	"maps"
)

// Options holds every threshold of a comparison; they are stored with the results.
type Options struct {
	Primary []string        `json:"primary"` // keys judged first
	Context []string        `json:"context"` // keys without verdict; one that ends in "." stands for all it begins
	Steps   map[string]Step `json:"smallest_change_worth_feeling"`
	// Varied names the settings (keys of Run.Settings) that were meant to differ between the sets.
	Varied []string `json:"varied,omitempty"`
	// Tolerances are how far numeric settings may lie apart and still count as the same, by key.
	Tolerances map[string]float64 `json:"setting_tolerances"`

	Power    float64 `json:"power"` // of the test that RunsNeeded is for
	Align    Method  `json:"align"` // empty: the first of markers, distance, speed and roughness that can be used
	Band     float64 `json:"warp_band_share"`
	WarpCost float64 `json:"warp_cost"`   // of each step that warps, in squared standard deviations
	TrimCost float64 `json:"trim_cost"`   // of each cell trimmed from an end, likewise
	MinMatch float64 `json:"min_quality"` // correlation under which runs are not one trail, see Alignment
	// KeepDoubtful judges runs that do not look like the same trail as the rest too, with a warning.
	KeepDoubtful bool    `json:"keep_doubtful"`
	SectionS     float64 `json:"section_s"` // aimed-at length of a section of the trail
	BlockS       int     `json:"block_s"`   // of the bootstrap, whole s
	Resamples    int     `json:"resamples"`
	Seed         uint64  `json:"seed"` // 0: derived from the data

	RideTimePct float64 `json:"ride_time_pct"` // difference in riding time that is worth a warning
	SagMM       float64 `json:"static_sag_mm"` // difference in static sag that is worth a warning
	DriftShare  float64 `json:"drift_share"`   // rank separation of the sets in the order ridden that is worth a warning
}

// DefaultOptions returns the defaults. The caller may change what is returned.
func DefaultOptions() Options {
	return Options{
		Primary: DefaultPrimary(), Context: DefaultContext(), Steps: DefaultSteps(),
		Tolerances: map[string]float64{"temperature_c": 5, "rider_kg": 2},
		Power:      0.8, Band: 0.10, WarpCost: 0.3, TrimCost: 0.5, MinMatch: 0.55, SectionS: 15, BlockS: 5, Resamples: 2000,
		RideTimePct: 3, SagMM: 2, DriftShare: 0.75,
	}
}

// clone copies what Options points to, so that results do not share it with the caller.
func (o Options) clone() Options {
	o.Primary, o.Context, o.Varied = append([]string{}, o.Primary...), append([]string{}, o.Context...), append([]string(nil), o.Varied...)
	o.Steps, o.Tolerances = maps.Clone(o.Steps), maps.Clone(o.Tolerances)
	return o
}

// check refuses options that make no sense.
func (o *Options) check() error {
	for _, c := range []struct {
		name          string
		value, lo, hi float64
	}{
		{"power", o.Power, 0.01, 0.999}, {"warp_band_share", o.Band, 0, 1}, {"warp_cost", o.WarpCost, 0, 1e6}, {"trim_cost", o.TrimCost, 0, 1e6},
		{"min_quality", o.MinMatch, -1, 1}, {"section_s", o.SectionS, 1, 1e6}, {"block_s", float64(o.BlockS), 1, 1e6},
		{"resamples", float64(o.Resamples), 1, 1e6}, {"ride_time_pct", o.RideTimePct, 0, 1e6}, {"static_sag_mm", o.SagMM, 0, 1e6}, {"drift_share", o.DriftShare, 0, 1e6},
	} {
		if !(c.value >= c.lo && c.value <= c.hi) {
			return fmt.Errorf("option %s is %g: must be %g to %g", c.name, c.value, c.lo, c.hi)
		}
	}
	switch o.Align {
	case "", ByMarkers, ByDistance, BySpeed, ByRoughness:
		return nil
	}
	return fmt.Errorf("option align is %q: must be empty, %s, %s, %s or %s", o.Align, ByMarkers, ByDistance, BySpeed, ByRoughness)
}
