package ingest

import (
	"math"
	"runtime"
	"sort"
	"sync"
)

// Monotone piecewise cubic interpolation: the slope at an inner knot is the weighted harmonic mean of the secants on
// both sides (F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5:300, 1984), at an end knot a three-point
// formula that keeps the shape. SciPy's PchipInterpolator does the same. The slope at a knot depends on its two
// neighbours only (at an end, on the next two), so that a few samples around a hole are enough to bridge it.

// innerSlope is the slope at a knot between intervals of widths h0, h1 with secants d0, d1.
func innerSlope(h0, h1, d0, d1 float64) float64 {
	if !(d0 > 0 && d1 > 0) && !(d0 < 0 && d1 < 0) {
		return 0
	}
	return 3 * (h0 + h1) * d0 * d1 / ((2*h1+h0)*d1 + (h1+2*h0)*d0)
}

// endSlope is the slope at an end knot; h0 and d0 belong to the interval at the end, h1 and d1 to the next one.
func endSlope(h0, h1, d0, d1 float64) float64 {
	d := ((2*h0+h1)*d0 - h0*d1) / (h0 + h1)
	switch {
	case d0 == 0 || (d > 0) != (d0 > 0):
		return 0
	case (d0 > 0) != (d1 > 0) && math.Abs(d) > 3*math.Abs(d0):
		return 3 * d0
	}
	return d
}

// knotSlope is the slope at knot i of the curve through (t[k], x[k]), t rising, two knots or more.
func knotSlope(t, x []float64, i int) float64 {
	n := len(t)
	width := func(k int) float64 { return t[k+1] - t[k] }
	secant := func(k int) float64 { return (x[k+1] - x[k]) / (t[k+1] - t[k]) }
	switch {
	case n == 2:
		return secant(0)
	case i == 0:
		return endSlope(width(0), width(1), secant(0), secant(1))
	case i == n-1:
		return endSlope(width(n-2), width(n-3), secant(n-2), secant(n-3))
	}
	return innerSlope(width(i-1), width(i), secant(i-1), secant(i))
}

// A cubic is one interval of the curve: x0 + s(d0 + s(c + s·b)), s from the left knot.
type cubic struct {
	x0, d0, c, b float64
}

// newCubic is the cubic from value x0 over an interval with secant d, end slopes d0 and d1, and the inverse of its width.
func newCubic(x0, inv, d, d0, d1 float64) cubic {
	return cubic{x0: x0, d0: d0, c: (3*d - 2*d0 - d1) * inv, b: (d0 + d1 - 2*d) * inv * inv}
}

// at is the value at s from the left knot.
func (p cubic) at(s float64) float64 { return p.x0 + s*(p.d0+s*(p.c+s*p.b)) }

// resampleChunk is how many instants resample works out in one go. It is fixed, so that the result does not depend on the
// number of processors.
const resampleChunk = 1 << 16

// resample sets dst[j] to the curve through (t[i], x[i]) at t[0] + j·period, on all processors. The instants must lie
// within the knots (the last may pass the last knot by a rounding error); t has two knots or more.
func resample(dst, t, x []float64, period float64) {
	chunks := (len(dst) + resampleChunk - 1) / resampleChunk
	workers := min(runtime.GOMAXPROCS(0), chunks)
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() {
			for c := w; c < chunks; c += workers {
				lo := c * resampleChunk
				resampleFrom(dst[lo:min(lo+resampleChunk, len(dst))], t, x, period, lo)
			}
		})
	}
	wg.Wait()
}

// resampleFrom sets dst[j] to the curve at t[0] + (first+j)·period, marching along the knots once.
func resampleFrom(dst, t, x []float64, period float64, first int) {
	n := len(t)
	t0 := t[0]
	j, s := 0, float64(first)*period
	start := max(sort.Search(n-1, func(i int) bool { return t[i]-t0 > s })-1, 0)
	h := t[start+1] - t[start]
	inv := 1 / h
	d := (x[start+1] - x[start]) * inv
	left := knotSlope(t, x, start)
	for i := start; i < n-1 && j < len(dst); i++ {
		var h2, inv2, d2, right float64
		end := math.Inf(1)
		if i+2 < n {
			h2 = t[i+2] - t[i+1]
			inv2 = 1 / h2
			d2 = (x[i+2] - x[i+1]) * inv2
			right = innerSlope(h, h2, d, d2)
			end = t[i+1] - t0
		} else {
			right = knotSlope(t, x, n-1)
		}
		if s < end {
			at := t[i] - t0
			p := newCubic(x[i], inv, d, left, right)
			for ; j < len(dst) && s < end; s = float64(first+j) * period {
				dst[j] = p.at(s - at)
				j++
			}
		}
		h, inv, d, left = h2, inv2, d2, right
	}
}

// A hole is a place where a step of a uniform grid, or more of them, hold no sample.
type hole struct {
	sample int // first sample after the hole
	step   int // its grid step
	width  int // grid steps from the sample before, 2 or more
}

// fillHoles copies the samples x to their grid steps in dst and fills the holes by PCHIP.
func fillHoles(dst, x []float64, holes []hole) {
	from, at := 0, 0
	for n, h := range holes {
		i := h.sample
		copy(dst[at:], x[from:i])
		from, at = i, h.step
		// Up to four samples about the hole, at grid steps counted from the one before it.
		lo, hi := max(i-2, 0), min(i+2, len(x))
		pos := [4]float64{-1, 0, float64(h.width), float64(h.width + 1)}
		if n > 0 && holes[n-1].sample == i-1 {
			pos[0] = -float64(holes[n-1].width)
		}
		if n+1 < len(holes) && holes[n+1].sample == i+1 {
			pos[3] = float64(h.width + holes[n+1].width)
		}
		knots, v := pos[lo-i+2:hi-i+2], x[lo:hi]
		k := i - 1 - lo
		inv := 1 / float64(h.width)
		p := newCubic(v[k], inv, (v[k+1]-v[k])*inv, knotSlope(knots, v, k), knotSlope(knots, v, k+1))
		for m := 1; m < h.width; m++ {
			dst[h.step-h.width+m] = p.at(float64(m))
		}
	}
	copy(dst[at:], x[from:])
}
