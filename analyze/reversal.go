package analyze

// ReversalSummary is about reversals of one kind.
type ReversalSummary struct {
	MedianS Figure `json:"median_s"`
	Q90S    Figure `json:"q90_s"`
}

// Reversals is how fast the fork changed direction.
type Reversals struct {
	CompressionToRebound ReversalSummary `json:"compression_to_rebound"`
	ReboundToCompression ReversalSummary `json:"rebound_to_compression"`
	// TimesCR and TimesRC are the single reversal times in s, in time order, for drawing.
	TimesCR []float64 `json:"-"`
	TimesRC []float64 `json:"-"`
}

func (r *ride) reversals(strokes []Stroke, spells []ExtendedSpell) Reversals { return Reversals{} }
