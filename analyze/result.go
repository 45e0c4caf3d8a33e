package analyze

import "stanchion/ingest"

// SchemaVersion is the version of Result's JSON form. It rises when a field changes its meaning or goes away.
const SchemaVersion = 1

// A Caveat is a reason why results may mislead, addressed to a person.
type Caveat struct {
	Severity string `json:"severity"` // "warning": act on it before trusting the figures; "note": good to know
	Topic    string `json:"topic"`    // short key: "zero", "noise", "rate", "clipping", "gaps", "air", …
	Text     string `json:"text"`
}

// Severities of a Caveat.
const (
	Warning = "warning"
	Note    = "note"
)

// Result is everything computed about one run, ready for JSON. Times are s from the first sample of the recording.
type Result struct {
	SchemaVersion int                   `json:"schema_version"`
	Source        string                `json:"source"`
	Fork          ingest.Fork           `json:"fork"`
	Options       Options               `json:"options"`
	Prepare       ingest.PrepareOptions `json:"prepare_options"`
	Understood    []string              `json:"understood"`
	Markers       []ingest.TraceMarker  `json:"markers,omitempty"`
	Quality       Quality               `json:"quality"`
	Position      *Position             `json:"position,omitempty"` // nil where there are no positions
	Ride          Ride                  `json:"ride"`
	Air           Air                   `json:"air"`
	Sag           Sag                   `json:"sag"`
	Travel        Travel                `json:"travel"`
	Strokes       Strokes               `json:"strokes"`
	Reversals     Reversals             `json:"reversals"`
	Velocity      Velocity              `json:"velocity"`
	Density       Density               `json:"density"`
	Spectrum      Spectrum              `json:"spectrum"`
	Packing       Packing               `json:"packing"`
	Return        Return                `json:"return"`
	Damping       Damping               `json:"damping"`
	BrakeDive     BrakeDive             `json:"brake_dive"`
	Rough         Rough                 `json:"rough"`
	Caveats       []Caveat              `json:"caveats"`
}

// Signals are the filtered signals that the figures were computed from, for drawing and for comparing runs.
type Signals struct {
	RateHz   float64
	Segments []SignalSegment
	// DistanceFrom says how DistanceM is known: DistanceLogged, DistanceFromSpeed, or empty where it is not.
	DistanceFrom string
}

// SignalSegment is one gap-free piece. Sample i is at StartS + i/RateHz. The slices must not be changed.
type SignalSegment struct {
	StartS      float64
	TravelMM    []float64 // filtered
	VelocityMMS []float64
	RMSMMS      []float64 // roughness per cell of Options.CellS
	Riding      []bool    // per cell
	DistanceM   []float64 // along the trail, per cell, nil where it is not known
	SpeedMS     []float64 // over ground, mean per cell, NaN where the channel has no reading, nil where there is no speed channel
}
