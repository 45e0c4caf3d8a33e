package trail

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"stanchion/analyze"
)

// Bounds of the fit of roughness over speed.
const (
	fitLeastS      = 0.5  // s of riding of a run in a step for it to take part
	fitLeastMS     = 1.0  // m/s: slower is pushing or stopping
	fitLeastSteps  = 10   // steps of trail
	fitLeastSpread = 0.05 // median over the steps of ln(fastest/slowest run)
	fitWidest      = 1.5  // an interval of K wider than this says nothing
	fitResamples   = 400
	fitBlock       = 10 // steps of a block of the bootstrap
)

// speedPoint is one run in one step of the trail: logarithms of its speed in m/s and of its roughness in mm/s.
type speedPoint struct {
	run          int
	speed, rough float64
}

// slopePair is how two runs differ in one step.
type slopePair struct{ slope, weight float64 }

// fitSpeed fits ln RMS = (effect of the step) + K·ln speed over steps of the trail that two or more runs rode. The effects of the steps cancel in the
// differences of pairs of runs; K is the slope through the origin that makes the sum of absolute deviations of the differences least, which is
// the median of the pairs' slopes weighted by their difference in speed. So a few odd steps (a jump taken or rolled, another line) do not move
// it. The 95 % interval is from a moving-block bootstrap over the steps, with a fixed seed. The runs must be of one setting: what differs
// between settings would be taken for an effect of speed.
func fitSpeed(all [][]sums, fs []float64, refMS float64) SpeedFit {
	steps := speedSteps(all, fs)
	f := SpeedFit{Runs: make([]RunFactor, len(all))}
	f.RefMS = referenceSpeed(steps, refMS)
	why := ""
	var shared [][]speedPoint
	var spreads []float64
	for _, s := range steps {
		if len(s) >= 2 {
			shared = append(shared, s)
			spreads = append(spreads, speedSpread(s))
		}
	}
	switch {
	case len(all) < 2:
		why = "one run cannot tell the effect of speed from that of the ground"
	case len(shared) < fitLeastSteps:
		why = "fewer than 10 steps of trail where two runs were seen riding with their speed known"
	case middle(spreads) < fitLeastSpread:
		why = "the runs were ridden at nearly the same speed: its effect cannot be told from chance"
	}
	if why == "" {
		k := weightedMedian(slopes(shared))
		low, high := fitInterval(shared)
		n := len(shared)
		f.K, f.KLow, f.KHigh = analyze.Value(k, n), analyze.Value(low, n), analyze.Value(high, n)
		if high-low > fitWidest {
			why = "the runs differ too little in speed and too much in else: the effect of speed is not known to within 1.5"
		}
	}
	if why != "" {
		none := analyze.Absent("%s", why)
		f.K, f.KLow, f.KHigh = none, none, none
	}
	f.compareRuns(shared)
	return f
}

// speedSteps lists the runs in every step.
func speedSteps(all [][]sums, fs []float64) [][]speedPoint {
	if len(all) == 0 {
		return nil
	}
	out := make([][]speedPoint, len(all[0]))
	for i := range out {
		for k := range all {
			s := &all[k][i]
			if s.n == 0 || s.speedN == 0 || float64(s.n) < fitLeastS*fs[k] {
				continue
			}
			v, r := s.speed/float64(s.speedN), s.rms()
			if v >= fitLeastMS && r > quietRMS {
				out[i] = append(out[i], speedPoint{k, math.Log(v), math.Log(r)})
			}
		}
	}
	return out
}

// referenceSpeed is ref, or where that is 0 the median speed over all steps and runs.
func referenceSpeed(steps [][]speedPoint, ref float64) analyze.Figure {
	if ref > 0 {
		return analyze.Value(ref, 1)
	}
	var v []float64
	for _, s := range steps {
		for _, p := range s {
			v = append(v, p.speed)
		}
	}
	if len(v) == 0 {
		return analyze.Absent("no run has a speed over ground")
	}
	return analyze.Value(math.Exp(middle(v)), len(v))
}

func speedSpread(s []speedPoint) float64 {
	low, high := s[0].speed, s[0].speed
	for _, p := range s {
		low, high = min(low, p.speed), max(high, p.speed)
	}
	return high - low
}

func slopes(steps [][]speedPoint) (out []slopePair) {
	for _, s := range steps {
		for i := range s {
			for j := range i {
				if d := s[i].speed - s[j].speed; d != 0 {
					out = append(out, slopePair{(s[i].rough - s[j].rough) / d, math.Abs(d)})
				}
			}
		}
	}
	return out
}

