package trail

import "stanchion/analyze"

// A Frame is a local plane that touches the WGS84 ellipsoid at its origin.
type Frame struct {
	LatDeg float64 `json:"lat_deg"`
	LonDeg float64 `json:"lon_deg"`
}

// A Path is one run's smoothed track. All slices have the same length.
type Path struct {
	Frame        Frame
	TimeS        []float64 // rising
	EastM        []float64
	NorthM       []float64
	EleM         []float64 // NaN where not known
	SpeedMS      []float64 // over ground
	AlongM       []float64 // distance ridden since the first fix, rising
	SigmaM       []float64 // standard uncertainty of the position along the direction of travel
	Piece        []int     // as ingest.Fix.Piece
	RateHz       float64   // of the fixes, median
	NoiseM       float64   // white noise of one unsmoothed coordinate, as estimated from the track itself
	WanderM      float64   // slow error of one coordinate, standard deviation, estimated where the receiver measured speed, else assumed
	HasSpeed     bool      // SpeedMS rests on the receiver's own speed
	WanderS      float64   // correlation time of the slow error
	SpeedSigmaMS float64   // noise of the receiver's speed in m/s, NaN where it is not used
	Fixes        []PathFix // what was measured and believed, in order; nil where a path was made of something else
	// Outliers is how many fixes were left out because no rider could have been there. Notes are for people.
	Outliers int
	Notes    []string
}

// A PathFix is a position as the receiver gave it, in the frame of its Path.
type PathFix struct {
	At            int // index in the Path
	EastM, NorthM float64
	SpeedMS       float64 // NaN where not measured or not used
}

// An Offset says how the two clocks lie: sensor time = receiver time + OffsetS.
type Offset struct {
	Method  string         `json:"method"`   // "stamps", "markers", "activity", "given" or "same clock"
	OffsetS analyze.Figure `json:"offset_s"` // absent where it could not be found, with the reason
	SigmaS  analyze.Figure `json:"sigma_s"`  // its standard uncertainty
	// Confidence is 0 to 1: how far the best match stands over the next best one of another place.
	Confidence float64  `json:"confidence"`
	Notes      []string `json:"notes,omitempty"` // for people
}

// A Line is the reference line of a trail: one point every StepM.
type Line struct {
	Frame  Frame     `json:"frame"`
	StepM  float64   `json:"step_m"`
	EastM  []float64 `json:"east_m"`
	NorthM []float64 `json:"north_m"`
	EleM   []float64 `json:"ele_m,omitempty"` // nil where no run has elevation
	// SpreadM is the standard deviation of the runs across the line at each point, 0 with one run.
	SpreadM []float64 `json:"spread_m"`
	Runs    int       `json:"runs"` // that it was made from
}

// LengthM is the station of the last point.
func (l *Line) LengthM() float64 { return float64(max(0, len(l.EastM)-1)) * l.StepM }

// A Placed run is a Path laid on a Line, on the time axis of its Path. Stations never fall (a rider who rolls back stands still).
type Placed struct {
	TimeS    []float64 // rising
	StationM []float64 // not falling
	CrossM   []float64 // distance off the line, positive to the right of the direction of travel
	SpeedMS  []float64
	SigmaM   []float64    // standard uncertainty along the line, against the line and not the ground
	OffLine  [][2]float64 // spans of time in s in which the run was too far from the line to be placed, or reception was lost
	// CrossRMSM is the root mean square of CrossM, the cross-track error shown with every use of the line.
	CrossRMSM float64

	pathSigmaM []float64   // Path.SigmaM
	estimate   *alongTrack // nil where the path has no fixes
}

// A Gate is where time is taken.
type Gate struct {
	Name     string  `json:"name"`
	StationM float64 `json:"station_m"`
}
