package signal

// A Turn is a turning point of a series.
type Turn struct {
	Index int
	Value float64
	Peak  bool // a maximum
}

// TurningPoints returns the alternating extremes of x with a hysteresis gate: an extreme is confirmed once x has come
// back by at least gate. The first is the running extreme from which x first departs by the gate; the last,
// unconfirmed one is not returned. Of equal samples the first is the extreme. A gate of 0 or less finds every change of
// direction. NaN samples are passed over.
func TurningPoints(x []float64, gate float64) []Turn {
	var turns []Turn
	back := func(d float64) bool { return d > 0 && d >= gate }
	i, low, high := 0, 0, 0
	// Before the first turning point both extremes run.
	for ; i < len(x); i++ {
		if x[i] < x[low] || x[low] != x[low] {
			low = i
		}
		if x[i] > x[high] || x[high] != x[high] {
			high = i
		}
		if back(x[i]-x[low]) || back(x[high]-x[i]) {
			break
		}
	}
	if i >= len(x) {
		return nil
	}
	rising := back(x[i] - x[low])
	first := high
	if rising {
		first = low
	}
	turns = append(turns, Turn{Index: first, Value: x[first], Peak: !rising})
	// From here on one extreme runs, in the present direction.
	top := i
	for ; i < len(x); i++ {
		d := x[top] - x[i] // how far x has come back
		if !rising {
			d = -d
		}
		switch {
		case d < 0:
			top = i
		case back(d):
			turns = append(turns, Turn{Index: top, Value: x[top], Peak: rising})
			rising, top = !rising, i
		}
	}
	return turns
}

// Crossing is where, from 0 at a to 1 at b, a straight line from a to b meets level. It is held within 0..1, and 0 where
// a equals b.
func Crossing(a, b, level float64) float64 {
	if a == b {
		return 0
	}
	return min(1, max(0, (level-a)/(b-a)))
}
