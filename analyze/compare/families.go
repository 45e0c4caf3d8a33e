package compare

import "strings"

// A Family groups figures that are judged together.
type Family string

// The families.
const (
	Primary   Family = "primary"
	Secondary Family = "secondary"
	Context   Family = "context" // says what was ridden or recorded: no verdict
)

// DefaultPrimary lists the figures that are judged first: how high and how deep the fork rides, how fast it moves each way and
// how the two relate, how fast it comes back, and whether it sinks or follows the ground in rough. The choice is ours. Figures that repeat
// one another (percent and mm, mean and median) are not in it twice.
func DefaultPrimary() []string {
	return []string{
		"sag.dynamic_median_mm",
		"travel.q95_mm",
		"velocity.compression.q95_mm_s",
		"velocity.rebound.q95_mm_s",
		"velocity.rebound_to_compression_ratio",
		"reversals.compression_to_rebound.median_s",
		"return.median_s",
		"packing.sink_in_rough_pct",
		"rough.median_mm_s",
	}
}

// DefaultContext lists figures about the ride, the recording or the analysis, and figures that repeat another one in a
// different unit or depend on how long the recording is. A key that ends in "." stands for all that begin with it.
func DefaultContext() []string {
	return []string{
		"ride.", "quality.",
		"sag.static_mm", "sag.static_pct", "sag.friction_band_mm", // measured at rest
		"sag.dynamic_mean_pct", "sag.dynamic_median_pct", "travel.q50_mm", "travel.max_pct", // repeat others
		"travel.bottom_outs", "travel.bottom_outs_hard", "travel.top_outs", "travel.top_outs_hard", // grow with length
		"strokes.compression.count", "strokes.rebound.count", "velocity.travelled_m", "packing.count",
		"air.", "brake_dive.", "damping.no_overshoot", "damping.zeta_low", "damping.zeta_high",
		"packing.reference_mm", "rough.threshold_mm_s", "spectrum.windows",
	}
}

// family is the family of the figure with this key.
func (o *Options) family(key string) Family {
	for _, k := range o.Primary {
		if k == key {
			return Primary
		}
	}
	for _, k := range o.Context {
		if k == key || (strings.HasSuffix(k, ".") && strings.HasPrefix(key, k)) {
			return Context
		}
	}
	return Secondary
}

// A Step is the smallest change of a figure worth feeling: in the figure's unit, or relative as a share of the value in A.
type Step struct {
	Value    float64 `json:"value"`
	Relative bool    `json:"relative,omitempty"`
}

// DefaultSteps are the smallest changes worth feeling, by key. They are our choice, made to be edited: no published
// threshold of what a rider feels in these figures is known to us.
func DefaultSteps() map[string]Step {
	mm, share := Step{Value: 3}, Step{Value: 0.02}
	five, ten, twenty := Step{0.05, true}, Step{0.10, true}, Step{0.20, true}
	steps := map[string]Step{
		"sag.dynamic_median_mm": {Value: 2}, "sag.dynamic_mean_mm": {Value: 2}, "sag.static_mm": {Value: 2}, "sag.friction_band_mm": {Value: 2},
		"sag.static_pct": {Value: 1.5}, "sag.dynamic_mean_pct": {Value: 1.5}, "sag.dynamic_median_pct": {Value: 1.5},
		"travel.max_mm": {Value: 5}, "travel.max_pct": {Value: 3}, "packing.deepest_valley_mm": {Value: 5},
		"packing.ride_height_loss_mm": {Value: 2}, "packing.sink_in_rough_pct": {Value: 2},
		"travel.bottom_outs_per_min": {Value: 0.5}, "travel.top_outs_per_min": {Value: 0.5}, "packing.per_min": {Value: 0.5},
		"velocity.rebound_to_compression_ratio": {Value: 0.05},
		"return.not_back_share":                 {Value: 0.05},
		"damping.zeta":                          {Value: 0.05}, "damping.natural_hz": {Value: 0.1},
		"rough.median_mm_s": five, "strokes.mean_duration_s": five,
		"return.median_s": ten, "return.q90_s": ten,
	}
	more := func(step Step, prefix string, keys ...string) {
		for _, k := range keys {
			steps[prefix+k] = step
		}
	}
	more(mm, "travel.", "q05_mm", "q25_mm", "q50_mm", "q75_mm", "q95_mm", "q99_mm")
	more(share, "velocity.", "still_share", "low_speed_compression_share", "high_speed_compression_share", "low_speed_rebound_share", "high_speed_rebound_share")
	for _, side := range []string{"compression.", "rebound."} {
		more(five, "velocity."+side, "mean_mm_s", "median_mm_s", "q95_mm_s", "q99_mm_s")
		more(ten, "velocity."+side, "max_mm_s")
		more(five, "strokes."+side, "per_min", "mean_duration_s", "median_duration_s", "q95_amplitude_mm", "median_peak_mm_s", "q95_peak_mm_s")
		more(share, "strokes."+side, "short_share")
	}
	more(five, "velocity.at_depth.", "rebound_mean_mm_s", "compression_q70_mm_s")
	for _, turn := range []string{"compression_to_rebound.", "rebound_to_compression."} {
		more(ten, "reversals."+turn, "median_s", "q90_s")
	}
	for _, band := range []string{"chassis.", "wheel.", "chatter."} {
		more(twenty, "spectrum."+band, "travel_power_mm2", "velocity_power_mm2_s2")
		more(five, "spectrum."+band, "centroid_hz", "peak_hz")
	}
	return steps
}

// step is the smallest change worth feeling of a figure whose value in A is about a; ok is false where there is none.
func (o *Options) step(key string, a float64) (float64, bool) {
	s, ok := o.Steps[key]
	if !ok || !(s.Value > 0) {
		return 0, false
	}
	if !s.Relative {
		return s.Value, true
	}
	v := s.Value * max(a, -a)
	return v, v > 0
}
