package ingest

import (
	"math"
	"testing"
)

// The least-squares line against published fits. y is travel over the reading x.
func TestFitLinePublished(t *testing.T) {
	for _, c := range []struct {
		name                 string
		x, y                 []float64
		slope, intercept, sd float64 // sd is the residual standard deviation, n − 2 degrees of freedom
		rel                  float64
	}{
		// NIST StRD, Norris.dat, certified values.
		{"Norris",
			[]float64{0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777, 558.2, 0.4, 0.6, 775.5, 666.9, 338, 447.5, 11.6,
				556, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999, 779, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5},
			[]float64{0.1, 338.8, 118.1, 888, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3, 448.9, 10.8,
				557.7, 228.3, 998, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2},
			1.00211681802045, -0.262323073774029, 0.884796396144373, 1e-11},
		// R's data set cars, lm(dist ~ speed), as in the example of its help; the data from memory, the fit agrees to all digits.
		{"cars",
			[]float64{4, 4, 7, 7, 8, 9, 10, 10, 10, 11, 11, 12, 12, 12, 12, 13, 13, 13, 13, 14, 14, 14, 14, 15, 15, 15, 16, 16, 17, 17, 17,
				18, 18, 18, 18, 19, 19, 19, 20, 20, 20, 20, 20, 22, 23, 24, 24, 24, 24, 25},
			[]float64{2, 10, 4, 22, 16, 10, 18, 26, 34, 17, 28, 14, 20, 24, 28, 26, 34, 34, 46, 26, 36, 60, 80, 20, 26, 54, 32, 40, 32, 40, 50,
				42, 56, 76, 84, 36, 46, 68, 32, 48, 52, 56, 64, 66, 54, 70, 92, 93, 120, 85},
			3.9324088, -17.5790949, 15.37959, 3e-7},
	} {
		points := make([]CalibrationPoint, len(c.x))
		for i := range points {
			points[i] = CalibrationPoint{Reading: c.x[i], TravelMM: c.y[i]}
		}
		l := FitLine(points)
		rms, _ := l.Residuals(points)
		n := float64(len(points))
		for _, v := range []struct {
			what      string
			got, want float64
		}{{"slope", l.Slope, c.slope}, {"intercept", l.At(0), c.intercept}, {"residual standard deviation", rms * math.Sqrt(n/(n-2)), c.sd}} {
			if !(math.Abs(v.got-v.want) <= c.rel*math.Abs(v.want)) {
				t.Errorf("%s: %s = %.15g, want %.15g", c.name, v.what, v.got, v.want)
			}
		}
	}
}
