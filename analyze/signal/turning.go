package signal

// A Turn is a turning point of a series.
type Turn struct {
	Index int
	Value float64
	Peak  bool // a maximum
}

// TurningPoints returns the alternating extremes of x with a hysteresis gate: an extreme is confirmed once x has come
// back by at least gate. The first is the running extreme from which x first departs by the gate; the last,
// unconfirmed one is not returned.
func TurningPoints(x []float64, gate float64) []Turn { panic("not written yet") }
