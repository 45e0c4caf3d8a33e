package analyze

// Travel is how the fork's travel was used while riding.
type Travel struct {
	BinPct       float64     `json:"bin_pct"`             // bin width, percent of travel
	TimeShare    []float64   `json:"time_share"`          // per bin, sums to 1; empty where there was no riding
	Cumulative   []float64   `json:"cumulative"`          // share of time at or under each bin's upper edge
	BelowRange   int         `json:"samples_below_range"` // counted in the first bin
	AboveRange   int         `json:"samples_above_range"` // counted in the last bin
	Q05MM        Figure      `json:"q05_mm"`
	Q25MM        Figure      `json:"q25_mm"`
	Q50MM        Figure      `json:"q50_mm"`
	Q75MM        Figure      `json:"q75_mm"`
	Q95MM        Figure      `json:"q95_mm"`
	Q99MM        Figure      `json:"q99_mm"`
	MaxMM        Figure      `json:"max_mm"`
	MaxPct       Figure      `json:"max_pct"`
	MaxAtS       float64     `json:"max_at_s"`
	BottomOuts   Figure      `json:"bottom_outs"`
	BottomPerMin Figure      `json:"bottom_outs_per_min"`
	BottomHard   Figure      `json:"bottom_outs_hard"`
	Bottoms      []BottomOut `json:"bottom_out_events"`
	TopOuts      Figure      `json:"top_outs"`
	TopOutPerMin Figure      `json:"top_outs_per_min"`
	TopOutHard   Figure      `json:"top_outs_hard"`
	Tops         []TopOut    `json:"top_out_events"`
}

// A BottomOut is one use of the last of the travel.
type BottomOut struct {
	TimeS      float64 `json:"time_s"` // first sample at or over the opening limit
	PeakMM     float64 `json:"peak_mm"`
	PeakPct    float64 `json:"peak_pct"`
	EntryMMS   float64 `json:"entry_mm_s"`
	LargestMMS float64 `json:"largest_mm_s"`  // largest v in the lookback window
	TimeAtEndS float64 `json:"time_at_end_s"` // time at or over the opening limit
	Hard       bool    `json:"hard"`
}

// A TopOut is a rebound stroke that ends at full extension.
type TopOut struct {
	TimeS    float64 `json:"time_s"`     // first sample under the limit
	SpeedMMS float64 `json:"speed_mm_s"` // rebound speed there, positive
	Hard     bool    `json:"hard"`
}

func (r *ride) travel(strokes []Stroke) Travel { return Travel{} }
