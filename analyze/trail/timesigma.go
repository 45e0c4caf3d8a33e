package trail

import "math"

// The uncertainty of times has two parts. One is the run's own: what of its receiver's error is not the line's. The other is the line's: a gate on the ground
// lies on the line with an error that is the same for every run, so that it counts for a time but not for the difference of two runs' times.

// passage is the standard uncertainty of the time of a crossing, and the part of it that is new at each gate.
func (w *PositionError) passage(q *Placed, c *crossing) (sigmaS, floorS float64) {
	sigma := w.Scale * c.sigmaM
	if q.estimate != nil {
		sigma = math.Hypot(c.sigmaM, w.lineSigmaM)
	}
	return math.Hypot(sigma, w.FloorM) / c.speedMS, w.FloorM / c.speedMS
}

// split is the standard uncertainty of the time between two passages of one run, seconds apart: all of it, and the run's own part.
func (w *PositionError) split(a, b *Passage, seconds float64) (all, own float64) {
	alike := (1 - w.Quick) * math.Exp(-math.Abs(seconds)/w.TauS)
	if a.placed == nil || a.placed.estimate == nil {
		va, vb := a.SigmaS.Or(0)*a.SigmaS.Or(0), b.SigmaS.Or(0)*b.SigmaS.Or(0)
		slow := math.Sqrt(max(0, va-a.floorS*a.floorS) * max(0, vb-b.floorS*b.floorS)) // of what lasts
		own = math.Sqrt(max(0, va+vb-2*alike*slow))
		return own, own
	}
	if a.covariances == nil {
		a.covariances = a.placed.estimate.covariances(a.at)
	}
	va, vb := a.speedMS, b.speedMS
	saa, sbb, sab := a.placed.SigmaM[a.at], b.placed.SigmaM[b.at], a.covariances[b.at-a.at]
	own = max(0, saa*saa/(va*va)+sbb*sbb/(vb*vb)-2*sab/(va*vb)) + a.floorS*a.floorS + b.floorS*b.floorS
	turn := a.dirE*b.dirE + a.dirN*b.dirN
	line := w.lineSigmaM * w.lineSigmaM * (1/(va*va) + 1/(vb*vb) - 2*alike*turn/(va*vb))
	return math.Sqrt(own + max(0, line)), math.Sqrt(own)
}
