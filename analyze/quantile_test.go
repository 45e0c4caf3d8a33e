package analyze

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// quantileBySorting is the type 7 quantile by its definition.
func quantileBySorting(a []float64, p float64) float64 {
	s := slices.Sorted(slices.Values(a))
	h := p * float64(len(s)-1)
	low := int(h)
	return s[low] + (h-float64(low))*(s[min(low+1, len(s)-1)]-s[low])
}

// The sieve finds the quantiles that sorting finds, whatever the values, inside its range or not.
func TestSieveQuantiles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		value := rapid.OneOf(rapid.Float64Range(-100, 300), rapid.Float64Range(-1e6, 1e6), rapid.Just(0.0), rapid.Just(160.0))
		a := rapid.SliceOfN(value, 1, 200).Draw(t, "a")
		p := rapid.SliceOfN(rapid.Float64Range(0, 1), 1, 4).Draw(t, "p")
		s := newSieve(-80, 240)
		for _, v := range a {
			s.add(v)
		}
		got := s.quantiles(len(a), func(f func(float64)) {
			for _, v := range a {
				f(v)
			}
		}, p...)
		for i := range p {
			want := quantileBySorting(a, p[i])
			if math.Abs(got[i]-want) > 1e-9*math.Max(1, math.Abs(want)) {
				t.Fatalf("quantile %g of %v is %g, want %g", p[i], a, got[i], want)
			}
		}
	})
}
