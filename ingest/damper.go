package ingest

// A DamperPoint is one force of a damper on a dyno.
type DamperPoint struct {
	VelocityMMS float64 `json:"velocity_mm_s"` // along the stanchion, positive = compression
	ForceN      float64 `json:"force_n"`       // resisting: it has the sign of the velocity
}

// A DamperCurve is force over velocity at one position of the adjuster.
type DamperCurve struct {
	Clicks float64       `json:"clicks"` // from fully closed
	Points []DamperPoint `json:"points"` // velocities rise
}
