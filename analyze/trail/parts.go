package trail

import (
	"math"
	"slices"
)

// How harsh parts of a run are found. How hard the ground strikes (the RMS of blows) is taken per step of the trail; a running median over the least length of a
// part takes single impacts out. Its values part into two kinds, calm and harsh, where the spread within the kinds is least (two means); the limit lies
// between them. Ground of one kind throughout is told by the two means lying within HarshRatio: then there are no harsh parts. Last,
// each step is calm or harsh so that the whole fits best: a step counts by how far the logarithm of its own roughness lies from the
// limit, held at either kind's level, and every change costs half of what a part of the least length at full level gains, so that a single impact or a flight is
// no part and the edges of a part lie where the roughness changes, not where a smoothed curve crosses a line.
//
// A share of the run that is harsh by definition, as in the harsh sections of a single run (its roughest 15 %), cannot serve here: it finds a
// part of a long harsh stretch, and something on a smooth trail.

// levels are the two kinds of ground of a run in mm/s.
type levels struct {
	calm, harsh, limit float64
	parted             bool // they differ by HarshRatio
}

// span is a stretch of steps [lo, hi).
type span struct{ lo, hi int }

// blows is how hard the ground strikes: the fork's compression speed over its own mean speed over blowS, in mm/s, 0 where it is not over it.
//
// The fork's speed itself will not do to find where harsh ground begins and ends: after a drop, a landing or the last rock a fork that is
// damped too little swings on at its natural frequency of about 2 Hz, and the calm ground after it reads as rough. Such a swing is taken out with the
// mean over about half its period; what the wheel is dealt by the ground is faster, and compresses. blowS was chosen from 0.1 to 0.3 s on fifteen simulated
// courses that the published tables do not use.
func blows(v []float64, fs float64) []float64 {
	half := int(blowS * fs / 2)
	out, sum := make([]float64, len(v)), make([]float64, len(v)+1)
	for i, x := range v {
		sum[i+1] = sum[i] + x
	}
	for i, x := range v {
		lo, hi := max(0, i-half), min(len(v), i+half+1)
		out[i] = max(0, x-(sum[hi]-sum[lo])/float64(hi-lo))
	}
	return out
}

const blowS = 0.25

// strikesOf is the RMS of blows per step, NaN where the run has under leastStepS in it. A fork at rest counts as quietRMS, a logarithm of nothing has no meaning.
func strikesOf(all []sums, fs float64) []float64 {
	out := make([]float64, len(all))
	for i := range all {
		out[i] = math.NaN()
		if n := all[i].n; n > 0 && float64(n) >= leastStepS*fs {
			out[i] = max(quietRMS, math.Sqrt(all[i].strikes/float64(n)))
		}
	}
	return out
}

const (
	leastStepS = 0.05
	quietRMS   = 5.0 // mm/s
)

// partLevels finds the two kinds of ground. width is the running median's, in steps. The means are of the roughness itself, not of its logarithm: on a
// logarithmic scale a fork that hardly moves on hardpack lies further from easy ground than that from rocks.
func partLevels(rough []float64, width int, ratio float64) levels {
	v := runningMedian(rough, width)
	v = slices.DeleteFunc(v, math.IsNaN)
	if len(v) < 2*width {
		return levels{}
	}
	slices.Sort(v)
	total := 0.0
	for _, x := range v {
		total += x
	}
	var l levels
	best, low := -1.0, 0.0
	for i := 1; i < len(v); i++ {
		low += v[i-1]
		a, b := low/float64(i), (total-low)/float64(len(v)-i)
		if between := float64(i) * float64(len(v)-i) * (b - a) * (b - a); between > best {
			best, l.calm, l.harsh = between, a, b
		}
	}
	l.limit = l.calm * math.Pow(l.harsh/l.calm, limitShare)
	l.parted = l.harsh >= ratio*l.calm
	return l
}

// limitShare is where between the logarithms of the two levels the limit lies: under the middle, because the harsh kind reaches further up from
// its mean than down. Tried from 0.35 to 0.5 on twelve simulated courses that the published table does not use.
const limitShare = 0.4

// runningMedian is the median of the values within width/2 of each that are not NaN; NaN where there is none.
func runningMedian(v []float64, width int) []float64 {
	out := make([]float64, len(v))
	half := width / 2
	var near []float64
	for i := range v {
		near = near[:0]
		for _, x := range v[max(0, i-half):min(len(v), i+half+1)] {
			if !math.IsNaN(x) {
				near = append(near, x)
			}
		}
		out[i] = math.NaN()
		if len(near) > 0 {
			out[i] = middle(near)
		}
	}
	return out
}

// harshParts are the harsh parts of a run: the best sequence of calm and harsh over all steps (dynamic programming over the two states).
// least is the least length of a part, in steps. Steps without a value say nothing.
func harshParts(rough []float64, l levels, least float64) []span {
	if !l.parted {
		return nil
	}
	top := math.Log(l.harsh / l.limit)
	change := least * top
	n := len(rough)
	// gain[s] is the best sum so far that ends in state s; from[i][s] the state before it.
	var gain [2]float64
	from := make([][2]uint8, n)
	for i, r := range rough {
		y := 0.0
		if !math.IsNaN(r) {
			y = max(-top, min(top, math.Log(r/l.limit)))
		}
		var next [2]float64
		for s, sign := range [2]float64{-1, 1} {
			stay, switched := gain[s], gain[1-s]-change
			from[i][s] = uint8(s)
			next[s] = stay
			if switched > stay && i > 0 {
				from[i][s], next[s] = uint8(1-s), switched
			}
			next[s] += sign * y
		}
		gain = next
	}
	state := uint8(0)
	if gain[1] > gain[0] {
		state = 1
	}
	harsh := make([]bool, n)
	for i := n - 1; i >= 0; i-- {
		harsh[i] = state == 1
		state = from[i][state]
	}
	return spansOf(harsh)
}

// trimmed are parts without the steps at their ends of which nothing is known.
func trimmed(parts []span, rough []float64) []span {
	out := parts[:0]
	for _, p := range parts {
		for p.lo < p.hi && math.IsNaN(rough[p.lo]) {
			p.lo++
		}
		for p.lo < p.hi && math.IsNaN(rough[p.hi-1]) {
			p.hi--
		}
		if p.lo < p.hi {
			out = append(out, p)
		}
	}
	return out
}

// spansOf lists the maximal runs of true.
func spansOf(v []bool) []span {
	var out []span
	for i := 0; i < len(v); i++ {
		if !v[i] {
			continue
		}
		lo := i
		for i < len(v) && v[i] {
			i++
		}
		out = append(out, span{lo, i})
	}
	return out
}
