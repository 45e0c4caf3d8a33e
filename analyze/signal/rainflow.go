package signal

import "math"

// A Cycle is one rainflow cycle or half cycle.
type Cycle struct {
	Range, Mean float64
	Count       float64 // 1 or 0.5
	Start, End  int     // indices into the points
}

// Rainflow counts the cycles of a series of turning points by ASTM E1049-85 §5.4.4. The points alternate between maxima and
// minima, end points included. The cycles come in the order in which they close, then the half cycles that are left. The
// sum of the counts is (len(points)−1)/2.
func Rainflow(points []float64) []Cycle {
	if len(points) < 2 {
		return nil
	}
	cycles := make([]Cycle, 0, len(points)/2+1)
	count := func(i, j int, n float64) {
		cycles = append(cycles, Cycle{
			Range: math.Abs(points[j] - points[i]), Mean: (points[i] + points[j]) / 2, Count: n, Start: i, End: j,
		})
	}
	open := make([]int, 0, 64) // points of ranges that are not counted yet
	for i := range points {
		open = append(open, i)
		for n := len(open); n >= 3; n = len(open) {
			latest := math.Abs(points[open[n-1]] - points[open[n-2]])
			previous := math.Abs(points[open[n-2]] - points[open[n-3]])
			if latest < previous {
				break
			}
			if n == 3 { // the previous range holds the starting point
				count(open[0], open[1], 0.5)
				open = append(open[:0], open[1:]...)
				continue
			}
			count(open[n-3], open[n-2], 1)
			open = append(open[:n-3], open[n-1])
		}
	}
	for k := 1; k < len(open); k++ {
		count(open[k-1], open[k], 0.5)
	}
	return cycles
}
