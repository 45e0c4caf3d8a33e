package trail

import "math"

// leadM is how far a line is drawn on, straight, before its start and after its end, so that a run is seen to pass both.
const leadM = 20.0

// at returns the point of the line at a station and the direction of travel there, a unit vector. Beyond its ends the line goes on straight.
func (l *Line) at(s float64) (e, n, de, dn float64) {
	last := len(l.EastM) - 1
	x := s / l.StepM
	j := int(math.Floor(min(max(x, 0), float64(last-1))))
	f := x - float64(j)
	e = l.EastM[j] + f*(l.EastM[j+1]-l.EastM[j])
	n = l.NorthM[j] + f*(l.NorthM[j+1]-l.NorthM[j])
	f = min(max(f, 0), 1)
	ae, an := l.direction(j)
	be, bn := l.direction(j + 1)
	de, dn = unit(ae+f*(be-ae), an+f*(bn-an))
	return e, n, de, dn
}

// direction is the unit direction of travel at point j, from the point before to the point after.
func (l *Line) direction(j int) (de, dn float64) {
	a, b := max(j-1, 0), min(j+1, len(l.EastM)-1)
	return unit(l.EastM[b]-l.EastM[a], l.NorthM[b]-l.NorthM[a])
}

func unit(x, y float64) (float64, float64) {
	h := math.Hypot(x, y)
	if h == 0 {
		return 0, 0
	}
	return x / h, y / h
}

// resample lays a point every step m along the polyline, from its first point on. What is left over at its end is under a step long.
func resample(e, n []float64, step float64) (east, north []float64) {
	if len(e) == 0 {
		return nil, nil
	}
	east, north = []float64{e[0]}, []float64{n[0]}
	next := step // distance from the last point of the input to the next point of the output
	for i := 1; i < len(e); i++ {
		length := math.Hypot(e[i]-e[i-1], n[i]-n[i-1])
		for ; next <= length; next += step {
			f := next / length
			east = append(east, e[i-1]+f*(e[i]-e[i-1]))
			north = append(north, n[i-1]+f*(n[i]-n[i-1]))
		}
		next -= length
	}
	return east, north
}
