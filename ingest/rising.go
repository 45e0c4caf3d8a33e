package ingest

import (
	"sort"
	"time"
)

// Rising marks the longest subsequence of times that rise (Fredman 1975), zero times left out: what is kept where the fewest are to be dropped. One wild
// stamp then costs itself and not all that follow it.
func Rising(at []time.Time) []bool {
	var tails []int // of the best rising subsequence of each length, the index of the last time
	before := make([]int, len(at))
	for i, t := range at {
		if t.IsZero() {
			continue
		}
		k := len(tails)
		if k > 0 && !at[tails[k-1]].Before(t) {
			k = sort.Search(len(tails), func(j int) bool { return !at[tails[j]].Before(t) })
		}
		before[i] = -1
		if k > 0 {
			before[i] = tails[k-1]
		}
		if k == len(tails) {
			tails = append(tails, i)
		} else {
			tails[k] = i
		}
	}
	keep := make([]bool, len(at))
	if len(tails) > 0 {
		for i := tails[len(tails)-1]; i >= 0; i = before[i] {
			keep[i] = true
		}
	}
	return keep
}
