package signal

import "math"

// RMS is the root of the mean square of x, NaN if x is empty.
func RMS(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v * v
	}
	return math.Sqrt(sum / float64(len(x)))
}
