package analyze

import (
	"maps"
	"math"
	"slices"
)

// figure is the distance at sample i in m. values are those of the segment, nil where there is no such channel.
func (c sideChannel) figure(values []float64, i int) Figure {
	if values == nil {
		return Absent(noDistance)
	}
	m, ok := c.at(values, i)
	if !ok {
		return Absent("the distance channel has no reading here")
	}
	return Value(m, 1)
}

// perCell is the distance at the middle of each cell in m, nil where the channel has no reading in the segment.
func (c sideChannel) perCell(values []float64, cells []cell) []float64 {
	out := make([]float64, len(cells))
	for k, cl := range cells {
		m, ok := c.at(values, (cl.lo+cl.hi)/2)
		if !ok {
			return nil
		}
		out[k] = m
	}
	return out
}

// meanPerCell is the mean of the finite readings of each cell in base units, NaN where it has none; nil where the segment has no
// such channel.
func (c sideChannel) meanPerCell(values []float64, cells []cell) []float64 {
	if values == nil {
		return nil
	}
	out := make([]float64, len(cells))
	for k, cl := range cells {
		sum, n := 0.0, 0
		for _, v := range values[min(cl.lo, len(values)):min(cl.hi, len(values))] {
			if !math.IsNaN(v) && !math.IsInf(v, 0) {
				sum += v
				n++
			}
		}
		out[k] = c.scale * sum / float64(n) // 0/0 is NaN
	}
	return out
}

const (
	distanceCellM = 10
	// distanceLimitM is the largest distance that is believed, so that a broken reading cannot overflow a cell number.
	distanceLimitM = 1e7
)

// perTenMetres is the RMS speed of the fork in every 10 m of distance, over the samples while riding.
// Cells that no sample fell into are left out.
func (r *ride) perTenMetres() []DistanceCell {
	type sums struct {
		squares float64
		n       int
	}
	byCell := map[int]sums{}
	for i := range r.segs {
		s := &r.segs[i]
		values := r.distance.values(r.trace, s)
		for _, cl := range s.cells {
			if !cl.riding {
				continue
			}
			// A stretch of one cell number is summed before the map is touched.
			var run sums
			number := 0
			for j := cl.lo; j < min(cl.hi, len(values)); j++ {
				m := values[j] * r.distance.scale
				if !(math.Abs(m) <= distanceLimitM) {
					continue
				}
				if k := int(math.Floor(m / distanceCellM)); k != number {
					byCell[number] = sums{byCell[number].squares + run.squares, byCell[number].n + run.n}
					run, number = sums{}, k
				}
				run.squares += s.v[j] * s.v[j]
				run.n++
			}
			byCell[number] = sums{byCell[number].squares + run.squares, byCell[number].n + run.n}
		}
	}
	var cells []DistanceCell
	for _, k := range slices.Sorted(maps.Keys(byCell)) {
		if b := byCell[k]; b.n > 0 {
			cells = append(cells, DistanceCell{StartM: float64(k * distanceCellM), RMSMMS: math.Sqrt(b.squares / float64(b.n))})
		}
	}
	return cells
}
