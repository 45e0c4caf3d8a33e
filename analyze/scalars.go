package analyze

import "fmt"

// A Scalar is one named figure of a result, for tables and comparisons.
type Scalar struct {
	Key    string // stable, e.g. "sag.dynamic_median_mm"
	Group  string // "Sag", "Travel", "Strokes", …
	Label  string // for people
	Unit   string // "mm", "mm/s", "s", "%", "Hz", "1/min", "share" (0 to 1), "" for counts and ratios
	Figure Figure
}

// Scalars lists every scalar figure of r, always in the same order.
func (r *Result) Scalars() []Scalar {
	groups := []func() []Scalar{
		r.rideScalars, r.sagScalars, r.travelScalars, r.strokeScalars, r.velocityScalars, r.spectrumScalars,
		r.controlScalars, r.qualityScalars,
	}
	var out []Scalar
	for _, g := range groups {
		out = append(out, g()...)
	}
	return out
}

// group sets the group of all scalars of a list.
func group(name string, list []Scalar) []Scalar {
	for i := range list {
		list[i].Group = name
	}
	return list
}

func (r *Result) rideScalars() []Scalar {
	return append(group("Ride", []Scalar{
		{"ride.duration_s", "", "recorded", "s", r.Ride.DurationS},
		{"ride.riding_s", "", "riding", "s", r.Ride.RidingS},
	}), group("Air", []Scalar{
		{"air.extended_spells", "", "extended spells (possible air)", "", r.Air.SpellsN},
		{"air.jumps", "", "jumps (long extended spells)", "", r.Air.Jumps},
		{"air.extended_s", "", "time in extended spells", "s", r.Air.ExtendedS},
	})...)
}

func (r *Result) sagScalars() []Scalar {
	s := &r.Sag
	return group("Sag", []Scalar{
		{"sag.static_mm", "", "static sag", "mm", s.StaticMM},
		{"sag.static_pct", "", "static sag", "%", s.StaticPct},
		{"sag.dynamic_mean_mm", "", "dynamic sag, mean", "mm", s.DynamicMeanMM},
		{"sag.dynamic_mean_pct", "", "dynamic sag, mean", "%", s.DynamicMeanPct},
		{"sag.dynamic_median_mm", "", "dynamic sag, median", "mm", s.DynamicMM},
		{"sag.dynamic_median_pct", "", "dynamic sag, median", "%", s.DynamicPct},
		{"sag.friction_band_mm", "", "friction band", "mm", s.FrictionBandMM},
	})
}

func (r *Result) travelScalars() []Scalar {
	t := &r.Travel
	return group("Travel", []Scalar{
		{"travel.q05_mm", "", "travel, 5 % quantile", "mm", t.Q05MM},
		{"travel.q25_mm", "", "travel, 25 % quantile", "mm", t.Q25MM},
		{"travel.q50_mm", "", "travel, median", "mm", t.Q50MM},
		{"travel.q75_mm", "", "travel, 75 % quantile", "mm", t.Q75MM},
		{"travel.q95_mm", "", "travel, 95 % quantile", "mm", t.Q95MM},
		{"travel.q99_mm", "", "travel, 99 % quantile", "mm", t.Q99MM},
		{"travel.max_mm", "", "deepest travel", "mm", t.MaxMM},
		{"travel.max_pct", "", "deepest travel", "%", t.MaxPct},
		{"travel.bottom_outs", "", "bottom-outs", "", t.BottomOuts},
		{"travel.bottom_outs_per_min", "", "bottom-outs per minute", "1/min", t.BottomPerMin},
		{"travel.bottom_outs_hard", "", "hard bottom-outs", "", t.BottomHard},
		{"travel.top_outs", "", "top-outs", "", t.TopOuts},
		{"travel.top_outs_per_min", "", "top-outs per minute", "1/min", t.TopOutPerMin},
		{"travel.top_outs_hard", "", "hard top-outs", "", t.TopOutHard},
	})
}

