package analyze

// Options holds every threshold of the analysis. Field names carry the unit; pct means percent of the fork's travel.
// The options used are stored with the results.
type Options struct {
	// Filter and velocity. CutoffHz 0 means min(100, 0.2·rate).
	CutoffHz          float64 `json:"cutoff_hz"`
	FilterOrder       int     `json:"filter_order"`
	NoiseWindowS      float64 `json:"noise_window_s"`       // the quietest window of this length gives the noise floor
	NoiseWarnMMS      float64 `json:"noise_warn_mm_s"`      // noise floor above which to warn
	RateWarnHz        float64 `json:"rate_warn_hz"`         // below: a 30 ms stroke has under 10 samples
	RateMinVelocityHz float64 `json:"rate_min_velocity_hz"` // below: no figure that uses velocity
	ZeroCheckMM       float64 `json:"zero_check_mm"`        // tolerated offset of full extension
	ZeroQuantile      float64 `json:"zero_quantile"`        // this quantile of unfiltered travel is full extension,
	ZeroMaxPct        float64 `json:"zero_max_pct"`         // where it lies under this

	// Cells and riding time.
	CellS           float64 `json:"cell_s"`
	CellWindowS     float64 `json:"cell_window_s"`
	RidingMMS       float64 `json:"riding_mm_s"`      // RMS speed above which a cell is riding
	RidingPauseS    float64 `json:"riding_pause_s"`   // shorter pauses are riding
	StationaryMMS   float64 `json:"stationary_mm_s"`  // RMS speed below which a cell is stationary
	StationaryMinS  float64 `json:"stationary_min_s"` // shortest stationary run for static sag
	StaticSagMinPct float64 `json:"static_sag_min_pct"`
	// In a sag log: the most creep of a fork at rest, and the most speed at the end of a slow letting-go.
	SettleDriftMMS  float64 `json:"settle_drift_mm_s"`
	SettleArriveMMS float64 `json:"settle_arrive_mm_s"`

	// Air.
	ExtendedPct  float64 `json:"extended_pct"`
	ExtendedMinS float64 `json:"extended_min_s"`
	JumpMinS     float64 `json:"jump_min_s"`

	// Bottom-out and top-out.
	BottomOpenPct   float64 `json:"bottom_open_pct"`
	BottomClosePct  float64 `json:"bottom_close_pct"`
	BottomHardMMS   float64 `json:"bottom_hard_mm_s"`
	BottomLookbackS float64 `json:"bottom_lookback_s"`
	TopOutPct       float64 `json:"top_out_pct"`
	TopOutHardMMS   float64 `json:"top_out_hard_mm_s"`

	// Strokes and reversals.
	StrokeGateMM float64 `json:"stroke_gate_mm"`
	ShortStrokeS float64 `json:"short_stroke_s"`
	ReversalMMS  float64 `json:"reversal_mm_s"`
	EventsMin    int     `json:"events_min"` // a mean or quantile over fewer events is absent
	EventsFew    int     `json:"events_few"` // over fewer events it carries a caveat

	// Velocity.
	VelocityBinMMS   float64 `json:"velocity_bin_mm_s"`
	VelocityLimitMMS float64 `json:"velocity_limit_mm_s"`
	StillMMS         float64 `json:"still_mm_s"`
	SplitMMS         float64 `json:"split_mm_s"` // low-speed / high-speed; a setting, no published value exists
	// Where in the travel DepthSpeeds are taken, set on simulated forks.
	ReboundDepthPct     [2]float64 `json:"rebound_depth_pct"`
	CompressionDepthPct float64    `json:"compression_depth_pct"` // and deeper

	// Frequency.
	PSDWindowS float64 `json:"psd_window_s"`
	PeakRatio  float64 `json:"peak_ratio"` // over the band's median for a peak to be named
	// A peak is compared with what lies within PeakReachHz on either side, which must be under PeakContrast of it.
	PeakReachHz  float64    `json:"peak_reach_hz"`
	PeakContrast float64    `json:"peak_contrast"`
	ChassisHz    [2]float64 `json:"chassis_hz"`
	WheelHz      [2]float64 `json:"wheel_hz"`
	ChatterHz    [2]float64 `json:"chatter_hz"`

	// Control.
	PackingValleys    int     `json:"packing_valleys"`
	PackingGapS       float64 `json:"packing_gap_s"`
	PackingDepthPct   float64 `json:"packing_depth_pct"`
	ReturnMinPct      float64 `json:"return_min_pct"`
	ReturnShare       float64 `json:"return_share"`
	ReturnLimitS      float64 `json:"return_limit_s"`
	DecayMinPct       float64 `json:"decay_min_pct"`
	DecayEquilibriumS float64 `json:"decay_equilibrium_s"`
	DecayWindowS      float64 `json:"decay_window_s"`
	DecayEndS         float64 `json:"decay_end_s"`
	DecayEndShare     float64 `json:"decay_end_share"`
	DecayMinR2        float64 `json:"decay_min_r2"`
	OvershootMin      float64 `json:"overshoot_min"`
	BootstrapN        int     `json:"bootstrap_n"`
	BootstrapSeed     uint64  `json:"bootstrap_seed"` // 0: derived from the samples
	DiveCutoffHz      float64 `json:"dive_cutoff_hz"`
	DivePct           float64 `json:"dive_pct"`
	DiveMinS          float64 `json:"dive_min_s"`
	DiveDecelMS2      float64 `json:"dive_decel_m_s2"`
	// Deceleration is the difference of two means over DecelMeanS whose centres are DecelStepS apart. Over 1 s it is
	// exact for a steady deceleration, also where the speed came once a second and was held.
	DecelStepS float64 `json:"decel_step_s"`
	DecelMeanS float64 `json:"decel_mean_s"`

	// Roughness.
	HarshQuantile float64 `json:"harsh_quantile"`
	HarshGapS     float64 `json:"harsh_gap_s"`
	HarshMinS     float64 `json:"harsh_min_s"`
	// SectionWindowS is the Hann window of a section's PSD: sections last 1.5 s and more, too short for the window of
	// the whole recording. It resolves 1 Hz and gives at least two half-overlapping windows.
	SectionWindowS float64 `json:"section_window_s"`
	ChatterShare   float64 `json:"chatter_share"`   // of velocity power, in wheel + chatter bands; see testdata/chatter_share.md
	ChatterMaxPct  float64 `json:"chatter_max_pct"` // peak travel below which chatter can be the cause
	BigHitPct      float64 `json:"big_hit_pct"`
	BigHitMMS      float64 `json:"big_hit_mm_s"`

	// StaticSag overrides the static sag found in the run: from a sag log of its own or a marked window.
	StaticSag *SagOverride `json:"static_sag_override,omitempty"`
	// SagWindow is a stretch of the recording at rest that the user marked; static sag is its median.
	SagWindow *Span `json:"sag_window,omitempty"`
}

