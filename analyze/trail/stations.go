package trail

import (
	"math"

	"stanchion/analyze"
)

// A grid is equal steps along the trail: step i is from FromM + i·StepM on.
type grid struct {
	from, step float64
	n          int
	low, high  float64 // first and last station of any run
}

// newGrid spans the stations of all runs in whole steps; n is 0 where no run has any.
func newGrid(grounds []*ground, step float64) grid {
	low, high := math.Inf(1), math.Inf(-1)
	for _, g := range grounds {
		if len(g.s) > 0 {
			low, high = min(low, g.s[0]), max(high, g.s[len(g.s)-1])
		}
	}
	if !(high > low) || high-low > longestM {
		return grid{step: step}
	}
	from := math.Floor(low/step) * step
	return grid{from: from, step: step, n: int(math.Ceil((high-from)/step - 1e-9)), low: low, high: high}
}

func (g grid) station(i int) float64 { return g.from + float64(i)*g.step }

// sums are over the samples of one run that fell into one step of a grid while riding.
type sums struct {
	n                      int
	squares, travel, speed float64 // Σv², Σx, Σ speed over ground
	strikes                float64 // Σ of the squares of blows
	speedN                 int
}

// rms is the fork's RMS speed in mm/s.
func (s *sums) rms() float64 { return math.Sqrt(s.squares / float64(s.n)) }

// sumsAlong adds up the riding samples of a run by the steps of the grid. Positions are looked up once a hundredth of a second and lie on a straight
// line between.
func sumsAlong(r *RunOnTrail, g *ground, gr grid) []sums {
	out := make([]sums, gr.n)
	if gr.n == 0 || len(g.s) == 0 || r.Signals == nil || !(r.Signals.RateHz > 0) {
		return out
	}
	fs, cellS := r.Signals.RateHz, r.Result.Options.CellS
	block := max(1, int(fs/100))
	for k := range r.Signals.Segments {
		s := &r.Signals.Segments[k]
		struck := blows(s.VelocityMMS, fs)
		for lo := 0; lo < len(s.TravelMM); lo += block {
			hi := min(lo+block, len(s.TravelMM))
			at := s.StartS + (float64(lo+hi)/2)/fs
			m, ok := g.station(at)
			i := int(math.Floor((m - gr.from) / gr.step))
			if !ok || i < 0 || i >= gr.n || !ridingAt(s, cellS, lo, fs) {
				continue
			}
			o := &out[i]
			for j := lo; j < hi; j++ {
				o.squares += s.VelocityMMS[j] * s.VelocityMMS[j]
				o.travel += s.TravelMM[j]
				o.strikes += struck[j] * struck[j]
			}
			o.n += hi - lo
			if v, ok := g.speed(at); ok {
				o.speed += v * float64(hi-lo)
				o.speedN += hi - lo
			}
		}
	}
	return out
}

// profile is the figures along the trail, medians over the runs; fit turns roughness to the reference speed.
func profile(all [][]sums, gr grid, fs []float64, travelMM float64, fit *SpeedFit) Profile {
	p := Profile{
		FromM: gr.from, StepM: gr.step, RMSMMS: []analyze.Figure{}, NormalMMS: []analyze.Figure{}, SpeedMS: []analyze.Figure{},
		TravelPct: []analyze.Figure{}, RunRMSMMS: make([][]analyze.Figure, len(all)),
	}
	none := analyze.Absent("no run was seen riding here")
	column := func(i int, f func(k int, s *sums) analyze.Figure) analyze.Figure {
		figures := make([]analyze.Figure, len(all))
		for k := range all {
			figures[k] = none
			if s := &all[k][i]; float64(s.n) >= leastS*fs[k] && s.n > 0 {
				figures[k] = f(k, s)
			}
		}
		return over(figures).Median
	}
	for k := range all {
		p.RunRMSMMS[k] = []analyze.Figure{}
	}
	for i := range gr.n {
		p.RMSMMS = append(p.RMSMMS, column(i, func(k int, s *sums) analyze.Figure {
			return analyze.Value(s.rms(), s.n)
		}))
		p.NormalMMS = append(p.NormalMMS, column(i, func(k int, s *sums) analyze.Figure { return fit.normal(s) }))
		p.SpeedMS = append(p.SpeedMS, column(i, func(k int, s *sums) analyze.Figure {
			if s.speedN == 0 {
				return analyze.Absent("speed not known here")
			}
			return analyze.Value(s.speed/float64(s.speedN), s.speedN)
		}))
		p.TravelPct = append(p.TravelPct, column(i, func(k int, s *sums) analyze.Figure {
			return analyze.Value(100*s.travel/float64(s.n)/travelMM, s.n)
		}))
		for k := range all {
			f := none
			if s := &all[k][i]; float64(s.n) >= leastS*fs[k] && s.n > 0 {
				f = analyze.Value(s.rms(), s.n)
			}
			p.RunRMSMMS[k] = append(p.RunRMSMMS[k], f)
		}
	}
	return p
}

// leastS is the least riding time in a step for it to have figures.
const leastS = 0.1
