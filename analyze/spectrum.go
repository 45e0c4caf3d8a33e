package analyze

// A Band is the power of one frequency band [LowHz, HighHz).
type Band struct {
	Name        string  `json:"name"` // "chassis", "wheel", "chatter"
	LowHz       float64 `json:"low_hz"`
	HighHz      float64 `json:"high_hz"`
	TravelMM2   Figure  `json:"travel_power_mm2"`
	VelocityMM2 Figure  `json:"velocity_power_mm2_s2"`
	CentroidHz  Figure  `json:"centroid_hz"` // of the velocity PSD
	PeakHz      Figure  `json:"peak_hz"`     // named only where it stands out
}

// Spectrum is the Welch PSD of unfiltered travel over the whole recording.
type Spectrum struct {
	StepHz      float64   `json:"step_hz"` // bin k is at k·StepHz
	TravelPSD   []float64 `json:"travel_psd_mm2_per_hz"`
	VelocityPSD []float64 `json:"velocity_psd_mm2_s2_per_hz"`
	Windows     Figure    `json:"windows"`
	Bands       []Band    `json:"bands"`
}

func (r *ride) spectrum() Spectrum { return Spectrum{} }
