package analyze

import (
	"math"

	"stanchion/analyze/signal"
)

// A Dive is a time in which the fork stood deep for long: braking, or a compression of the trail.
type Dive struct {
	StartS    float64 `json:"start_s"`
	EndS      float64 `json:"end_s"`
	DeepestMM float64 `json:"deepest_mm"` // of low-passed travel
	Confirmed bool    `json:"confirmed"`  // a speed channel showed deceleration over Options.DiveDecelMS2
}

// BrakeDive lists the dives that start while riding.
type BrakeDive struct {
	Dives     []Dive `json:"dives"`
	Count     Figure `json:"count"`
	Confirmed Figure `json:"confirmed"` // absent without a speed channel
}

const (
	noSpeedNote = "no speed channel: a dive may be braking or a compression of the trail"
	// diveRateHz is the least rate that travel is thinned to before the low-pass for dives.
	diveRateHz = 50
)

// brakeDive finds the spans in which low-passed travel stood at least DivePct of travel over the median dynamic sag for
// at least DiveMinS. A dive is confirmed where a speed channel shows a deceleration over DiveDecelMS2 in it.
func (r *ride) brakeDive(sag Sag) BrakeDive {
	if r.noVelocity != "" {
		none := Absent("%s", r.noVelocity)
		return BrakeDive{Dives: []Dive{}, Count: none, Confirmed: none}
	}
	sagMM, ok := sag.DynamicMM.Get()
	if !ok {
		none := Absent("no dynamic sag: %s", sag.DynamicMM.Reason())
		return BrakeDive{Dives: []Dive{}, Count: none, Confirmed: none}
	}
	if err := r.diveFilter().Validate(); err != nil {
		none := Absent("%v", err)
		return BrakeDive{Dives: []Dive{}, Count: none, Confirmed: none}
	}
	speed, hasSpeed := speedChannel(r.trace.Channels)
	d := BrakeDive{Dives: []Dive{}}
	confirmed := 0
	for i := range r.segs {
		s := &r.segs[i]
		for _, dive := range r.divesOf(s, sagMM+r.pct(r.opt.DivePct)) {
			if hasSpeed && r.largestDeceleration(s, speed, speed.values(r.trace, s), dive) > r.opt.DiveDecelMS2 {
				dive.Confirmed = true
				confirmed++
			}
			d.Dives = append(d.Dives, dive)
		}
	}
	n := len(d.Dives)
	if hasSpeed {
		d.Count, d.Confirmed = Value(float64(n), n), Value(float64(confirmed), n)
	} else {
		d.Count, d.Confirmed = Value(float64(n), n, noSpeedNote), Absent("no speed channel")
	}
	return d
}

// divesOf are the dives of s: low-passed travel at or over level, mm.
func (r *ride) divesOf(s *segment, level float64) []Dive {
	y, step, first := r.slowTravel(s)
	var dives []Dive
	for i := 0; i < len(y); i++ {
		if y[i] < level {
			continue
		}
		from := i
		deepest := y[i]
		for ; i < len(y) && y[i] >= level; i++ {
			deepest = max(deepest, y[i])
		}
		start, end := float64(from), float64(i-1)
		if from > 0 {
			start = float64(from) - (y[from]-level)/(y[from]-y[from-1])
		}
		if i < len(y) {
			end = float64(i-1) + (y[i-1]-level)/(y[i-1]-y[i])
		}
		d := Dive{StartS: s.startS + first + start*step, EndS: s.startS + first + end*step, DeepestMM: deepest}
		if d.EndS-d.StartS >= r.opt.DiveMinS && r.ridingAt(s, r.sampleAt(s, d.StartS)) {
			dives = append(dives, d)
		}
	}
	return dives
}

// slowTravel is travel through the zero-phase low-pass of DiveCutoffHz: values step s apart, the first one first s into
// the segment. Travel is first thinned to at least diveRateHz by block means, because the low-pass of a long run at full
// rate is costly. A block mean at rate f turns a slow component of frequency g down by (πg/f)²/6 (3e-4 at 0.7 and 50 Hz)
// and lets components within g of a multiple of f through by g/f (0.014): the fork moves by far less than 1 mm there.
func (r *ride) slowTravel(s *segment) (y []float64, step, first float64) {
	m := r.diveThinning()
	y = make([]float64, len(s.x)/m)
	for i := range y {
		sum := 0.0
		for _, v := range s.x[i*m : (i+1)*m] {
			sum += v
		}
		y[i] = sum / float64(m)
	}
	filter := r.diveFilter()
	filter.Apply(y, nil, y)
	return y, 1 / filter.RateHz, float64(m-1) / 2 / r.fs
}

// diveThinning is the number of samples in a block mean.
func (r *ride) diveThinning() int { return max(1, int(r.fs/diveRateHz)) }

// diveFilter is the low-pass of thinned travel.
func (r *ride) diveFilter() signal.LowPass {
	return signal.LowPass{RateHz: r.fs / float64(r.diveThinning()), CutoffHz: r.opt.DiveCutoffHz, Order: r.opt.FilterOrder}
}

// largestDeceleration is the largest deceleration in m/s² that the speed channel shows about any moment of the dive, 0
// where it shows none.
func (r *ride) largestDeceleration(s *segment, c sideChannel, values []float64, d Dive) float64 {
	reach := (r.opt.DecelStepS + r.opt.DecelMeanS) / 2
	lo := max(0, r.sampleAt(s, d.StartS-reach))
	hi := min(len(values), r.sampleAt(s, d.EndS+reach)+1)
	if hi <= lo {
		return 0
	}
	sums, finite := make([]float64, hi-lo+1), make([]int, hi-lo+1)
	for i, v := range values[lo:hi] {
		sums[i+1], finite[i+1] = sums[i], finite[i]
		if !math.IsNaN(v) && !math.IsInf(v, 0) {
			sums[i+1] += v * c.scale
			finite[i+1]++
		}
	}
	width, apart := max(1, r.count(r.opt.DecelMeanS)), max(1, r.count(r.opt.DecelStepS))
	largest := 0.0
	for i := 0; i+apart+width < len(sums); i++ {
		n1, n2 := finite[i+width]-finite[i], finite[i+apart+width]-finite[i+apart]
		if 2*n1 < width || 2*n2 < width {
			continue // too much of the speed is missing
		}
		before, after := (sums[i+width]-sums[i])/float64(n1), (sums[i+apart+width]-sums[i+apart])/float64(n2)
		largest = max(largest, (before-after)/(float64(apart)/r.fs))
	}
	return largest
}
