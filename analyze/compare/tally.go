package compare

import (
	"math"

	"stanchion/analyze"
	"stanchion/analyze/signal"
)

// The bins of a tally. Quantiles are interpolated within a bin, so they are good to a fraction of its width.
const (
	travelBinsN = 320 // from −0.1 T to 1.1 T: 0.6 mm at 160 mm of travel
	speedBinsN  = 300
	speedBinMMS = 20
	roughBinsN  = 300
	roughBinMMS = 10
	tallyBins   = travelBinsN + 2*speedBinsN + roughBinsN
)

// The sums of a tally.
const (
	sumN = iota // riding samples
	sumX
	sumCompressionN // samples of a direction that are not still
	sumReboundN
	sumCompression
	sumRebound
	sumStill
	sumLowCompression
	sumHighCompression
	sumLowRebound
	sumHighRebound
	sumBottoms
	tallySums
)

// A tally holds all that the figures of a stretch of trail are made of, and can be added up: a stretch of many parts is the sum
// of their tallies. Only samples while riding count.
type tally struct {
	sum  [tallySums]float64
	hist []uint32 // travel, compression speed, rebound speed, roughness of cells
}

func newTally() tally { return tally{hist: make([]uint32, tallyBins)} }

func (t *tally) add(o *tally) {
	for i, v := range o.sum {
		t.sum[i] += v
	}
	for i, v := range o.hist {
		t.hist[i] += v
	}
}

// A gauge tallies stretches of one run.
type gauge struct {
	opt     *analyze.Options
	signals *analyze.Signals
	bottoms []analyze.BottomOut
	travel  signal.Binner
}

func newGauge(r *Run) gauge {
	T := r.Result.Fork.TravelMM
	return gauge{
		opt: &r.Result.Options, signals: r.Signals, bottoms: r.Result.Travel.Bottoms,
		travel: signal.Binner{First: -0.1 * T, Width: 1.2 * T / travelBinsN, Bins: travelBinsN},
	}
}

// clamp is the bin of a histogram of n bins; what lies outside goes to the end bins.
func clamp(k, n int) int { return max(0, min(k, n-1)) }

// count adds the samples and cells with a time in [from, to) s to t.
func (g *gauge) count(t *tally, from, to float64) {
	fs, cell := g.signals.RateHz, g.opt.CellS
	for i := range g.signals.Segments {
		s := &g.signals.Segments[i]
		first := func(at float64) int {
			return int(max(0, min(math.Ceil((at-s.StartS)*fs-1e-6), float64(len(s.TravelMM)))))
		}
		lo, hi := first(from), first(to)
		for j := lo; j < hi; {
			k := min(int((float64(j)+1e-6)/(cell*fs)), len(s.Riding)-1)
			end := hi
			if k < len(s.Riding)-1 {
				end = max(j+1, min(hi, int(math.Ceil(float64(k+1)*cell*fs-1e-6))))
			}
			if k >= 0 && s.Riding[k] {
				g.samples(t, s.TravelMM[j:end], s.VelocityMMS[j:end])
			}
			j = end
		}
		for k := max(0, int((from-s.StartS)/cell)-1); k < len(s.Riding); k++ {
			centre := s.StartS + (float64(k)+0.5)*cell
			if centre >= to {
				break
			}
			if centre >= from && s.Riding[k] {
				t.hist[travelBinsN+2*speedBinsN+clamp(int(s.RMSMMS[k]/roughBinMMS), roughBinsN)]++
			}
		}
	}
	for _, b := range g.bottoms {
		if b.TimeS >= from && b.TimeS < to {
			t.sum[sumBottoms]++
		}
	}
}

func (g *gauge) samples(t *tally, x, v []float64) {
	t.sum[sumN] += float64(len(x))
	for i := range x {
		t.sum[sumX] += x[i]
		t.hist[clamp(g.travel.Index(x[i]), travelBinsN)]++
		speed := math.Abs(v[i])
		if speed < g.opt.StillMMS || speed == 0 {
			t.sum[sumStill]++
			continue
		}
		bin := clamp(int(speed/speedBinMMS), speedBinsN) // speed is bounded by what analyze lets through
		fast := speed >= g.opt.SplitMMS
		switch {
		case v[i] > 0 && fast:
			t.sum[sumHighCompression]++
		case v[i] > 0:
			t.sum[sumLowCompression]++
		case fast:
			t.sum[sumHighRebound]++
		default:
			t.sum[sumLowRebound]++
		}
		if v[i] > 0 {
			t.sum[sumCompressionN]++
			t.sum[sumCompression] += speed
			t.hist[travelBinsN+bin]++
		} else {
			t.sum[sumReboundN]++
			t.sum[sumRebound] += speed
			t.hist[travelBinsN+speedBinsN+bin]++
		}
	}
}

