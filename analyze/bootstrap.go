package analyze

import (
	"math"
	"math/rand/v2"
	"slices"

	"stanchion/analyze/signal"
)

// bootstrapSeed is Options.BootstrapSeed, and where that is 0 a hash of the unfiltered samples, so that the same
// samples always give the same interval. It is under 2^53 and does not depend on when the samples were taken.
func (r *ride) bootstrapSeed() uint64 {
	if r.opt.BootstrapSeed != 0 {
		return r.opt.BootstrapSeed
	}
	// FNV-1a over 64-bit words in place of bytes (Fowler, Noll, Vo; constants from memory), with a final mix.
	h := uint64(14695981039346656037)
	for i := range r.segs {
		for _, v := range r.segs[i].raw {
			h = (h ^ math.Float64bits(v)) * 1099511628211
			h ^= h >> 29
		}
	}
	return h & (1<<53 - 1)
}

// medianInterval is the 95 % percentile-bootstrap interval of the median of values: the 2.5 and 97.5 % quantiles of
// the medians of n resamples with replacement (Efron & Tibshirani, An Introduction to the Bootstrap, 1993; from memory).
// There must be a value.
func medianInterval(values []float64, n int, seed uint64) (low, high float64) {
	m := len(values)
	sorted := slices.Sorted(slices.Values(values))
	rng := rand.New(rand.NewPCG(seed, uint64(m)))
	count := make([]int, m)
	medians := make([]float64, max(1, n))
	for b := range medians {
		clear(count)
		for range m {
			count[rng.IntN(m)]++
		}
		medians[b] = (sorted[pick(count, (m-1)/2)] + sorted[pick(count, m/2)]) / 2
	}
	q := signal.Quantiles(medians, 0.025, 0.975)
	return q[0], q[1]
}

// pick is the index of the k-th smallest of a sample in which index i occurs count[i] times.
func pick(count []int, k int) int {
	for i, c := range count {
		if k < c {
			return i
		}
		k -= c
	}
	return len(count) - 1
}
