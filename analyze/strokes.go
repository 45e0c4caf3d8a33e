package analyze

// A Stroke is the travel from one turning point to the next.
type Stroke struct {
	StartS      float64 `json:"start_s"`
	EndS        float64 `json:"end_s"`
	StartMM     float64 `json:"start_mm"`
	EndMM       float64 `json:"end_mm"`
	Compression bool    `json:"compression"`
	AmplitudeMM float64 `json:"amplitude_mm"` // positive
	DurationS   float64 `json:"duration_s"`
	PeakMMS     float64 `json:"peak_mm_s"` // largest speed in the stroke's direction, positive
	MeanMMS     float64 `json:"mean_mm_s"` // amplitude / duration
	Riding      bool    `json:"riding"`    // its midpoint lies in riding time
	Segment     int     `json:"segment"`
}

// StrokeSummary is about the strokes of one direction while riding.
type StrokeSummary struct {
	Count           Figure `json:"count"`
	PerMin          Figure `json:"per_min"`
	MeanDurationS   Figure `json:"mean_duration_s"`
	MedianDurationS Figure `json:"median_duration_s"`
	Q95AmplitudeMM  Figure `json:"q95_amplitude_mm"`
	MedianPeakMMS   Figure `json:"median_peak_mm_s"`
	Q95PeakMMS      Figure `json:"q95_peak_mm_s"`
	ShortShare      Figure `json:"short_share"` // shorter than Options.ShortStrokeS
}

// RangeBin is a bin of the rainflow range spectrum.
type RangeBin struct {
	LowMM  float64 `json:"low_mm"`
	HighMM float64 `json:"high_mm"`
	Count  float64 `json:"count"` // cycles; half cycles count 0.5
}

// Strokes is the run as a sequence of strokes.
type Strokes struct {
	Compression StrokeSummary `json:"compression"`
	Rebound     StrokeSummary `json:"rebound"`
	// MeanDurationS is over both directions, for the 30 ms rule of thumb.
	MeanDurationS Figure     `json:"mean_duration_s"`
	Rainflow      []RangeBin `json:"rainflow"` // 10 mm bins over the whole recording
	RainflowSum   float64    `json:"rainflow_sum"`
	// List holds every stroke of the recording in time order. It is not part of the JSON summary.
	List []Stroke `json:"-"`
}

func (r *ride) strokes() Strokes { return Strokes{} }
