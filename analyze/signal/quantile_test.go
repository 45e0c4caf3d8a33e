package signal

import (
	"math"
	"testing"
)

// Values: R and NumPy, type 7, of 1…10 and of 15, 20, 35, 40, 50.
func TestQuantilesType7(t *testing.T) {
	for _, c := range []struct{ x, p, want []float64 }{
		{[]float64{10, 1, 9, 2, 8, 3, 7, 4, 6, 5}, []float64{.10, .25, .50, .75, .90}, []float64{1.9, 3.25, 5.5, 7.75, 9.1}},
		{[]float64{50, 15, 40, 20, 35}, []float64{.05, .30, .40, .50, 1}, []float64{16, 23, 29, 35, 50}},
	} {
		for i, q := range Quantiles(c.x, c.p...) {
			if math.Abs(q-c.want[i]) > 1e-12 {
				t.Errorf("quantile %g of %v: got %g, want %g", c.p[i], c.x, q, c.want[i])
			}
		}
	}
}
