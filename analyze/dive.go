package analyze

// A Dive is a time in which the fork stood deep for long: braking, or a compression of the trail.
type Dive struct {
	StartS    float64 `json:"start_s"`
	EndS      float64 `json:"end_s"`
	DeepestMM float64 `json:"deepest_mm"`
	Confirmed bool    `json:"confirmed"` // a speed channel showed deceleration over Options.DiveDecelMS2
}

// BrakeDive lists the dives.
type BrakeDive struct {
	Dives     []Dive `json:"dives"`
	Count     Figure `json:"count"`
	Confirmed Figure `json:"confirmed"` // absent without a speed channel
}

func (r *ride) brakeDive(sag Sag) BrakeDive { return BrakeDive{} }
