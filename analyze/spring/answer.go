package spring

// SchemaVersion is the version of Answer's JSON form. It rises when a field changes its meaning or goes away.
const SchemaVersion = 1

// An Answer is what a spring does and what to pump. Pressures are gauge pressures; travel is along the stanchion.
type Answer struct {
	SchemaVersion int       `json:"schema_version"`
	Kind          string    `json:"kind"` // "air" or "coil"
	TravelMM      float64   `json:"travel_mm"`
	Chambers      *Geometry `json:"chambers,omitempty"`
	LoadN         float64   `json:"load_n"` // along the stanchion
	LoadFrom      string    `json:"load_from"`
	FrictionN     float64   `json:"friction_n,omitempty"`
	SetAt         Place     `json:"set_at"`
	MaxPressure   *Pressure `json:"max_pressure,omitempty"` // the maker's, absent where not known

	AsSet  *Setting  `json:"as_set,omitempty"`
	Target *Setting  `json:"target,omitempty"` // the wanted sag with the spacers as they are
	Spacer []Setting `json:"spacers,omitempty"`
	Moved  *Moved    `json:"moved,omitempty"`
	Bottom *Remedies `json:"bottom_outs,omitempty"`
	Coil   *CoilInfo `json:"coil,omitempty"`
	Curves []Curve   `json:"curves"`

	Caution string   `json:"caution"`
	Notes   []string `json:"notes"` // what may mislead
}

// Geometry are the dimensions that were used.
type Geometry struct {
	Basis             string  `json:"basis"`
	PositiveAreaCM2   float64 `json:"positive_area_cm2"`
	PositiveVolumeCM3 float64 `json:"positive_volume_cm3"`
	NegativeAreaCM2   float64 `json:"negative_area_cm2,omitempty"`
	NegativeVolumeCM3 float64 `json:"negative_volume_cm3,omitempty"`
	Negative          string  `json:"negative"`
	TransferMM        float64 `json:"transfer_mm"`
	SpacerCM3         float64 `json:"spacer_cm3"`
	Exponent          float64 `json:"exponent"`
	StaticExponent    float64 `json:"static_exponent"`
	FitResidualMM     float64 `json:"fit_residual_mm,omitempty"`
}

// A Setting is one way to set the spring up, and what comes of it. Refused says why it must not or cannot be, and then it has no figures.
type Setting struct {
	Name    string       `json:"name"`
	Spacers int          `json:"spacers"`
	Refused string       `json:"refused,omitempty"`
	Figures *SettingNums `json:"figures,omitempty"`
	air     Air
	spring  Spring
}

// SettingNums are the figures of a setting.
type SettingNums struct {
	Pressure      *Pressure `json:"pressure,omitempty"` // positive chamber at full extension; absent for a coil
	Negative      *Pressure `json:"negative_pressure,omitempty"`
	SagMM         float64   `json:"sag_mm"` // at rest, without friction
	SagPct        float64   `json:"sag_pct"`
	SagLowMM      *float64  `json:"sag_low_mm,omitempty"` // friction can hold it anywhere between; absent where friction is not known
	SagHighMM     *float64  `json:"sag_high_mm,omitempty"`
	RateAtSagNMM  float64   `json:"rate_at_sag_n_mm"` // riding
	ForceMiddleN  float64   `json:"force_at_half_travel_n"`
	ForceEndN     float64   `json:"force_at_full_travel_n"`
	EnergyEndJ    float64   `json:"energy_to_full_travel_j"`
	PressureAtEnd *Pressure `json:"pressure_at_full_travel,omitempty"`
}

// Moved is the setting in another temperature and at another altitude.
type Moved struct {
	To       Place   `json:"to"`
	There    Setting `json:"there"`     // nothing done: what the gauge reads and what sag results
	TopUp    Setting `json:"top_up"`    // pumped there to the sag wanted
	PumpHere Setting `json:"pump_here"` // pumped where it is set, to have the sag wanted there
}

// Remedies are ways to fewer bottom-outs: an estimate, see EndStroke.
type Remedies struct {
	Count       int       `json:"count"`
	OpenMM      float64   `json:"open_mm"`
	MassKg      float64   `json:"effective_mass_kg"`
	HoldsJ      float64   `json:"energy_held_j"`      // the spring as set, by OpenMM
	HardestJ    float64   `json:"energy_left_max_j"`  // motion left in the hardest bottom-out
	MedianJ     float64   `json:"energy_left_half_j"` // so much or more was left in half of them
	FastestMMS  float64   `json:"fastest_entry_mm_s"`
	Ways        []Remedy  `json:"ways"`
	Limits      string    `json:"limits"`
	EnergyLeftJ []float64 `json:"energy_left_j"` // each, the most first
}

// A Remedy is one way.
type Remedy struct {
	Goal    string  `json:"goal"`
	Keep    int     `json:"bottom_outs_wanted"`
	Setting Setting `json:"setting"`
	HoldsJ  float64 `json:"energy_held_j,omitempty"`
	Left    *int    `json:"bottom_outs_left,omitempty"` // of those ridden, as far as the estimate goes
}

// CoilInfo is what a coil would have to be for the wanted sag.
type CoilInfo struct {
	RateNMM         float64  `json:"rate_n_mm"`
	PreloadMM       float64  `json:"preload_mm"`
	WantedRateNMM   *float64 `json:"wanted_rate_n_mm,omitempty"`  // with the preload as it is
	WantedPreloadMM *float64 `json:"wanted_preload_mm,omitempty"` // with the rate as it is
	NoPreload       string   `json:"no_preload,omitempty"`        // why preload alone cannot
}

// A Curve is a spring over its travel, gas as when riding.
type Curve struct {
	Name     string    `json:"name"`
	TravelMM []float64 `json:"travel_mm"`
	ForceN   []float64 `json:"force_n"`
	RateNMM  []float64 `json:"rate_n_mm"`
	EnergyJ  []float64 `json:"energy_j"` // from full extension
}

// curveSteps is the number of pieces that a curve is drawn in.
const curveSteps = 80

func curveOf(name string, s Spring, travelM float64) Curve {
	c := Curve{Name: name}
	for i := range curveSteps + 1 {
		x := travelM * float64(i) / curveSteps
		c.TravelMM = append(c.TravelMM, 1000*x)
		c.ForceN = append(c.ForceN, s.ForceN(x))
		c.RateNMM = append(c.RateNMM, s.RateNPerM(x)/1000)
		c.EnergyJ = append(c.EnergyJ, s.EnergyJ(x))
	}
	return c
}
