package damper

import "stanchion/analyze"

// SchemaVersion is the version of Result's JSON form.
const SchemaVersion = 1

// Result is a ride on one damper, at each position of its adjuster that was measured.
type Result struct {
	SchemaVersion int              `json:"schema_version"`
	Source        string           `json:"source"` // the log
	RidingS       float64          `json:"riding_s"`
	SplitMMS      float64          `json:"split_mm_s"` // between low and high speed
	Ridden        *float64         `json:"ridden_clicks,omitempty"`
	Clicks        []Click          `json:"clicks"` // rising
	Steps         []Step           `json:"steps"`  // between neighbours
	Lives         []Bin            `json:"lives"`  // where in the curve the ride lives, at the click ridden, or else the first
	LivesAt       float64          `json:"lives_at_clicks"`
	Caveats       []analyze.Caveat `json:"caveats"`
}

// A Click is what the damper would have done at one position, had the fork moved as it did.
type Click struct {
	Clicks      float64        `json:"clicks"`
	PowerW      float64        `json:"power_w"`  // mean over riding time
	EnergyJ     float64        `json:"energy_j"` // all of it
	Regimes     Regimes        `json:"regimes"`
	Compression Side           `json:"compression"`
	Rebound     Side           `json:"rebound"`
	Outside     analyze.Figure `json:"outside_share"` // of the energy at velocities beyond those measured, where the last slope was continued
	Curve       []Point        `json:"curve"`
}

// Regimes are the energies of slow and fast movement each way; they sum to Click.EnergyJ but for what is still.
type Regimes struct {
	LowCompressionJ  float64 `json:"low_speed_compression_j"`
	HighCompressionJ float64 `json:"high_speed_compression_j"`
	LowReboundJ      float64 `json:"low_speed_rebound_j"`
	HighReboundJ     float64 `json:"high_speed_rebound_j"`
	StillJ           float64 `json:"still_j"`
}

// A Side is one direction: the resisting force while moving that way (|v| ≥ analyze.Options.StillMMS), positive, and the energy of its strokes.
type Side struct {
	EnergyJ     float64        `json:"energy_j"`
	MedianN     analyze.Figure `json:"median_force_n"`
	Q95N        analyze.Figure `json:"q95_force_n"`
	MaxN        analyze.Figure `json:"max_force_n"`
	StrokeJ     analyze.Figure `json:"median_stroke_j"`
	StrokeQ95J  analyze.Figure `json:"q95_stroke_j"`
	StrokeShare analyze.Figure `json:"hardest_tenth_share"` // of the strokes' energy that is in the hardest tenth of them
}

// A Point is one of a curve.
type Point struct {
	VelocityMMS float64 `json:"velocity_mm_s"`
	ForceN      float64 `json:"force_n"`
}

// A Step is what one position of the adjuster would make different from its neighbour, weighted by the ride.
type Step struct {
	From        float64 `json:"from_clicks"`
	To          float64 `json:"to_clicks"`
	PowerW      float64 `json:"power_change_w"` // To − From
	ChangePct   float64 `json:"change_pct"`     // mean |ΔF·v| over the mean power at From
	ForceRMSN   float64 `json:"force_rms_n"`    // RMS of the difference of force over riding time
	Where       string  `json:"where"`          // the regime that holds most of |ΔF·v|
	WherePct    float64 `json:"where_pct"`      // so much of it
	Matters     bool    `json:"matters"`
	PerClickPct float64 `json:"change_per_click_pct"` // ChangePct over the clicks between
}

// A Bin is a stretch of velocity.
type Bin struct {
	FromMMS     float64 `json:"from_mm_s"`
	ToMMS       float64 `json:"to_mm_s"`
	TimeShare   float64 `json:"time_share"`   // of riding time
	EnergyShare float64 `json:"energy_share"` // of what the damper took up
	ForceN      float64 `json:"force_n"`      // at its middle
}

// Names of regimes.
const (
	LowCompression  = "low-speed compression"
	HighCompression = "high-speed compression"
	LowRebound      = "low-speed rebound"
	HighRebound     = "high-speed rebound"
)

// MattersPct is the change of dissipated power per click from which a click is said to matter: common practice, no source.
const MattersPct = 2
