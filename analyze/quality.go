package analyze

import "stanchion/ingest"

// Quality is how far the recording can be trusted.
type Quality struct {
	ingest.Quality
	DurationS    Figure  `json:"duration_s"` // recorded, gaps left out
	CutoffHz     float64 `json:"cutoff_hz"`  // of the low-pass that was used
	ZeroOffsetMM Figure  `json:"zero_offset_mm"`
	NoiseMMS     Figure  `json:"noise_floor_mm_s"`
	// SuggestedCutoffHz is a lower cutoff that would bring the noise floor under the limit; absent where none is needed.
	SuggestedCutoffHz Figure `json:"suggested_cutoff_hz"`
	// ShortestReversalS is the shortest reversal time that the filter can show.
	ShortestReversalS Figure `json:"shortest_reversal_s"`
}

func (r *ride) quality() Quality { return Quality{Quality: r.trace.Quality} }
