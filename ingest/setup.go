package ingest

// Fork is the fork that was ridden.
type Fork struct {
	Name         string  `json:"name,omitempty"`
	TravelMM     float64 `json:"travel_mm"`      // usable travel T, along the stanchion
	HeadAngleDeg float64 `json:"head_angle_deg"` // from horizontal; 0 = not known
}

// A CalibrationPoint pairs a sensor reading with the travel it was read at.
type CalibrationPoint struct {
	Reading  float64 `json:"reading"` // in Sensor.Unit
	TravelMM float64 `json:"travel_mm"`
}

// A CalibrationMethod is how readings between the points become travel.
type CalibrationMethod string

// The calibration methods.
const (
	CalibrateLinear CalibrationMethod = "linear" // least-squares line through two or more points
	CalibratePCHIP  CalibrationMethod = "pchip"  // monotone cubic through three or more points, linear beyond the ends
)

// Sensor is how readings become travel. For UnitMM and UnitPercent without Points the reading is travel already.
type Sensor struct {
	Unit    Unit               `json:"unit,omitempty"` // what the fork file says the log holds; the reader's finding is used where empty
	ADCBits int                `json:"adc_bits,omitempty"`
	Method  CalibrationMethod  `json:"method,omitempty"` // empty: linear
	Points  []CalibrationPoint `json:"points,omitempty"`
	// ZeroOffsetMM is subtracted from calibrated travel: the re-zeroing that the user asked for.
	ZeroOffsetMM float64 `json:"zero_offset_mm,omitempty"`
}

// Setup is all that is known about the fork and its sensor before the log is read.
type Setup struct {
	Fork   Fork   `json:"fork"`
	Sensor Sensor `json:"sensor"`
	// Spring is the fork's spring, nil where the fork file does not describe it. No figure of a ride rests on it.
	Spring *Spring `json:"spring,omitempty"`
	// Adjusters are the adjusters that the fork file describes, by name. No figure of a ride rests on them.
	Adjusters map[string]Adjuster `json:"adjusters,omitempty"`
}
