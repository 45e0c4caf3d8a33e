package compare

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// level is the confidence level of every interval, and 1 − level the error rate that Holm's correction holds.
const level = 0.95

// sample is the size, mean and variance (divisor n − 1) of the run values of one set.
type sample struct {
	n        int
	mean, v2 float64
}

// describe sums in ascending order, so that the order of the runs cannot change a bit of the result.
func describe(values []float64) sample {
	a := slices.Sorted(slices.Values(values))
	s := sample{n: len(a)}
	if s.n == 0 {
		return s
	}
	for _, v := range a {
		s.mean += v / float64(s.n)
	}
	if s.n < 2 {
		return s
	}
	if a[0] == a[s.n-1] {
		s.mean = a[0]
		return s
	}
	slip := 0.0 // corrects the mean's rounding (Chan, Golub & LeVeque 1983, from memory)
	for _, v := range a {
		d := v - s.mean
		s.v2 += d * d
		slip += d
	}
	n := float64(s.n)
	s.mean += slip / n
	s.v2 = (s.v2 - slip*slip/n) / (n - 1)
	return s
}

func (s sample) sd() float64 { return math.Sqrt(s.v2) }

// A tTest is a difference of means with its standard error, degrees of freedom, two-sided p and 95 % interval.
type tTest struct {
	diff, se, df, t, p, low, high float64
}

// welch compares two sets of two or more runs without assuming equal variances. ok is false where neither set has any
// spread: there is then nothing to judge the difference by.
func welch(a, b sample) (r tTest, ok bool) {
	va, vb := a.v2/float64(a.n), b.v2/float64(b.n)
	if !(va+vb > 0) {
		return tTest{diff: b.mean - a.mean}, false
	}
	// Welch–Satterthwaite; the ratio form cannot under- or overflow.
	wa, wb := va/(va+vb), vb/(va+vb)
	df := 1 / (wa*wa/float64(a.n-1) + wb*wb/float64(b.n-1))
	return newTTest(b.mean-a.mean, math.Sqrt(va+vb), df), true
}

// single compares sets of which one is a single run, taking its run-to-run spread to be that of the other set.
func single(a, b sample) (r tTest, ok bool) {
	many := a
	if b.n > 1 {
		many = b
	}
	if !(many.v2 > 0) {
		return tTest{diff: b.mean - a.mean}, false
	}
	se := math.Sqrt(many.v2 * (1 + 1/float64(many.n)))
	return newTTest(b.mean-a.mean, se, float64(many.n-1)), true
}

func newTTest(diff, se, df float64) tTest {
	dist := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}
	r := tTest{diff: diff, se: se, df: df, t: diff / se}
	r.p = min(1, 2*dist.Survival(math.Abs(r.t)))
	half := dist.Quantile((1+level)/2) * se
	r.low, r.high = diff-half, diff+half
	return r
}

// holm adjusts p values for the number of them (step-down); the result is in the order of p.
func holm(p []float64) []float64 {
	order := make([]int, len(p))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int {
		switch {
		case p[i] < p[j]:
			return -1
		case p[i] > p[j]:
			return 1
		}
		return 0
	})
	out := make([]float64, len(p))
	so := 0.0
	for k, i := range order {
		so = max(so, min(1, p[i]*float64(len(p)-k)))
		out[i] = so
	}
	return out
}

// maxRunsNeeded is the most runs a side that runsNeeded looks for.
const maxRunsNeeded = 1000

// runsNeeded is the smallest number of runs a side for which a two-sided two-sample t test at level alpha finds a difference of
// diff at a run-to-run standard deviation sd with the given power; ok is false over maxRunsNeeded. The noncentral t is approximated by
// Φ((δ(1 − 1/4ν) − t)/√(1 + t²/2ν)) (Johnson & Kotz, from memory); within one run of exact values, see the test.
func runsNeeded(diff, sd, alpha, power float64) (n int, ok bool) {
	if !(math.Abs(diff) > 0) || !(sd > 0) {
		return 0, false
	}
	enough := func(n int) bool {
		df := float64(2 * (n - 1))
		delta := math.Abs(diff) / (sd * math.Sqrt(2/float64(n)))
		t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Quantile(1 - alpha/2)
		z := (delta*(1-1/(4*df)) - t) / math.Sqrt(1+t*t/(2*df))
		return distuv.UnitNormal.CDF(z) >= power
	}
	if !enough(maxRunsNeeded) {
		return 0, false
	}
	lo, hi := 1, maxRunsNeeded // more runs always help
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; enough(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi, true
}
