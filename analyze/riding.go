package analyze

// A Span is a stretch of time.
type Span struct {
	StartS float64 `json:"start_s"`
	EndS   float64 `json:"end_s"`
}

// Ride says what part of the recording was riding.
type Ride struct {
	DurationS Figure `json:"duration_s"` // recorded, gaps left out
	RidingS   Figure `json:"riding_s"`
	Riding    []Span `json:"riding"`
}

func (r *ride) riding() Ride { return Ride{} }
