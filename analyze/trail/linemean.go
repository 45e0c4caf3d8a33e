package trail

import (
	"math"
	"slices"
	"sort"
)

// trim cuts the line to the ground that the runs have in common. Runs that begin or end far from where most do are part runs and do not
// shorten it; with two runs, it is the ground of both.
func (l *Line) trim(placed []*Placed, opt LineOptions) (*Line, []*Placed) {
	var firsts, lasts []float64
	for _, q := range placed {
		first, last := q.ends()
		firsts, lasts = append(firsts, max(first, 0)), append(lasts, min(last, l.LengthM()))
	}
	slices.Sort(firsts)
	slices.Sort(lasts)
	from, to := firsts[len(firsts)/2], lasts[(len(lasts)-1)/2]
	for _, v := range firsts {
		if v <= from+opt.TrimM {
			from = max(from, v)
		}
	}
	for k := len(lasts) - 1; k >= 0; k-- {
		if lasts[k] >= to-opt.TrimM {
			to = min(to, lasts[k])
		}
	}
	a, b := int(math.Ceil(from/l.StepM)), int(math.Floor(to/l.StepM))
	if float64(b-a)*l.StepM < leastLineM {
		return l, placed
	}
	out := *l
	out.EastM, out.NorthM, out.SpreadM = l.EastM[a:b+1], l.NorthM[a:b+1], l.SpreadM[a:b+1]
	if l.EleM != nil {
		out.EleM = l.EleM[a : b+1]
	}
	moved := make([]*Placed, len(placed))
	for i, q := range placed {
		c := *q
		c.StationM = slices.Clone(q.StationM)
		for k := range c.StationM {
			c.StationM[k] -= float64(a) * l.StepM
		}
		moved[i] = &c
	}
	return &out, moved
}

// ends are the first and the last station at which the run was on the line.
func (q *Placed) ends() (first, last float64) {
	n := len(q.StationM)
	a, b := 0, n-1
	for a+1 < n && q.off(q.TimeS[a], q.TimeS[a+1]) {
		a++
	}
	for b > a && q.off(q.TimeS[b-1], q.TimeS[b]) {
		b--
	}
	return q.StationM[a], q.StationM[b]
}

// crossAt is how far off the line the run was when it passed a station, and its elevation then.
func (q *Placed) crossAt(ele []float64, stationM float64) (cross, height float64, ok bool) {
	i := sort.SearchFloat64s(q.StationM, stationM)
	if i == 0 || i == len(q.StationM) || q.off(q.TimeS[i-1], q.TimeS[i]) {
		return 0, 0, false
	}
	f := (stationM - q.StationM[i-1]) / (q.StationM[i] - q.StationM[i-1])
	return q.CrossM[i-1] + f*(q.CrossM[i]-q.CrossM[i-1]), ele[i-1] + f*(ele[i]-ele[i-1]), true
}

// average moves each point of the line across it to the robust mean of the runs, and lays the points out evenly again.
func (l *Line) average(paths []*Path, placed []*Placed) *Line {
	n := len(l.EastM)
	e, north, spread := make([]float64, n), make([]float64, n), make([]float64, n)
	heights := make([][]float64, len(placed)) // [run][point], NaN where not known
	for i := range heights {
		heights[i] = make([]float64, n)
	}
	for j := range n {
		var cross []float64
		for i, q := range placed {
			c, height, ok := q.crossAt(paths[i].EleM, float64(j)*l.StepM)
			if heights[i][j] = height; !ok {
				heights[i][j] = math.NaN()
				continue
			}
			cross = append(cross, c)
		}
		mean, sd := robustMean(cross)
		de, dn := l.direction(j)
		e[j], north[j], spread[j] = l.EastM[j]+mean*dn, l.NorthM[j]-mean*de, sd
	}
	out := &Line{Frame: l.Frame, StepM: l.StepM, Runs: len(placed)}
	out.EastM, out.NorthM = resample(e, north, l.StepM)
	out.SpreadM = elevations(out, e, north, spread)
	if ele, ok := meanHeights(heights); ok {
		out.EleM = elevations(out, e, north, bridged(ele))
	}
	return out
}

// meanHeights is the mean over runs of h[run][point], NaN where no run knows the height. Receivers differ in level by many metres, so each run is
// first laid on the level of all, by its mean difference where every run is known: a run that is missing for a stretch then makes no step. ok is
// false where no height is known.
func meanHeights(h [][]float64) (mean []float64, ok bool) {
	level, none := make([]float64, len(h)), make([]float64, len(h))
	shared := 0
	for j := range h[0] {
		m, known := meanKnown(h, none, j)
		if known < len(h) {
			continue
		}
		shared++
		for i := range h {
			level[i] += (h[i][j] - m - level[i]) / float64(shared)
		}
	}
	mean = make([]float64, len(h[0]))
	for j := range mean {
		m, known := meanKnown(h, level, j)
		if mean[j] = m; known > 0 {
			ok = true
		}
	}
	return mean, ok
}

// meanKnown is the mean over runs of h[run][j] less the level of the run, and how many runs are known there.
func meanKnown(h [][]float64, level []float64, j int) (mean float64, known int) {
	for i := range h {
		if !math.IsNaN(h[i][j]) {
			mean += h[i][j] - level[i]
			known++
		}
	}
	if known == 0 {
		return math.NaN(), 0
	}
	return mean / float64(known), known
}

// robustMean is the mean and the standard deviation of x, each value drawn in to three robust standard deviations from the median, so that one run
// that took another line does not move it. The least such deviation is half a metre.
func robustMean(x []float64) (mean, sd float64) {
	n := float64(len(x))
	if n == 0 {
		return 0, 0
	}
	sorted := slices.Sorted(slices.Values(x))
	median := (sorted[(len(x)-1)/2] + sorted[len(x)/2]) / 2
	away := make([]float64, len(x))
	for i, v := range x {
		away[i] = math.Abs(v - median)
	}
	slices.Sort(away)
	limit := 3 * max(0.5, 1.4826*(away[(len(x)-1)/2]+away[len(x)/2])/2)
	for _, v := range x {
		mean += min(max(v, median-limit), median+limit) / n
	}
	if len(x) > 1 {
		for _, v := range x {
			sd += (v - mean) * (v - mean) / (n - 1)
		}
	}
	return mean, math.Sqrt(sd)
}

// bridged fills gaps (NaN) between known values with straight lines, and beyond them with the nearest. x has a known value.
func bridged(x []float64) []float64 {
	last := -1
	for i, v := range x {
		if math.IsNaN(v) {
			continue
		}
		for k := last + 1; k < i; k++ {
			x[k] = v
			if last >= 0 {
				x[k] = x[last] + (v-x[last])*float64(k-last)/float64(i-last)
			}
		}
		last = i
	}
	for k := last + 1; k < len(x) && last >= 0; k++ {
		x[k] = x[last]
	}
	return x
}