// units tallies the shared ground second by second of the common time, n of them.
func (g *gauge) units(r *RunAlignment, start float64, n int) []tally {
	out := make([]tally, n)
	for u := range out {
		out[u] = newTally()
		g.count(&out[u], r.At(start+float64(u)), r.At(start+float64(u+1)))
	}
	return out
}

// total is the sum of tallies.
func total(units []tally) tally {
	out := newTally()
	for i := range units {
		out.add(&units[i])
	}
	return out
}

// A partial is a figure that can be recomputed for any part of a run. of is not ok where the part holds nothing to compute it from.
type partial struct {
	key string
	of  func(t *tally, g *gauge) (float64, bool)
}

// partials are the figures that the samples and cells of a stretch give alone. Figures of events that take time to happen
// (strokes, reversals, decays) and of spectra are not among them: cutting a run in blocks would cut through them.
func partials() []partial {
	ratio := func(key string, top, bottom int, scale float64) partial {
		return partial{key, func(t *tally, _ *gauge) (float64, bool) {
			return scale * t.sum[top] / t.sum[bottom], t.sum[bottom] > 0
		}}
	}
	travel := func(key string, p float64) partial {
		return partial{key, func(t *tally, g *gauge) (float64, bool) {
			return quantile(t.hist[:travelBinsN], g.travel.First, g.travel.Width, p)
		}}
	}
	speed := func(key string, from int, p float64) partial {
		return partial{key, func(t *tally, _ *gauge) (float64, bool) {
			return quantile(t.hist[from:from+speedBinsN], 0, speedBinMMS, p)
		}}
	}
	const c, r = travelBinsN, travelBinsN + speedBinsN
	return []partial{
		ratio("sag.dynamic_mean_mm", sumX, sumN, 1),
		travel("sag.dynamic_median_mm", 0.5),
		travel("travel.q05_mm", 0.05), travel("travel.q25_mm", 0.25), travel("travel.q75_mm", 0.75),
		travel("travel.q95_mm", 0.95), travel("travel.q99_mm", 0.99),
		{"travel.bottom_outs_per_min", func(t *tally, g *gauge) (float64, bool) {
			return t.sum[sumBottoms] / (t.sum[sumN] / g.signals.RateHz / 60), t.sum[sumN] > 0
		}},
		ratio("velocity.compression.mean_mm_s", sumCompression, sumCompressionN, 1),
		speed("velocity.compression.median_mm_s", c, 0.5), speed("velocity.compression.q95_mm_s", c, 0.95), speed("velocity.compression.q99_mm_s", c, 0.99),
		ratio("velocity.rebound.mean_mm_s", sumRebound, sumReboundN, 1),
		speed("velocity.rebound.median_mm_s", r, 0.5), speed("velocity.rebound.q95_mm_s", r, 0.95), speed("velocity.rebound.q99_mm_s", r, 0.99),
		{"velocity.rebound_to_compression_ratio", func(t *tally, _ *gauge) (float64, bool) {
			up, okR := quantile(t.hist[r:r+speedBinsN], 0, speedBinMMS, 0.95)
			down, okC := quantile(t.hist[c:c+speedBinsN], 0, speedBinMMS, 0.95)
			return up / down, okR && okC && down > 0
		}},
		ratio("velocity.still_share", sumStill, sumN, 1),
		ratio("velocity.low_speed_compression_share", sumLowCompression, sumN, 1),
		ratio("velocity.high_speed_compression_share", sumHighCompression, sumN, 1),
		ratio("velocity.low_speed_rebound_share", sumLowRebound, sumN, 1),
		ratio("velocity.high_speed_rebound_share", sumHighRebound, sumN, 1),
		{"rough.median_mm_s", func(t *tally, _ *gauge) (float64, bool) {
			return quantile(t.hist[travelBinsN+2*speedBinsN:], 0, roughBinMMS, 0.5)
		}},
	}
}

// quantile of a histogram whose values are taken as spread evenly over each bin.
func quantile(hist []uint32, first, width, p float64) (float64, bool) {
	n := 0.0
	for _, c := range hist {
		n += float64(c)
	}
	if n == 0 {
		return 0, false
	}
	rank := p * n
	for k, c := range hist {
		if f := float64(c); f > 0 && rank <= f {
			return first + width*(float64(k)+rank/f), true
		} else {
			rank -= f
		}
	}
	return first + width*float64(len(hist)), true
}
