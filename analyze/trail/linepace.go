package trail

import (
	"math"
	"sort"
)

// paceM is how far on either side the ground between two points of a line is averaged.
const paceM = 6

// paced lays the points of a line anew so that its stations are distances on the ground. A smoothed or a mean line cuts corners, and a noisy one is too long; how
// far it truly is from point to point is what the runs rode between them, by their speed. placed are the runs laid on it by their positions.
func (l *Line) paced(paths []*Path, placed []*Placed) *Line {
	n := len(l.EastM)
	sum, runs := make([]float64, n), make([]float64, n) // of what was ridden from the point before
	for i, q := range placed {
		gone := q.goneAt(paths[i], n, l.StepM)
		for j := 1; j < n; j++ {
			if d := gone[j] - gone[j-1]; !math.IsNaN(d) {
				sum[j] += d
				runs[j]++
			}
		}
	}
	half := int(math.Ceil(paceM / l.StepM))
	at := make([]float64, n)
	for j := 1; j < n; j++ {
		ridden, count := 0.0, 0.0
		for k := max(1, j-half); k <= min(n-1, j+half); k++ {
			if runs[k] > 0 {
				ridden += sum[k] / runs[k]
				count++
			}
		}
		step := l.StepM
		if count > 0 {
			step = min(max(ridden/count, 0.7*l.StepM), 1.4*l.StepM)
		}
		at[j] = at[j-1] + step
	}
	out := *l
	out.EastM, out.NorthM, out.SpreadM = atSteps(at, l.EastM, l.StepM), atSteps(at, l.NorthM, l.StepM), atSteps(at, l.SpreadM, l.StepM)
	if l.EleM != nil {
		out.EleM = atSteps(at, l.EleM, l.StepM)
	}
	return &out
}

// goneAt is AlongM of a run when it passed each of n points of a line, NaN where it was not seen to, and after each loss of reception once.
func (q *Placed) goneAt(p *Path, n int, stepM float64) []float64 {
	out := make([]float64, n)
	piece := -1
	for j := range out {
		out[j] = math.NaN()
		c, ok := q.crossing(float64(j) * stepM)
		if !ok {
			continue
		}
		if here := p.Piece[c.at]; here != piece {
			piece = here
			continue
		}
		i := min(max(sort.SearchFloat64s(p.TimeS, c.timeS), 1), len(p.TimeS)-1)
		f := (c.timeS - p.TimeS[i-1]) / (p.TimeS[i] - p.TimeS[i-1])
		out[j] = p.AlongM[i-1] + f*(p.AlongM[i]-p.AlongM[i-1])
	}
	return out
}

// atSteps interpolates values known at rising distances at every step m from the first on.
func atSteps(at, values []float64, step float64) []float64 {
	var out []float64
	i := 1
	for s := 0.0; len(at) > 1 && s <= at[len(at)-1]+1e-9; s = float64(len(out)) * step {
		for i < len(at)-1 && at[i] < s {
			i++
		}
		f := 1.0
		if d := at[i] - at[i-1]; d > 0 {
			f = min((s-at[i-1])/d, 1)
		}
		out = append(out, values[i-1]+f*(values[i]-values[i-1]))
	}
	return out
}
