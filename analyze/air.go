package analyze

// An ExtendedSpell is a time in which the fork stayed extended while riding: possible air.
type ExtendedSpell struct {
	StartS           float64 `json:"start_s"` // crossings interpolated
	EndS             float64 `json:"end_s"`
	DurationS        float64 `json:"duration_s"`
	Jump             bool    `json:"jump"`              // at least Options.JumpMinS
	LandingPeakMMS   float64 `json:"landing_peak_mm_s"` // largest v from landing to the next peak
	LandingTravelMM  float64 `json:"landing_travel_mm"` // travel at that peak
	LandingTravelPct float64 `json:"landing_travel_pct"`
}

// Air is what the fork did off the ground, as far as a travel sensor can tell.
type Air struct {
	Spells    []ExtendedSpell `json:"spells"`
	SpellsN   Figure          `json:"extended_spells"`
	Jumps     Figure          `json:"jumps"`
	ExtendedS Figure          `json:"extended_s"` // total time of the spells
}

func (r *ride) air(strokes []Stroke) Air { return Air{} }
