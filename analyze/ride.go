package analyze

import "stanchion/ingest"

// ride is the working state that the figures share: filtered signals per segment and the cells of riding time.
// Figures read it and never change it, so that independent figures may run at the same time.
type ride struct {
	opt      Options
	trace    *ingest.Trace
	fs       float64 // Hz
	T        float64 // usable travel, mm
	segs     []segment
	distance distance
	all      *measured // counts over all riding samples
	// noVelocity, when not empty, is why every figure that uses v is absent (sample rate under RateMinVelocityHz).
	noVelocity string
}

// segment is one gap-free piece with its filtered signals. All slices but cells have the same length.
type segment struct {
	startS float64
	source int       // index into trace.Segments
	raw    []float64 // unfiltered travel, mm
	x      []float64 // filtered travel, mm
	v      []float64 // velocity, mm/s
	cells  []cell
}

// cell is [0.25k, 0.25(k+1)) s of a segment.
type cell struct {
	lo, hi int     // samples [lo, hi) of the segment
	rms    float64 // RMS of v in the 1 s window about the cell's centre, mm/s
	riding bool
}

// time is the time of sample i (may be fractional) of s, in s from the first sample of the recording.
func (r *ride) time(s *segment, i float64) float64 { return s.startS + i/r.fs }

// ridingAt says whether sample i of s lies in riding time; i is clamped to the segment.
func (r *ride) ridingAt(s *segment, i int) bool {
	if len(s.cells) == 0 {
		return false
	}
	// Cells have equal length in samples up to rounding, so the guess is off by one at the most.
	k := int(float64(i) / (r.opt.CellS * r.fs))
	k = max(0, min(k, len(s.cells)-1))
	for k > 0 && i < s.cells[k].lo {
		k--
	}
	for k < len(s.cells)-1 && i >= s.cells[k].hi {
		k++
	}
	return s.cells[k].riding
}

// pct turns percent of travel into mm.
func (r *ride) pct(p float64) float64 { return p / 100 * r.T }
