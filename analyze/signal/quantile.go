package signal

import (
	"fmt"
	"math"
	"slices"
)

// Quantiles returns the linear-interpolation quantiles (Hyndman & Fan type 7) of x at the probabilities p. It reorders
// x. An empty x gives NaNs, and so does a NaN in x; between a number and an infinity the
// quantile is that infinity. It takes linear time, so that long runs need no sort. It panics where
// a p is not in 0..1.
func Quantiles(x []float64, p ...float64) []float64 {
	q := make([]float64, len(p))
	if len(x) == 0 || len(p) == 0 || slices.ContainsFunc(x, math.IsNaN) {
		for i := range q {
			q[i] = math.NaN()
		}
		return q
	}
	ranks := make([]int, 0, 2*len(p))
	for _, p := range p {
		k, _ := rank(len(x), p)
		ranks = append(ranks, k, min(k+1, len(x)-1))
	}
	slices.Sort(ranks)
	selectRanks(x, 0, slices.Compact(ranks), 8)
	for i, p := range p {
		q[i] = interpolate(x, p)
	}
	return q
}

// QuantilesSorted is Quantiles of an x that is in increasing order and free of NaN. It does not change x.
func QuantilesSorted(x []float64, p ...float64) []float64 {
	q := make([]float64, len(p))
	for i, p := range p {
		if len(x) == 0 {
			q[i] = math.NaN()
			continue
		}
		q[i] = interpolate(x, p)
	}
	return q
}

// Median is the quantile at 0.5. It reorders x, and is NaN if x is empty or has a NaN.
func Median(x []float64) float64 { return Quantiles(x, 0.5)[0] }

// rank is the place (n−1)·p of a quantile in sorted order, as a whole number and a remainder.
func rank(n int, p float64) (int, float64) {
	if !(p >= 0 && p <= 1) {
		panic(fmt.Sprintf("quantile at %g: it must lie in 0 to 1", p))
	}
	k, rest := math.Modf(float64(n-1) * p)
	return int(k), rest
}

// interpolate reads the quantile at p off an x in which its two ranks are in place.
func interpolate(x []float64, p float64) float64 {
	k, rest := rank(len(x), p)
	if rest == 0 {
		return x[k]
	}
	lo, hi := x[k], x[k+1]
	switch {
	case math.IsInf(lo, 0) || math.IsInf(hi, 0):
		return lo + hi
	case rest < 0.5:
		return lo + (hi-lo)*rest
	}
	return hi - (hi-lo)*(1-rest) // as numpy does: exact at both ends
}

// selectRanks reorders x so that the ranks, in increasing order and counted from first at x[0], hold what they would in sorted
// order. It partitions about a pivot and goes on where there are ranks. A part that has kept nearly all of the whole
// more often than patience is sorted, so that no input takes quadratic time.
func selectRanks(x []float64, first int, ranks []int, patience int) {
	const small = 48
	for len(ranks) > 0 {
		if len(x) <= small || patience < 0 {
			slices.Sort(x)
			return
		}
		pivot := ninther(x)
		lo := partition(x, pivot)
		hi := lo
		if lo < len(x)/16 { // many may equal the pivot
			hi += gather(x[lo:], pivot)
		}
		left, _ := slices.BinarySearch(ranks, first+lo)
		right, _ := slices.BinarySearch(ranks, first+hi)
		most := len(x) - len(x)/16
		leftPatience := patience
		if lo > most {
			leftPatience--
		}
		if len(x)-hi > most {
			patience--
		}
		selectRanks(x[:lo], first, ranks[:left], leftPatience)
		x, first, ranks = x[hi:], first+hi, ranks[right:]
	}
}

// partition moves what is less than pivot to x[:lo] and the rest behind it. There is no branch to mispredict: every sample is
// swapped to the border, which moves on only if the sample is less.
func partition(x []float64, pivot float64) (lo int) {
	for i, v := range x {
		x[i] = x[lo]
		x[lo] = v
		if v < pivot {
			lo++
		}
	}
	return lo
}

// gather moves what equals pivot, the least of x, to x[:n].
func gather(x []float64, pivot float64) (n int) {
	for i, v := range x {
		if v == pivot {
			x[i], x[n] = x[n], v
			n++
		}
	}
	return n
}

// ninther is the median of the medians of three triples spread over x.
func ninther(x []float64) float64 {
	step := (len(x) - 1) / 8
	at := func(i int) float64 { return median3(x[i*step], x[(i+1)*step], x[(i+2)*step]) }
	return median3(at(0), at(3), at(6))
}

func median3(a, b, c float64) float64 {
	return max(min(a, b), min(max(a, b), c))
}
