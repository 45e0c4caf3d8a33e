package analyze

import (
	"math"
	"slices"
)

// A sieve counts values into fine bins, so that a second pass over the values has to keep only those near the
// wanted quantiles: exact quantiles without a copy of the values.
type sieve struct {
	first, perUnit float64
	counts         []int // the end bins also hold what lies outside
}

// sieveBins is fine enough that a bin holds few of the values of a ride, and small enough to stay in the cache.
const sieveBins = 2048

func newSieve(low, high float64) sieve {
	return sieve{first: low, perUnit: sieveBins / (high - low), counts: make([]int, sieveBins)}
}

// bin is monotone in v, which is all that the method needs.
func (s *sieve) bin(v float64) int {
	return int(max(0, min((v-s.first)*s.perUnit, sieveBins-1)))
}

func (s *sieve) add(v float64) { s.counts[s.bin(v)]++ }

func (s *sieve) merge(other sieve) {
	for k, n := range other.counts {
		s.counts[k] += n
	}
}

// quantiles returns the linear-interpolation quantiles (Hyndman & Fan type 7) of the n values that were added. visit
// must pass the same values again, in any order, to the function it is given. n must be positive.
func (s *sieve) quantiles(n int, visit func(func(v float64)), p ...float64) []float64 {
	base := make(map[int]int) // rank of the first value of each wanted bin
	for _, q := range p {
		h := q * float64(n-1)
		for _, rank := range []int{int(h), min(int(h)+1, n-1)} {
			k, before := s.find(rank)
			base[k] = before
		}
	}
	kept := make(map[int][]float64, len(base))
	var wanted [sieveBins]bool
	for k := range base {
		wanted[k] = true
		kept[k] = make([]float64, 0, s.counts[k])
	}
	visit(func(v float64) {
		if k := s.bin(v); wanted[k] {
			kept[k] = append(kept[k], v)
		}
	})
	for k := range kept {
		slices.Sort(kept[k])
	}
	at := func(rank int) float64 {
		k, before := s.find(rank)
		return kept[k][rank-before]
	}
	out := make([]float64, len(p))
	for i, q := range p {
		h := q * float64(n-1)
		low := int(math.Floor(h))
		a, b := at(low), at(min(low+1, n-1))
		out[i] = a + (h-float64(low))*(b-a)
	}
	return out
}

// find is the bin that holds the value of a rank, 0 for the smallest, and the number of values before that bin.
func (s *sieve) find(rank int) (bin, before int) {
	for k, n := range s.counts {
		if rank < before+n {
			return k, before
		}
		before += n
	}
	return len(s.counts) - 1, before
}