func (r *Result) strokeScalars() []Scalar {
	summary := func(key, name string, s *StrokeSummary) []Scalar {
		return []Scalar{
			{"strokes." + key + ".count", "", name + " strokes", "", s.Count},
			{"strokes." + key + ".per_min", "", name + " strokes per minute", "1/min", s.PerMin},
			{"strokes." + key + ".mean_duration_s", "", name + " stroke, mean duration", "s", s.MeanDurationS},
			{"strokes." + key + ".median_duration_s", "", name + " stroke, median duration", "s", s.MedianDurationS},
			{"strokes." + key + ".q95_amplitude_mm", "", name + " stroke length, 95 % quantile", "mm", s.Q95AmplitudeMM},
			{"strokes." + key + ".median_peak_mm_s", "", name + " stroke peak speed, median", "mm/s", s.MedianPeakMMS},
			{"strokes." + key + ".q95_peak_mm_s", "", name + " stroke peak speed, 95 % quantile", "mm/s", s.Q95PeakMMS},
			{"strokes." + key + ".short_share", "", name + " strokes that are short", "share", s.ShortShare},
		}
	}
	out := summary("compression", "compression", &r.Strokes.Compression)
	out = append(out, summary("rebound", "rebound", &r.Strokes.Rebound)...)
	out = append(out, Scalar{"strokes.mean_duration_s", "", "stroke, mean duration", "s", r.Strokes.MeanDurationS})
	cr, rc := &r.Reversals.CompressionToRebound, &r.Reversals.ReboundToCompression
	return append(group("Strokes", out), group("Reversals", []Scalar{
		{"reversals.compression_to_rebound.median_s", "", "reversal, compression to rebound, median", "s", cr.MedianS},
		{"reversals.compression_to_rebound.q90_s", "", "reversal, compression to rebound, 90 % quantile", "s", cr.Q90S},
		{"reversals.rebound_to_compression.median_s", "", "reversal, rebound to compression, median", "s", rc.MedianS},
		{"reversals.rebound_to_compression.q90_s", "", "reversal, rebound to compression, 90 % quantile", "s", rc.Q90S},
	})...)
}

func (r *Result) velocityScalars() []Scalar {
	v, mid := &r.Velocity, r.Options.ReboundDepthPct
	speeds := func(key string, s *SpeedSummary) []Scalar {
		return []Scalar{
			{"velocity." + key + ".mean_mm_s", "", key + " speed, mean", "mm/s", s.MeanMMS},
			{"velocity." + key + ".median_mm_s", "", key + " speed, median", "mm/s", s.MedianMMS},
			{"velocity." + key + ".q95_mm_s", "", key + " speed, 95 % quantile", "mm/s", s.Q95MMS},
			{"velocity." + key + ".q99_mm_s", "", key + " speed, 99 % quantile", "mm/s", s.Q99MMS},
			{"velocity." + key + ".max_mm_s", "", key + " speed, largest", "mm/s", s.MaxMMS},
		}
	}
	out := append(speeds("compression", &v.Compression), speeds("rebound", &v.Rebound)...)
	return group("Velocity", append(out, []Scalar{
		{"velocity.at_depth.rebound_mean_mm_s", "", fmt.Sprintf("rebound speed at %g–%g %% travel", mid[0], mid[1]), "mm/s", v.AtDepth.ReboundMMS},
		{"velocity.at_depth.compression_q70_mm_s", "", fmt.Sprintf("compression speed past %g %% travel", r.Options.CompressionDepthPct), "mm/s", v.AtDepth.CompressionQ70MMS},
		{"velocity.rebound_to_compression_ratio", "", "rebound to compression speed, 95 % quantiles", "", v.ReboundRatio},
		{"velocity.still_share", "", "time still", "share", v.Regimes.Still},
		{"velocity.low_speed_compression_share", "", "time in low-speed compression", "share", v.Regimes.LowCompression},
		{"velocity.high_speed_compression_share", "", "time in high-speed compression", "share", v.Regimes.HighCompression},
		{"velocity.low_speed_rebound_share", "", "time in low-speed rebound", "share", v.Regimes.LowRebound},
		{"velocity.high_speed_rebound_share", "", "time in high-speed rebound", "share", v.Regimes.HighRebound},
		{"velocity.travelled_m", "", "way that the fork moved in all", "m", v.TravelledM},
	}...))
}

