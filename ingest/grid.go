package ingest

import (
	"math"
	"slices"
)

// A gridFit says how the stamps of a stretch lie about a uniform grid. The grid step of a stamp is counted from step to
// step, each rounded to whole periods, so that a clock that runs a little fast or slow loses no sample. The distance of a
// stamp is what remains: stamp − first stamp − grid step·period, in ticks.
type gridFit struct {
	steps   int     // periods from the first sample to the last
	lost    int     // samples missing in between
	bridged int     // holes over gapPeriods
	shared  bool    // two stamps lie on one step
	fits    bool    // the samples are on the grid and need no resampling
	lo, hi  float64 // range of the distances
	// centred sums over the samples: n, distance², grid step², grid step·distance
	n, dd, kk, kd float64
}

// fitGrid lays a grid of the given period under rising stamps. gap is the step, in ticks, above which a hole counts as
// a bridged gap.
func fitGrid(t []float64, period, gap float64) gridFit {
	var g gridFit
	inv := 1 / period
	gap *= slack
	var sk, sd, skk, skd, sdd float64
	k := 0
	for i := 1; i < len(t); i++ {
		step := t[i] - t[i-1]
		whole := int(step*inv + 0.5)
		k += whole
		if whole != 1 {
			if whole == 0 {
				g.shared = true
			} else {
				g.lost += whole - 1
			}
			if step > gap {
				g.bridged++
			}
		}
		kf := float64(k)
		d := t[i] - t[0] - kf*period
		if d < g.lo {
			g.lo = d
		} else if d > g.hi {
			g.hi = d
		}
		sk += kf
		sd += d
		skk += kf * kf
		skd += kf * d
		sdd += d * d
	}
	g.steps = k
	g.n = float64(len(t))
	g.dd = sdd - sd*sd/g.n
	g.kk = skk - sk*sk/g.n
	g.kd = skd - sk*sd/g.n
	return g
}

// uniform tells whether all stamps are within tolerance periods of one grid, a sample to a grid step.
func (g gridFit) uniform(period, tolerance float64) bool {
	return !g.shared && (g.hi-g.lo)/2 <= tolerance*period*slack
}

// rounded tells whether stamps that miss the grid do so only because they were written with few digits: every stamp is a
// multiple of one decimal unit and none is further off than half that unit (with a fifth to spare, for the fit). A log of 300 Hz with stamps in whole ms is
// off by up to 0.15 periods, yet its samples were taken evenly. A unit is of use only where it is under the period, and one
// that is under a tenth of it cannot make a stamp miss the default tolerance, so there is one to try.
func (g gridFit) rounded(t []float64, period float64) bool {
	unit := math.Pow(10, math.Floor(math.Log10(period)))
	return !g.shared && g.hi-g.lo <= 1.2*unit && multiples(t, unit)
}

// stampNoise is how far, as a share of their unit, stamps may be from its multiples by rounding of the numbers themselves.
const stampNoise = 1e-3

// multiples tells whether all of t are whole multiples of unit.
func multiples(t []float64, unit float64) bool {
	inv := 1 / unit
	for _, v := range t {
		if m := v * inv; math.Abs(m-math.Round(m)) > stampNoise {
			return false
		}
	}
	return true
}

// scatter is the sum of squared distances from the least-squares line, in ticks².
func (g gridFit) scatter() float64 {
	if g.kk == 0 {
		return 0
	}
	return max(g.dd-g.kd*g.kd/g.kk, 0)
}

// chooseGrid lays the grid under every stretch and returns its period: the nominal one or, where the stamps of a good
// log drift away from that (a clock of whole µs at 1000.4 µs a sample), the one that fits them best, if that leaves fewer
// samples to resample and is within PeriodTolerance of the nominal one. It also returns the RMS distance of the stamps,
// in ticks, from the line that fits each stretch best.
func (tl *timeline) chooseGrid(parts []stretch, period float64, opt PrepareOptions) (chosen, jitter float64) {
	off := tl.layGrid(parts, period, opt)
	if off == 0 {
		return period, scatterRMS(parts)
	}
	var kk, kd float64
	for _, p := range parts {
		kk += p.grid.kk
		kd += p.grid.kd
	}
	best := 1 / (tl.tickS * roundRate(1/((period+kd/kk)*tl.tickS)))
	if !(math.Abs(best-period) <= opt.PeriodTolerance*period) || best == period {
		return period, scatterRMS(parts)
	}
	other := slices.Clone(parts)
	if tl.layGrid(other, best, opt) < off {
		copy(parts, other)
		period = best
	}
	return period, scatterRMS(other) // the nearer grid has the smaller rounding errors
}

