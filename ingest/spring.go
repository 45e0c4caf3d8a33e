package ingest

// A MeasuredSag is a static sag at the pressure it was measured with.
type MeasuredSag struct {
	PressurePSI float64 `json:"pressure_psi"` // gauge, positive chamber at full extension
	SagMM       float64 `json:"sag_mm"`
}

// Spring is what a fork file says about the fork's main spring. What is 0 or empty was not said.
type Spring struct {
	Kind string `json:"kind"` // SpringAir or SpringCoil

	PositiveAreaCM2   float64 `json:"positive_area_cm2,omitempty"`
	PositiveVolumeCM3 float64 `json:"positive_volume_cm3,omitempty"` // at full extension, without spacers
	NegativeAreaCM2   float64 `json:"negative_area_cm2,omitempty"`
	NegativeVolumeCM3 float64 `json:"negative_volume_cm3,omitempty"` // at full extension
	Negative          string  `json:"negative,omitempty"`            // NegativeSelf, NegativeSeparate or NegativeNone; empty: NegativeSelf
	TransferMM        float64 `json:"transfer_mm,omitempty"`         // travel at which the port joins the chambers
	SpacerCM3         float64 `json:"spacer_cm3,omitempty"`          // volume of one spacer
	Spacers           int     `json:"spacers,omitempty"`             // fitted
	MaxSpacers        int     `json:"max_spacers,omitempty"`         // that fit
	Exponent          float64 `json:"exponent,omitempty"`            // polytropic, when riding
	StaticExponent    float64 `json:"static_exponent,omitempty"`     // at rest
	MaxPressurePSI    float64 `json:"max_pressure_psi,omitempty"`    // the maker's limit, gauge

	Measured []MeasuredSag `json:"measured,omitempty"` // two or more, of one rider; the negative chamber is fitted to them

	RateNMM   float64 `json:"rate_n_mm,omitempty"` // of a coil
	PreloadMM float64 `json:"preload_mm,omitempty"`

	FrictionN float64 `json:"friction_n,omitempty"` // of seals and bushings
}

// The kinds of spring, and how a negative chamber gets its pressure.
const (
	SpringAir        = "air"
	SpringCoil       = "coil"
	NegativeSelf     = "self"
	NegativeSeparate = "separate"
	NegativeNone     = "none"
)
