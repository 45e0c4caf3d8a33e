package ingest

import "math"

// madScale makes the median absolute deviation of normally distributed values estimate their standard deviation.
const madScale = 1.4826

// A spike is a sample that despike found to be out of line, with the median of its window.
type spike struct {
	at     int
	median float64
}

// despike replaces lone spikes in x, in place, by the median of their window (Hampel identifier: F. R. Hampel, J. Am.
// Stat. Assoc. 69:383, 1974). A sample is out of line if it lies further from the median of the samples up to
// SpikeHalfWindow away on both sides, itself included and the window cut short at the ends of x, than the larger of
// SpikeMADs scaled median absolute deviations and SpikeMinMM. Runs of over SpikeMaxRun such samples are left alone. All
// windows see x as it was recorded.
func despike(x []float64, opt PrepareOptions, q *Quality) {
	found := findSpikes(x, opt)
	for lo := 0; lo < len(found); {
		hi := lo + 1
		for hi < len(found) && found[hi].at == found[hi-1].at+1 {
			hi++
		}
		if hi-lo > opt.SpikeMaxRun {
			q.LongSpikeRuns++
		} else {
			q.SpikeRuns++
			q.SpikeSamples += hi - lo
			for _, s := range found[lo:hi] {
				x[s.at] = s.median
			}
		}
		lo = hi
	}
}

// findSpikes lists the samples of x that are out of line, by index. Two cheap tests clear nearly all samples before the
// window is sorted; both rest on the fact that the median of the 2h+1 values of a full window lies within any bounds
// that hold for h+1 of them.
func findSpikes(x []float64, opt PrepareOptions) []spike {
	var found []spike
	h, n := opt.SpikeHalfWindow, len(x)
	window := make([]float64, 2*h+1)
	// Test 1: the h+1 samples from back before to ahead after one are each within reach steps of it. If no step is over
	// SpikeMinMM/reach, they all are within SpikeMinMM, and so is the median.
	back, ahead := (h+1)/2, h/2
	small := opt.SpikeMinMM / float64(max(back, 1)) * (1 - 1e-9)
	calm := 0 // small steps in a row, up to the step from j-1 to j
	for j := range n + ahead {
		if j > 0 && j < n {
			if d := x[j] - x[j-1]; d <= small && d >= -small {
				calm++
			} else {
				calm = 0
			}
		}
		i := j - ahead
		if i < 0 || (calm >= h && i >= h && i+h < n) {
			continue
		}
		if i >= h && i+h < n && passingThrough(x[i-h:i+h+1], h, opt.SpikeMinMM) {
			continue
		}
		if m, out := outOfLine(window, x[max(i-h, 0):min(i+h+1, n)], x[i], opt); out {
			found = append(found, spike{i, m})
		}
	}
	return found
}

// passingThrough is test 2: travel that runs up or down through a sample. If no value before the middle of w is over
// the middle one by more than margin, and none after it is under it by more than margin (or the reverse), then h+1
// values are at most, and h+1 are at least, within margin of it, and so is the median.
func passingThrough(w []float64, h int, margin float64) bool {
	lo, hi := w[h]-margin, w[h]+margin
	up, down := true, true
	for k := range h {
		before, after := w[k], w[h+1+k]
		up = up && before <= hi && after >= lo
		down = down && before >= lo && after <= hi
		if !up && !down {
			return false
		}
	}
	return true
}

// outOfLine returns the median of w, and whether v lies too far from it. buf is room for a copy of w.
func outOfLine(buf, w []float64, v float64, opt PrepareOptions) (median float64, out bool) {
	buf = buf[:copy(buf, w)]
	insertionSort(buf)
	median = middle(buf)
	off := math.Abs(v - median)
	if off <= opt.SpikeMinMM {
		return median, false
	}
	for i, b := range buf {
		buf[i] = math.Abs(b - median)
	}
	insertionSort(buf)
	return median, off > opt.SpikeMADs*madScale*middle(buf)
}

// middle is the median of sorted values.
func middle(s []float64) float64 {
	n := len(s)
	if n%2 == 1 {
		return s[n/2]
	}
	return (s[n/2-1] + s[n/2]) / 2
}

// insertionSort sorts a short slice.
func insertionSort(s []float64) {
	for i := 1; i < len(s); i++ {
		v, k := s[i], i
		for ; k > 0 && s[k-1] > v; k-- {
			s[k] = s[k-1]
		}
		s[k] = v
	}
}
