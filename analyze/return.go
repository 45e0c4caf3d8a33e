package analyze

import (
	"math"

	"stanchion/analyze/signal"
)

// Return is how fast the fork came back from deep compressions while riding.
type Return struct {
	MedianS      Figure `json:"median_s"`
	Q90S         Figure `json:"q90_s"`
	NotBackShare Figure `json:"not_back_share"` // not back within Options.ReturnLimitS
}

// returns times the way back from every compression stroke while riding that ends at least ReturnMinPct of travel
// deeper than the reference: from the peak until travel is first within ReturnShare of that depth above the reference
// (the crossing is interpolated). A fork that never came back before the recording breaks off counts as infinitely
// late, unless less than ReturnLimitS was left: then nothing is known and the stroke is left out.
func (r *ride) returns(strokes []Stroke, sag Sag) Return {
	if r.noVelocity != "" {
		none := Absent("%s", r.noVelocity)
		return Return{MedianS: none, Q90S: none, NotBackShare: none}
	}
	reference, _ := r.reference(sag)
	ref, ok := reference.Get()
	if !ok {
		return Return{MedianS: reference, Q90S: reference, NotBackShare: reference}
	}
	times := r.returnTimes(strokes, ref)
	n := len(times)
	late := 0
	for _, t := range times {
		if t > r.opt.ReturnLimitS {
			late++
		}
	}
	figure := func(value func() float64) Figure {
		return r.enough(n, "deep compression", value).with(reference.Caveats())
	}
	quantile := func(p float64) Figure {
		if q := signal.Quantiles(times, p); n > 0 && !(q[0] < math.Inf(1)) {
			return Absent("too many of %d deep compressions never came back before the recording broke off", n)
		}
		return figure(func() float64 { return signal.Quantiles(times, p)[0] })
	}
	return Return{
		MedianS:      quantile(0.5),
		Q90S:         quantile(0.9),
		NotBackShare: figure(func() float64 { return float64(late) / float64(n) }),
	}
}

func (r *ride) returnTimes(strokes []Stroke, ref float64) []float64 {
	var times []float64
	var floor blockMinima
	last := -1
	for _, st := range strokes {
		depth := st.EndMM - ref
		if !st.Compression || !st.Riding || depth < r.pct(r.opt.ReturnMinPct) {
			continue
		}
		s := &r.segs[st.Segment]
		if st.Segment != last {
			floor, last = newBlockMinima(s.x), st.Segment
		}
		peak := r.sampleAt(s, st.EndS)
		back, ok := floor.firstAtOrUnder(ref+r.opt.ReturnShare*depth, peak)
		switch {
		case ok:
			times = append(times, (back-float64(peak))/r.fs)
		case float64(len(s.x)-peak)/r.fs > r.opt.ReturnLimitS:
			times = append(times, math.Inf(1))
		}
	}
	return times
}

// blockMinima finds the next sample under a level without visiting every sample on the way: blocks whose least value
// is over the level are skipped whole.
type blockMinima struct {
	x    []float64
	mins []float64
}

const minimaBlock = 512

func newBlockMinima(x []float64) blockMinima {
	b := blockMinima{x: x, mins: make([]float64, 0, len(x)/minimaBlock+1)}
	for lo := 0; lo < len(x); lo += minimaBlock {
		least := math.Inf(1)
		for _, v := range x[lo:min(lo+minimaBlock, len(x))] {
			least = min(least, v)
		}
		b.mins = append(b.mins, least)
	}
	return b
}

// firstAtOrUnder is the (interpolated) sample from which on x is first at or under level, searched from sample i.
func (b blockMinima) firstAtOrUnder(level float64, i int) (at float64, ok bool) {
	for i = max(i, 0); i < len(b.x); {
		if i%minimaBlock == 0 && b.mins[i/minimaBlock] > level {
			i += minimaBlock
			continue
		}
		if b.x[i] <= level {
			if i == 0 || b.x[i-1] <= level {
				return float64(i), true
			}
			return float64(i) - (level-b.x[i])/(b.x[i-1]-b.x[i]), true
		}
		i++
	}
	return 0, false
}
