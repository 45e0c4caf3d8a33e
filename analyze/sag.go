package analyze

// Sag is how deep the rider's weight pushes the fork.
type Sag struct {
	StaticMM       Figure `json:"static_sag_mm"`
	StaticPct      Figure `json:"static_sag_pct"`
	StaticFrom     string `json:"static_sag_from,omitempty"` // where static sag came from, for people
	StaticSpan     *Span  `json:"static_sag_span,omitempty"`
	DynamicMeanMM  Figure `json:"dynamic_sag_mean_mm"`
	DynamicMeanPct Figure `json:"dynamic_sag_mean_pct"`
	DynamicMM      Figure `json:"dynamic_sag_median_mm"`
	DynamicPct     Figure `json:"dynamic_sag_median_pct"`
}

// A Settle is a rest after the fork was let go slowly, from below (let up) or from above (let down).
type Settle struct {
	Span     Span    `json:"span"`
	MedianMM float64 `json:"median_mm"`
	From     string  `json:"from"` // "deeper" (pushed down and let up), "higher" (lifted and let down) or "unknown"
}

// SagLog is what a sag log of its own says.
type SagLog struct {
	Settles        []Settle `json:"settles"`
	SagMM          Figure   `json:"sag_mm"`
	SagPct         Figure   `json:"sag_pct"`
	FrictionBandMM Figure   `json:"friction_band_mm"` // needs both settles
	Caveats        []Caveat `json:"caveats"`
}

func (r *ride) sag() Sag { return Sag{} }