// SagOverride is a static sag that was measured apart from the run.
type SagOverride struct {
	SagMM  float64 `json:"sag_mm"`
	Source string  `json:"source"` // for people: "sag log sag.csv, mean of two settles"
	// FrictionBandMM is the friction band of the two settles, absent where there were not two.
	FrictionBandMM Figure `json:"friction_band_mm"`
}

// DefaultOptions returns the defaults that the figure definitions state.
func DefaultOptions() Options {
	return Options{
		FilterOrder: 4, NoiseWindowS: 2, NoiseWarnMMS: 20, RateWarnHz: 333, RateMinVelocityHz: 100, ZeroCheckMM: 2,
		ZeroQuantile: 0.005, ZeroMaxPct: 5,
		CellS: 0.25, CellWindowS: 1, RidingMMS: 20, RidingPauseS: 3, StationaryMMS: 5, StationaryMinS: 2, StaticSagMinPct: 5,
		SettleDriftMMS: 0.5, SettleArriveMMS: 30,
		ExtendedPct: 3, ExtendedMinS: 0.150, JumpMinS: 0.300,
		BottomOpenPct: 97, BottomClosePct: 92, BottomHardMMS: 1000, BottomLookbackS: 0.050, TopOutPct: 2, TopOutHardMMS: 500,
		StrokeGateMM: 3, ShortStrokeS: 0.030, ReversalMMS: 100, EventsMin: 5, EventsFew: 20,
		VelocityBinMMS: 100, VelocityLimitMMS: 5000, StillMMS: 5, SplitMMS: 200,
		ReboundDepthPct: [2]float64{15, 30}, CompressionDepthPct: 15,
		PSDWindowS: 4, PeakRatio: 3, PeakReachHz: 2, PeakContrast: 0.8, ChassisHz: [2]float64{0.5, 4}, WheelHz: [2]float64{8, 25}, ChatterHz: [2]float64{25, 50},
		PackingValleys: 4, PackingGapS: 0.250, PackingDepthPct: 6,
		ReturnMinPct: 15, ReturnShare: 0.10, ReturnLimitS: 0.5,
		DecayMinPct: 8, DecayEquilibriumS: 1, DecayWindowS: 0.8, DecayEndS: 0.3, DecayEndShare: 0.15, DecayMinR2: 0.9,
		OvershootMin: 0.05, BootstrapN: 2000,
		DiveCutoffHz: 0.7, DivePct: 10, DiveMinS: 0.5, DiveDecelMS2: 1.5, DecelStepS: 1, DecelMeanS: 0.5,
		HarshQuantile: 0.85, HarshGapS: 1, HarshMinS: 1.5, SectionWindowS: 1, ChatterShare: 0.8, ChatterMaxPct: 50, BigHitPct: 40, BigHitMMS: 1500,
	}
}