func (r *Result) spectrumScalars() []Scalar {
	out := []Scalar{{"spectrum.windows", "", "windows averaged", "", r.Spectrum.Windows}}
	for _, b := range r.Spectrum.Bands {
		out = append(out, []Scalar{
			{"spectrum." + b.Name + ".travel_power_mm2", "", b.Name + " band, power of travel", "mm²", b.TravelMM2},
			{"spectrum." + b.Name + ".velocity_power_mm2_s2", "", b.Name + " band, power of velocity", "mm²/s²", b.VelocityMM2},
			{"spectrum." + b.Name + ".centroid_hz", "", b.Name + " band, band frequency", "Hz", b.CentroidHz},
			{"spectrum." + b.Name + ".peak_hz", "", b.Name + " band, peak", "Hz", b.PeakHz},
		}...)
	}
	return group("Frequency", out)
}

func (r *Result) controlScalars() []Scalar {
	p, b, d := &r.Packing, &r.Return, &r.Damping
	out := group("Control", []Scalar{
		{"packing.count", "", "packing events", "", p.Count},
		{"packing.per_min", "", "packing events per minute", "1/min", p.PerMin},
		{"packing.deepest_valley_mm", "", "deepest packed valley", "mm", p.DeepestMM},
		{"packing.ride_height_loss_mm", "", "ride-height loss", "mm", p.RideHeightLossMM},
		{"packing.sink_in_rough_pct", "", "sink in rough ground", "%", p.SinkInRoughPct},
		{"packing.reference_mm", "", "sag that packing is measured from", "mm", p.ReferenceMM},
		{"return.median_s", "", "return after a hit, median", "s", b.MedianS},
		{"return.q90_s", "", "return after a hit, 90 % quantile", "s", b.Q90S},
		{"return.not_back_share", "", "hits not returned from in time", "share", b.NotBackShare},
		{"damping.zeta", "", "damping ratio, median", "", d.Zeta},
		{"damping.zeta_low", "", "damping ratio, 95 % interval from", "", d.ZetaLow},
		{"damping.zeta_high", "", "damping ratio, 95 % interval to", "", d.ZetaHigh},
		{"damping.natural_hz", "", "natural frequency, median", "Hz", d.NaturalHz},
		{"damping.no_overshoot", "", "decays without overshoot", "", d.NoOvershoot},
		{"brake_dive.count", "", "long dives", "", r.BrakeDive.Count},
		{"brake_dive.confirmed", "", "long dives under braking", "", r.BrakeDive.Confirmed},
	})
	return append(out, group("Rough ground", []Scalar{
		{"rough.threshold_mm_s", "", "roughness that counts as harsh, RMS", "mm/s", r.Rough.ThresholdMMS},
		{"rough.median_mm_s", "", "roughness, median RMS", "mm/s", r.Rough.MedianMMS},
	})...)
}

func (r *Result) qualityScalars() []Scalar {
	q := &r.Quality
	return group("Recording", []Scalar{
		{"quality.duration_s", "", "recorded without gaps", "s", q.DurationS},
		{"quality.zero_offset_mm", "", "reading at full extension", "mm", q.ZeroOffsetMM},
		{"quality.noise_floor_mm_s", "", "velocity noise floor, RMS", "mm/s", q.NoiseMMS},
		{"quality.suggested_cutoff_hz", "", "cutoff that would calm the noise", "Hz", q.SuggestedCutoffHz},
		{"quality.shortest_reversal_s", "", "shortest reversal the filter can show", "s", q.ShortestReversalS},
	})
}
