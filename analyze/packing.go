package analyze

// A PackingRun is a maximal run of valleys that stayed deep.
type PackingRun struct {
	StartS    float64 `json:"start_s"`
	EndS      float64 `json:"end_s"`
	Valleys   int     `json:"valleys"`
	DeepestMM float64 `json:"deepest_valley_mm"`
}

// Packing is whether the fork sank into its travel in rough ground.
type Packing struct {
	Runs             []PackingRun `json:"runs"`
	Count            Figure       `json:"count"`
	PerMin           Figure       `json:"per_min"`
	DeepestMM        Figure       `json:"deepest_valley_mm"`
	RideHeightLossMM Figure       `json:"ride_height_loss_mm"`
	SinkInRoughPct   Figure       `json:"sink_in_rough_pct"`
	ReferenceMM      Figure       `json:"reference_mm"` // the sag that depth was measured from
	Reference        string       `json:"reference"`    // what that was: "static sag" or "median travel of the calm quarter"
}

// Return is how fast the fork came back from deep compressions.
type Return struct {
	MedianS      Figure `json:"median_s"`
	Q90S         Figure `json:"q90_s"`
	NotBackShare Figure `json:"not_back_share"` // not back within Options.ReturnLimitS
}

func (r *ride) packing(strokes []Stroke, sag Sag) Packing { return Packing{} }

func (r *ride) returns(strokes []Stroke, sag Sag) Return { return Return{} }
