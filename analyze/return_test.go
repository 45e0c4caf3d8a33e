package analyze

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// ridingOn is a ride with travel x that is riding throughout.
func ridingOn(t testing.TB, fs float64, x []float64) *ride {
	r := bare(t, fs, constant(len(x), 100))
	r.segs[0].x = x
	r.all = r.measure()
	return r
}

// compressionsTo makes compression strokes while riding that end at the given samples of x.
func compressionsTo(fs float64, x []float64, peaks ...int) []Stroke {
	var out []Stroke
	for _, p := range peaks {
		out = append(out, Stroke{StartS: float64(p-30) / fs, EndS: float64(p) / fs, StartMM: 30, EndMM: x[p], Compression: true, AmplitudeMM: x[p] - 30, Riding: true})
	}
	return out
}

// recoveries is n exponential recoveries of time constant tau s to 30 mm from 30 + depth mm, 2 s each.
func recoveries(fs float64, n int, depth, tau float64) (x []float64, peaks []int) {
	for range n {
		peaks = append(peaks, len(x))
		for i := range int(2 * fs) {
			x = append(x, 30+depth*math.Exp(-float64(i)/fs/tau))
		}
	}
	return x, peaks
}

// An exponential recovery is within a tenth of its depth after τ·ln 10. Closed form; the crossing is interpolated on a
// straight line, tolerance 1e-6 s at 1000 Hz.
func TestReturnTimes(t *testing.T) {
	const fs = 1000.0
	x, peaks := recoveries(fs, 6, 40, 0.1)
	slow, slowPeaks := recoveries(fs, 4, 40, 0.4)
	for _, p := range slowPeaks {
		peaks = append(peaks, len(x)+p)
	}
	x = append(x, slow...)
	r := ridingOn(t, fs, x)
	got := r.returns(compressionsTo(fs, x, peaks...), level30)
	near(t, "median", got.MedianS, 0.1*math.Ln10, 1e-5)
	near(t, "Q90", got.Q90S, 0.4*math.Ln10, 1e-5)
	near(t, "not back", got.NotBackShare, 0.4, 1e-12)
	if got.MedianS.N() != 10 || len(got.MedianS.Caveats()) != 1 {
		t.Errorf("rests on %d, caveats %q: want 10 and the caveat of few", got.MedianS.N(), got.MedianS.Caveats())
	}
}

// A stroke counts from 15 % of travel over sag on (24 mm of 160), while riding; rebound strokes never do.
func TestReturnWhichStrokes(t *testing.T) {
	const fs = 1000.0
	for _, c := range []struct {
		depth float64
		n     int
	}{{24.001, 6}, {23.999, 0}} {
		x, peaks := recoveries(fs, 6, c.depth, 0.1)
		r := ridingOn(t, fs, x)
		strokes := compressionsTo(fs, x, peaks...)
		if got := r.returns(strokes, level30).MedianS.N(); got != c.n {
			t.Errorf("%g mm over sag: %d strokes, want %d", c.depth, got, c.n)
		}
		for i := range strokes {
			strokes[i].Riding = false
		}
		gone(t, "not riding", r.returns(strokes, level30).MedianS)
	}
}

// A fork that never comes back is infinitely late: it counts in the share, and a quantile that falls on it is absent. Where the
// recording breaks off within 0.5 s nothing is known.
func TestReturnNever(t *testing.T) {
	const fs = 1000.0
	x, peaks := recoveries(fs, 9, 40, 0.1)
	peaks = append(peaks, len(x))
	stuck := append(append([]float64(nil), x...), constant(2000, 70)...)
	r := ridingOn(t, fs, stuck)
	got := r.returns(compressionsTo(fs, stuck, peaks...), level30)
	near(t, "not back", got.NotBackShare, 0.1, 1e-12)
	near(t, "median", got.MedianS, 0.1*math.Ln10, 1e-5)
	gone(t, "Q90", got.Q90S) // the ninth decile lies between the ninth and the tenth value

	broken := append(append([]float64(nil), x...), constant(400, 70)...)
	got = ridingOn(t, fs, broken).returns(compressionsTo(fs, broken, peaks...), level30)
	near(t, "not back, broken off", got.NotBackShare, 0, 0)
	if got.MedianS.N() != 9 {
		t.Errorf("rests on %d, want 9", got.MedianS.N())
	}
}

// Skipping blocks finds what looking at every sample finds.
func TestBlockMinima(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 3*minimaBlock).Draw(t, "n")
		x := make([]float64, n)
		for i, v := range lcg(n, rapid.Uint32().Draw(t, "seed")) {
			x[i] = 40 + 30*v
		}
		level := rapid.Float64Range(9, 14).Draw(t, "level")
		from := rapid.IntRange(0, n).Draw(t, "from")
		at, ok := newBlockMinima(x).firstAtOrUnder(level, from)
		for i := from; i < n; i++ {
			if x[i] > level {
				continue
			}
			if !ok || at > float64(i) || at < float64(i-1) {
				t.Fatalf("found %g (%v), the first sample is %d", at, ok, i)
			}
			return
		}
		if ok {
			t.Fatalf("found %g, there is none", at)
		}
	})
}
