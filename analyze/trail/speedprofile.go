package trail

import (
	"math"

	"stanchion/analyze"
)

// SpeedProfile is the speed over ground along a line in steps of stepM m, the median over the runs, for runs of which there is no log of the fork. The
// speed of a run is the length of a step over the time it took; a run that was off the line in a step has none there.
func SpeedProfile(line *Line, runs []*Placed, stepM float64) Profile {
	p := Profile{StepM: stepM, SpeedMS: []analyze.Figure{}}
	n := int(math.Floor(line.LengthM()/stepM + 1e-9))
	for i := range n {
		from := float64(i) * stepM
		figures := make([]analyze.Figure, len(runs))
		for k, q := range runs {
			a, _, okA := q.TimeAt(from)
			b, _, okB := q.TimeAt(from + stepM)
			if okA && okB && b > a && !q.off(a, b) {
				figures[k] = analyze.Value(stepM/(b-a), 1)
			} else {
				figures[k] = analyze.Absent("not seen here")
			}
		}
		p.SpeedMS = append(p.SpeedMS, over(figures).Median)
	}
	return p
}
