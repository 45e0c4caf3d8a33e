package analyze

// SpeedSummary is about speeds of one direction while riding, samples with |v| ≥ Options.StillMMS.
type SpeedSummary struct {
	MeanMMS   Figure `json:"mean_mm_s"`
	MedianMMS Figure `json:"median_mm_s"`
	Q95MMS    Figure `json:"q95_mm_s"`
	Q99MMS    Figure `json:"q99_mm_s"`
	MaxMMS    Figure `json:"max_mm_s"`
}

// Regimes are five exclusive shares of riding time that sum to 1.
type Regimes struct {
	Still           Figure `json:"still_share"`
	LowCompression  Figure `json:"low_speed_compression_share"`
	HighCompression Figure `json:"high_speed_compression_share"`
	LowRebound      Figure `json:"low_speed_rebound_share"`
	HighRebound     Figure `json:"high_speed_rebound_share"`
}

// Velocity is how fast the fork moved while riding.
type Velocity struct {
	// The histogram has bins [lo, hi) of Options.VelocityBinMMS from -limit to +limit. TimeShare and TravelShare each
	// sum to 1 together with their under- and overflow. Empty where there was no riding.
	BinMMS           float64      `json:"bin_mm_s"`
	FirstEdgeMMS     float64      `json:"first_edge_mm_s"`
	TimeShare        []float64    `json:"time_share"`
	TravelShare      []float64    `json:"travel_share"` // share of ∫|v|dt
	UnderTimeShare   float64      `json:"under_time_share"`
	OverTimeShare    float64      `json:"over_time_share"`
	UnderTravelShare float64      `json:"under_travel_share"`
	OverTravelShare  float64      `json:"over_travel_share"`
	Regimes          Regimes      `json:"regimes"`
	Compression      SpeedSummary `json:"compression"`
	Rebound          SpeedSummary `json:"rebound"`
	ReboundRatio     Figure       `json:"rebound_to_compression_ratio"`
	TravelledM       Figure       `json:"travelled_m"` // ∫|v|dt in metres
}

// Density is the two-dimensional time share over travel and velocity while riding.
type Density struct {
	TravelBinPct float64     `json:"travel_bin_pct"`
	BinMMS       float64     `json:"velocity_bin_mm_s"`
	FirstEdgeMMS float64     `json:"first_edge_mm_s"`
	Share        [][]float64 `json:"share"` // [travel bin][velocity bin]; out-of-range samples in the end bins; sums to 1
}

func (r *ride) velocity() Velocity { return Velocity{} }

func (r *ride) density() Density { return Density{} }
