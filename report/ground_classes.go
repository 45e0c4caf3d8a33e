package report

import (
	"math"
	"slices"
)

// classes parts values into five classes with round edges, so that the middle nine tenths of them fill the classes. The first and the last are open.
func classes(values []float64) (edges []float64, words []string) {
	v := slices.Clone(values)
	slices.Sort(v)
	n := len(v) - 1
	low, high := v[n/20], v[n-n/20]
	step := niceStep((high - low) / 5)
	first := math.Round(low/step)*step + step
	decimals := max(0, int(-math.Floor(math.Log10(step)+1e-9)))
	if step*math.Pow(10, float64(decimals))-math.Round(step*math.Pow(10, float64(decimals))) != 0 { // 2.5 and the like
		decimals++
	}
	for i := range 4 {
		edges = append(edges, round(first+float64(i)*step, 9))
	}
	words = append(words, "under "+fixed(edges[0], decimals))
	for i := range 3 {
		words = append(words, fixed(edges[i], decimals)+" to "+fixed(edges[i+1], decimals))
	}
	return edges, append(words, fixed(edges[3], decimals)+" or more")
}

// niceStep is the smallest of 1, 2, 2.5, 5 and 10 times a power of ten that is at least v.
func niceStep(v float64) float64 {
	if !(v > 0) {
		return 1
	}
	unit := math.Pow(10, math.Floor(math.Log10(v)))
	for _, k := range [...]float64{1, 2, 2.5, 5} {
		if k*unit >= v*(1-1e-9) {
			return k * unit
		}
	}
	return 10 * unit
}
