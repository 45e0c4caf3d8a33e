package signal

import "math"

// A Binner counts into equal bins [lo, hi) from First in steps of Width.
type Binner struct {
	First, Width float64
	Bins         int
}

// Edge is the lower edge of bin k: First + k·Width. Edge(Bins) is the last edge.
func (b Binner) Edge(k int) float64 { return b.First + float64(k)*b.Width }

// Index is the bin of v, -1 under the first edge, Bins at or over the last edge. A value equal to Edge(k) is in bin k,
// however the division rounds. NaN gives -1.
func (b Binner) Index(v float64) int {
	switch {
	case !(v >= b.First): // NaN too
		return -1
	case v >= b.Edge(b.Bins):
		return b.Bins
	}
	k := int(math.Floor((v - b.First) / b.Width))
	for k > 0 && v < b.Edge(k) {
		k--
	}
	for k < b.Bins-1 && v >= b.Edge(k+1) {
		k++
	}
	return min(k, b.Bins-1)
}
