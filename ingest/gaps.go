package ingest

import (
	"math"
	"slices"
)

// slack keeps the limits on steps ("over 3 periods", "up to 20 ms") from turning on rounding errors in the last digits
// of a stamp.
const slack = 1 + 1e-9

// nominalPeriod is the median step between samples or, where the mean of the steps within half and one and a half
// medians differs from it by more than tolerance, that mean: the stamps are then too coarse for a median. ticks must
// hold two stamps or more.
func nominalPeriod(ticks []float64, tolerance float64) (period float64, fromMean bool) {
	median := medianStep(ticks)
	lo, hi := 0.5*median, 1.5*median
	sum, n := 0.0, 0
	for i := 1; i < len(ticks); i++ {
		if d := ticks[i] - ticks[i-1]; d >= lo && d <= hi {
			sum += d
			n++
		}
	}
	if n == 0 {
		return median, false
	}
	if mean := sum / float64(n); math.Abs(mean-median) > tolerance*median {
		return mean, true
	}
	return median, false
}

// roundRate returns rate, or the whole number that it misses only by the rounding of its stamps.
func roundRate(rate float64) float64 {
	if whole := math.Round(rate); math.Abs(rate-whole) <= 2e-9*rate {
		return whole
	}
	return rate
}

// A stretch is a range of samples [lo, hi) that no long gap cuts.
type stretch struct {
	lo, hi int
	grid   gridFit
}

// splitGaps cuts the samples at steps over both gap and bridge (in ticks), and before each sample in cuts (rising). It
// notes every split in q.
func (tl *timeline) splitGaps(gap, bridge float64, cuts []int, q *Quality) []stretch {
	limit := max(gap, bridge) * slack
	var out []stretch
	lo, n := 0, len(tl.ticks)
	for i := 1; i < n; i++ {
		step := tl.ticks[i] - tl.ticks[i-1]
		if step <= limit && (len(cuts) == 0 || i < cuts[0]) {
			continue
		}
		for len(cuts) > 0 && cuts[0] <= i {
			cuts = cuts[1:]
		}
		out = append(out, stretch{lo: lo, hi: i})
		q.Splits = append(q.Splits, Gap{StartS: tl.ticks[i-1] * tl.tickS, DurationS: step * tl.tickS})
		lo = i
	}
	return append(out, stretch{lo: lo, hi: n})
}

// stallCuts returns the samples before which the clock stood still or ran a second time for over limit s: what lies on
// the two sides was not recorded in one go.
func (tl *timeline) stallCuts(period, limit float64) (cuts []int, rows int) {
	for _, s := range tl.stalls {
		if float64(s.n)*period*tl.tickS <= limit {
			continue
		}
		rows += s.n
		if s.at > 0 && s.at < len(tl.ticks) {
			cuts = append(cuts, s.at)
		}
	}
	return cuts, rows
}

// medianStep is the median difference of neighbours in ticks, the mean of the middle two where their number is even.
func medianStep(ticks []float64) float64 {
	n := len(ticks) - 1
	lower, upper := selectSteps(ticks, (n-1)/2, n/2)
	return (lower + upper) / 2
}

// bandSample is how many steps selectSteps looks at to find a band that should hold the wanted ones; bandHalf, five
// standard deviations of a rank in that sample, is half the width of the band.
const bandSample, bandHalf = 16384, 320

// selectSteps returns the steps of ranks a ≤ b (0 = smallest, b at most a + 1) exactly. It takes a band of values from an
// even sample of the steps, counts what lies below it and sorts only what lies within; should the band have missed, it
// sorts all.
func selectSteps(ticks []float64, a, b int) (sa, sb float64) {
	n := len(ticks) - 1
	if n > 2*bandSample {
		sample := make([]float64, bandSample)
		for k := range sample {
			i := int(int64(k) * int64(n) / bandSample)
			sample[k] = ticks[i+1] - ticks[i]
		}
		slices.Sort(sample)
		middle := int(int64(a) * bandSample / int64(n))
		band := stepsBetween(ticks, sample[max(middle-bandHalf, 0)], sample[min(middle+bandHalf, bandSample-1)])
		sa, okA := band.rank(a)
		sb, okB := band.rank(b)
		if okA && okB {
			return sa, sb
		}
	}
	all := stepsBetween(ticks, math.Inf(-1), math.Inf(1))
	return all.inside[a], all.inside[b]
}

// A stepBand counts the steps below, at and between two values.
type stepBand struct {
	lo, hi            float64
	below, atLo, atHi int
	inside            []float64 // strictly between lo and hi, by size
}

func stepsBetween(ticks []float64, lo, hi float64) stepBand {
	b := stepBand{lo: lo, hi: hi}
	prev := ticks[0]
	for _, t := range ticks[1:] {
		d := t - prev
		prev = t
		switch {
		case d < lo:
			b.below++
		case d == lo:
			b.atLo++
		case d < hi:
			b.inside = append(b.inside, d)
		case d == hi:
			b.atHi++
		}
	}
	slices.Sort(b.inside)
	return b
}

// rank returns the step of the given rank among all steps, if it lies in the band.
func (b stepBand) rank(r int) (step float64, ok bool) {
	r -= b.below
	switch inner := r - b.atLo; {
	case r < 0:
		return 0, false
	case inner < 0:
		return b.lo, true
	case inner < len(b.inside):
		return b.inside[inner], true
	case inner < len(b.inside)+b.atHi:
		return b.hi, true
	}
	return 0, false
}
