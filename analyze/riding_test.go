package analyze

import (
	"math"
	"testing"

	"stanchion/ingest"
)

// bare is a ride of one segment with given velocity, x its running integral; nothing is filtered.
func bare(t testing.TB, fs float64, v []float64) *ride {
	t.Helper()
	r := &ride{opt: DefaultOptions(), trace: &ingest.Trace{RateHz: fs}, fs: fs, T: 160}
	x := make([]float64, len(v))
	for i := 1; i < len(v); i++ {
		x[i] = x[i-1] + v[i]/fs
	}
	r.segs = []segment{{raw: x, x: x, v: v}}
	r.segs[0].cells = r.cells(v)
	return r
}

func constant(n int, value float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = value
	}
	return out
}

// Cells tile the segment, at rates where a cell is not a whole number of samples as well.
func TestCellsTile(t *testing.T) {
	for _, fs := range []float64{1000, 333, 300, 99.7, 1013.37} {
		for _, n := range []int{1, 7, 250, 251, 9973} {
			r := bare(t, fs, make([]float64, n))
			at := 0
			for k, c := range r.segs[0].cells {
				if c.lo != at || c.hi <= c.lo {
					t.Fatalf("fs %g, n %d: cell %d is [%d, %d), want it to start at %d", fs, n, k, c.lo, c.hi, at)
				}
				if lo := float64(c.lo) / fs; lo < 0.25*float64(k)-1e-9 {
					t.Fatalf("fs %g: sample %d at %g s is before cell %d", fs, c.lo, lo, k)
				}
				at = c.hi
			}
			if at != n {
				t.Fatalf("fs %g: cells end at %d of %d samples", fs, at, n)
			}
		}
	}
}

// A burst of 100 mm/s between 2 and 4 s: each cell's window holds a known share of it, so its RMS is
// 100·√share. Closed form; tolerance is rounding.
func TestCellRMS(t *testing.T) {
	v := make([]float64, 6000)
	for i := 2000; i < 4000; i++ {
		v[i] = 100
	}
	r := bare(t, 1000, v)
	for k, c := range r.segs[0].cells {
		centre := 0.25*float64(k) + 0.125
		lo, hi := max(0, centre-0.5), min(6, centre+0.5)
		share := max(0, min(hi, 4)-max(lo, 2)) / (hi - lo)
		if want := 100 * math.Sqrt(share); math.Abs(c.rms-want) > 1e-9 {
			t.Errorf("cell %d: RMS %g, want %g", k, c.rms, want)
		}
		if riding := share > 0.04; c.riding != riding {
			t.Errorf("cell %d: riding %v, want %v", k, c.riding, riding)
		}
	}
}

// Pauses under 3 s are riding, pauses of 3 s are not. The two cells after a burst still hold some of
// it in their windows, so riding reaches 0.5 s into a pause on both sides.
func TestRidingPauses(t *testing.T) {
	build := func(pause float64) []float64 {
		v := constant(2000, 100)
		v = append(v, make([]float64, int(pause*1000))...)
		return append(v, constant(2000, 100)...)
	}
	for _, c := range []struct {
		pause float64
		spans int
	}{{2, 1}, {3.5, 1}, {3.75, 1}, {4, 2}, {6, 2}} {
		r := bare(t, 1000, build(c.pause))
		got := r.riding()
		if len(got.Riding) != c.spans {
			t.Errorf("pause of %g s: %d spans of riding, want %d: %v", c.pause, len(got.Riding), c.spans, got.Riding)
		}
	}
	r := bare(t, 1000, build(6))
	got := r.riding()
	if s, _ := got.RidingS.Get(); s != 5 {
		t.Errorf("riding time %g s, want 5", s)
	}
	if d, _ := got.DurationS.Get(); d != 10 {
		t.Errorf("duration %g s, want 10", d)
	}
}

func TestRidingAt(t *testing.T) {
	for _, fs := range []float64{1000, 300, 99.7} {
		v := make([]float64, 4000)
		for i := 1200; i < 1900; i++ {
			v[i] = 500
		}
		r := bare(t, fs, v)
		s := &r.segs[0]
		in := make([]bool, len(v))
		for _, p := range s.ridingSpans() {
			for i := p.lo; i < p.hi; i++ {
				in[i] = true
			}
		}
		for i := range v {
			if r.ridingAt(s, i) != in[i] {
				t.Fatalf("fs %g: ridingAt(%d) is %v", fs, i, !in[i])
			}
		}
	}
}

// At a rate where a cell is no whole number of samples, stretches of equally many cells differ by a sample: 900 and 901 in 3 s at
// 300.3 Hz. A pause of 3 s is no riding, and one of 2.75 s is, wherever it lies; a rest of 2 s counts, and one of 1.75 s does not.
func TestLengthsDoNotDependOnWhereCellsLie(t *testing.T) {
	r := bare(t, 300.3, make([]float64, 3000))
	s := &r.segs[0]
	for first := 1; first < 20; first++ {
		for _, n := range []int{11, 12} {
			cells := append([]cell(nil), s.cells...)
			for k := range cells {
				cells[k].riding = k < first || k >= first+n
			}
			r.closePauses(cells)
			if riding := cells[first].riding; riding != (n == 11) {
				t.Errorf("a pause of %d cells from cell %d on is riding: %v", n, first, riding)
			}
		}
		for _, n := range []int{7, 8} {
			inside := func(_ *segment, c cell) bool { return c.lo >= s.cells[first].lo && c.hi <= s.cells[first+n-1].hi }
			if got := r.rests(s, inside); len(got) != n-7 {
				t.Errorf("%d cells at rest from cell %d on: rests %v", n, first, got)
			}
		}
	}
}
