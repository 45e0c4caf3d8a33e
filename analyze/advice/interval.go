package advice

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// level is the confidence of the intervals of counts: 90 %, so that each side is wrong in one case of 20.
const level = 0.90

// poissonInterval is the exact interval of the expectation of a Poisson count k: χ²(α/2; 2k)/2 to χ²(1−α/2; 2k+2)/2 (Garwood 1936).
func poissonInterval(k float64) (low, high float64) {
	const tail = (1 - level) / 2
	k = math.Max(0, math.Round(k))
	if k > 0 {
		low = distuv.ChiSquared{K: 2 * k}.Quantile(tail) / 2
	}
	return low, distuv.ChiSquared{K: 2*k + 2}.Quantile(1-tail) / 2
}
