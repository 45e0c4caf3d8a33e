package analyze

// The causes of a harsh section, in the order in which they are tried.
const (
	CauseBottoming = "bottoming"
	CausePacking   = "packing"
	CauseChatter   = "chatter"
	CauseBigHits   = "big hits"
	CauseRough     = "rough ground"
)

// A HarshSection is a stretch of the roughest riding. Sections are ranked by exposure, the harshest first.
type HarshSection struct {
	StartS      float64  `json:"start_s"`
	EndS        float64  `json:"end_s"`
	Exposure    float64  `json:"exposure_mm2_s"` // ∫v²dt, mm²/s
	RMSMMS      float64  `json:"rms_mm_s"`
	PeakMMS     float64  `json:"peak_compression_mm_s"`
	FastShare   float64  `json:"fast_share"` // of its time with v ≥ Options.SplitMMS
	MeanMM      float64  `json:"mean_travel_mm"`
	PeakMM      float64  `json:"peak_travel_mm"`
	BottomOuts  int      `json:"bottom_outs"`
	PackingRuns int      `json:"packing_runs"`
	BandHz      Figure   `json:"band_hz"` // centroid of its velocity power
	Causes      []string `json:"causes"`  // first is the cause
	// StartM and EndM are distances, absent without a position channel.
	StartM Figure `json:"start_m"`
	EndM   Figure `json:"end_m"`
}

// Rough is where it was rough.
type Rough struct {
	Sections     []HarshSection `json:"sections"`
	ThresholdMMS Figure         `json:"threshold_mm_s"`
	MedianMMS    Figure         `json:"median_mm_s"` // of riding cells
	PerTenMetres []DistanceCell `json:"per_10_m,omitempty"`
}

// A DistanceCell is the roughness of 10 m of trail.
type DistanceCell struct {
	StartM float64 `json:"start_m"`
	RMSMMS float64 `json:"rms_mm_s"`
}

func (r *ride) rough(strokes []Stroke, bottoms []BottomOut, packing []PackingRun) Rough {
	return Rough{}
}