// weightedMedian is the slope at which half of the weight is reached.
func weightedMedian(p []slopePair) float64 {
	slices.SortFunc(p, func(a, b slopePair) int {
		return cmp.Or(cmp.Compare(a.slope, b.slope), cmp.Compare(a.weight, b.weight))
	})
	total := 0.0
	for _, q := range p {
		total += q.weight
	}
	sum := 0.0
	for _, q := range p {
		if sum += q.weight; sum >= total/2 {
			return q.slope
		}
	}
	return math.NaN()
}

// fitInterval is the 95 % interval of K.
func fitInterval(steps [][]speedPoint) (low, high float64) {
	rng := rand.New(rand.NewPCG(uint64(len(steps)), 0x7370656564))
	var ks []float64
	block := min(fitBlock, len(steps))
	drawn := make([][]speedPoint, 0, len(steps)+block)
	for range fitResamples {
		drawn = drawn[:0]
		for len(drawn) < len(steps) {
			from := rng.IntN(len(steps))
			for i := range block {
				drawn = append(drawn, steps[(from+i)%len(steps)])
			}
		}
		if k := weightedMedian(slopes(drawn[:len(steps)])); isFinite(k) {
			ks = append(ks, k)
		}
	}
	if len(ks) == 0 {
		return math.NaN(), math.NaN()
	}
	slices.Sort(ks)
	return ks[len(ks)/40], ks[len(ks)-1-len(ks)/40]
}

// compareRuns says how far the runs differ in roughness, before and after.
func (f *SpeedFit) compareRuns(shared [][]speedPoint) {
	normal := func(p speedPoint) float64 { return p.rough + f.shift(p.speed) }
	f.RawRatio, f.NormalRatio = pairRatio(shared, func(p speedPoint) float64 { return p.rough }), pairRatio(shared, normal)
	if k, ok := f.K.Get(); !ok || !isFinite(k) {
		f.NormalRatio = analyze.Absent("%s", f.K.Reason())
	}
	for k := range f.Runs {
		f.Runs[k].Raw = runFactor(shared, k, func(p speedPoint) float64 { return p.rough })
		f.Runs[k].Normal = runFactor(shared, k, normal)
		if !f.K.OK() {
			f.Runs[k].Normal = analyze.Absent("%s", f.K.Reason())
		}
	}
}

// shift is what the logarithm of roughness at a speed (its logarithm) changes by at the reference speed.
func (f *SpeedFit) shift(speed float64) float64 {
	return f.K.Or(0) * (math.Log(f.RefMS.Or(1)) - speed)
}

// pairRatio is the factor by which two runs differ at a place, median over places and pairs.
func pairRatio(shared [][]speedPoint, of func(speedPoint) float64) analyze.Figure {
	var d []float64
	for _, s := range shared {
		for i := range s {
			for j := range i {
				d = append(d, math.Abs(of(s[i])-of(s[j])))
			}
		}
	}
	if len(d) == 0 {
		return analyze.Absent("no step of trail that two runs rode with their speed known")
	}
	return analyze.Value(math.Exp(middle(d)), len(shared))
}

// runFactor is how rough run k is against the median of the runs at each place, median over places.
func runFactor(shared [][]speedPoint, k int, of func(speedPoint) float64) analyze.Figure {
	var d []float64
	for _, s := range shared {
		all := make([]float64, len(s))
		own := -1
		for i, p := range s {
			all[i] = of(p)
			if p.run == k {
				own = i
			}
		}
		if own >= 0 {
			d = append(d, all[own]-middle(all))
		}
	}
	if len(d) == 0 {
		return analyze.Absent("the run shares no step of trail with another")
	}
	return analyze.Value(math.Exp(middle(d)), len(d))
}

// normal is the roughness of one run in one step at the reference speed, mm/s.
func (f *SpeedFit) normal(s *sums) analyze.Figure {
	switch {
	case !f.K.OK():
		return analyze.Absent("%s", f.K.Reason())
	case s.speedN == 0 || !(s.speed/float64(s.speedN) >= fitLeastMS):
		return analyze.Absent("no speed here, or too slow")
	}
	return analyze.Value(s.rms()*math.Exp(f.shift(math.Log(s.speed/float64(s.speedN)))), s.n)
}
