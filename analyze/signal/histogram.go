package signal

// A Binner counts into equal bins [lo, hi) from First in steps of Width.
type Binner struct {
	First, Width float64
	Bins         int
}

// Index is the bin of v, -1 under the first edge, Bins at or over the last edge.
func (b Binner) Index(v float64) int { panic("not written yet") }
