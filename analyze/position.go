package analyze

// Position says where the positions of a run come from and how they lie on the clock of the sensor log.
type Position struct {
	Source  string  `json:"source"`  // file of the track, or the log itself
	Fixes   int     `json:"fixes"`   // that were used
	Dropped int     `json:"dropped"` // points that could not be used, outliers included
	RateHz  float64 `json:"rate_hz"` // of the fixes, median
	LengthM Figure  `json:"length_m"`
	// NoiseM and WanderM are the errors of one coordinate, from fix to fix and slow.
	NoiseM  Figure `json:"noise_m"`
	WanderM Figure `json:"wander_m"`
	// ClockOffsetS is what turns the receiver's time into the sensor's.
	ClockMethod     string   `json:"clock_method"` // "stamps", "markers", "activity", "given" or "same clock"
	ClockOffsetS    Figure   `json:"clock_offset_s"`
	ClockSigmaS     Figure   `json:"clock_sigma_s"`
	ClockConfidence float64  `json:"clock_confidence"` // 0 to 1
	Notes           []string `json:"notes,omitempty"`  // for people
}