// layGrid fits a grid of the given period to every stretch and returns how many samples are not on it.
func (tl *timeline) layGrid(parts []stretch, period float64, opt PrepareOptions) (off int) {
	for i := range parts {
		p := &parts[i]
		t := tl.ticks[p.lo:p.hi]
		p.grid = fitGrid(t, period, opt.GapPeriods*period)
		p.grid.fits = p.grid.uniform(period, opt.GridTolerance) || p.grid.rounded(t, period)
		if !p.grid.fits {
			off += p.hi - p.lo
		}
	}
	return off
}

// scatterRMS is the RMS distance of the stamps, in ticks, from the least-squares line of their stretch.
func scatterRMS(parts []stretch) float64 {
	var ss, n float64
	for _, p := range parts {
		ss += p.grid.scatter()
		n += p.grid.n
	}
	return math.Sqrt(ss / n)
}

// segment puts one stretch on the grid. Stamps that are on it already keep their samples, and only the steps that hold
// none are filled by PCHIP through the neighbours; the segment then shares memory with the timeline where nothing was
// lost. Otherwise the whole stretch is resampled by PCHIP from its first stamp on.
func (tl *timeline) segment(p stretch, period float64, opt PrepareOptions) (s Segment, resampled bool) {
	t, x := tl.ticks[p.lo:p.hi], tl.travel[p.lo:p.hi:p.hi]
	if !p.grid.fits {
		n := int((t[len(t)-1]-t[0])/period+1e-6) + 1
		s = Segment{StartS: t[0] * tl.tickS, TravelMM: make([]float64, n)}
		resample(s.TravelMM, t, x, period)
		for _, c := range tl.extra {
			dst := make([]float64, n)
			nearest(dst, t, c[p.lo:p.hi], period)
			s.Channels = append(s.Channels, dst)
		}
		return s, true
	}
	// The grid that halves the range of the distances, but never before time 0.
	s.StartS = max(t[0]+(p.grid.lo+p.grid.hi)/2, 0) * tl.tickS
	if p.grid.lost == 0 {
		s.TravelMM = x
		for _, c := range tl.extra {
			s.Channels = append(s.Channels, c[p.lo:p.hi:p.hi])
		}
		return s, false
	}
	s.TravelMM = make([]float64, p.grid.steps+1)
	holes := findHoles(t, period)
	fillHoles(s.TravelMM, x, holes)
	for _, c := range tl.extra {
		dst := make([]float64, p.grid.steps+1)
		repeatNearest(dst, c[p.lo:p.hi], holes)
		s.Channels = append(s.Channels, dst)
	}
	return s, false
}

// findHoles lists the holes between stamps that are on a uniform grid.
func findHoles(t []float64, period float64) (holes []hole) {
	inv := 1 / period
	lost := 0
	for i := 1; i < len(t); i++ {
		if whole := (t[i]-t[i-1])*inv + 0.5; whole >= 2 {
			lost += int(whole) - 1
			holes = append(holes, hole{sample: i, step: i + lost, width: int(whole)})
		}
	}
	return holes
}

// repeatNearest copies the values v to their grid steps in dst; a step without one takes the nearest value, of two
// equally near the earlier.
func repeatNearest(dst, v []float64, holes []hole) {
	from, at := 0, 0
	for _, h := range holes {
		copy(dst[at:], v[from:h.sample])
		from, at = h.sample, h.step
		for m := 1; m < h.width; m++ {
			if 2*m <= h.width {
				dst[h.step-h.width+m] = v[h.sample-1]
			} else {
				dst[h.step-h.width+m] = v[h.sample]
			}
		}
	}
	copy(dst[at:], v[from:])
}

// nearest sets dst[j] to the value of v whose stamp is nearest to t[0] + j·period, of two equally near the earlier.
func nearest(dst, t, v []float64, period float64) {
	i := 0
	for j := range dst {
		at := t[0] + float64(j)*period
		for i+1 < len(t) && t[i+1]-at < at-t[i] {
			i++
		}
		dst[j] = v[i]
	}
}
