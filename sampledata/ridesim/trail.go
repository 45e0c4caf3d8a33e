package ridesim

import (
	"errors"
	"math"
)

// A Trail is a course laid out on the ground. Its stations are the course's distance in m, measured in plan (on the map): the simulated
// rider neither gains nor loses distance or speed by the slope. The elevation is the hill's; the road profile under the wheel (a metre of
// jump or drop) is not added.
type Trail struct {
	plane   plane
	length  float64
	east    []float64 // m, at station i·trailStep
	north   []float64
	heading []float64 // rad clockwise from north
	ele     []float64 // m
}

// trailStep is the spacing in m of the trail's grid.
const trailStep = 0.25

// Trail lays the course out. The same course and shape give the same trail.
func (c Course) Trail(s Shape) (*Trail, error) {
	if err := c.Validate(); err != nil {
		return nil, err
	}
	if len(c.Sections) == 0 {
		return nil, errors.New("trail: the course has no sections: nothing to lay out")
	}
	if !(math.Abs(s.Start.LatDeg) <= 89) || math.IsNaN(s.Start.LonDeg+s.Start.EleM) {
		return nil, errors.New("trail: the start must lie between 89° S and 89° N: east and north lose their sense at a pole")
	}
	if s.Start == (Place{}) {
		s.Start = InventedGround()
	}
	bends, err := s.bends(&c)
	if err != nil {
		return nil, err
	}
	t := &Trail{plane: newPlane(s.Start)}
	var middles []float64
	for _, sec := range c.Sections {
		middles = append(middles, t.length+sec.LengthM/2)
		t.length += sec.LengthM
	}
	t.layPlan(s.HeadingDeg*math.Pi/180, bends)
	t.layHill(s.Start.EleM, middles, s.grades(&c))
	return t, nil
}

// layPlan integrates the heading: Simpson's rule on each step.
func (t *Trail) layPlan(heading float64, bends []bend) {
	n := int(math.Ceil(t.length/trailStep)) + 2
	t.east, t.north, t.heading = make([]float64, n), make([]float64, n), make([]float64, n)
	next := 0
	at := func(s float64) float64 {
		for next < len(bends) && s >= bends[next].start+bends[next].length {
			heading += bends[next].angle
			next++
		}
		if next < len(bends) && s > bends[next].start {
			return heading + bends[next].turned(s-bends[next].start)
		}
		return heading
	}
	t.heading[0] = at(0)
	for i := 1; i < n; i++ {
		s := float64(i) * trailStep
		middle := at(s - trailStep/2)
		t.heading[i] = at(s)
		s0, c0 := math.Sincos(t.heading[i-1])
		s1, c1 := math.Sincos(middle)
		s2, c2 := math.Sincos(t.heading[i])
		t.east[i] = t.east[i-1] + trailStep/6*(s0+4*s1+s2)
		t.north[i] = t.north[i-1] + trailStep/6*(c0+4*c1+c2)
	}
}

// layHill integrates the slope, which runs straight from the middle of one section to the middle of the next.
func (t *Trail) layHill(start float64, middles, grades []float64) {
	t.ele = make([]float64, len(t.east))
	t.ele[0] = start
	k := 0
	for i := 1; i < len(t.ele); i++ {
		s := (float64(i) - 0.5) * trailStep
		for k+1 < len(grades) && s > middles[k+1] {
			k++
		}
		grade := grades[k]
		if k+1 < len(grades) && s > middles[k] {
			grade += (s - middles[k]) / (middles[k+1] - middles[k]) * (grades[k+1] - grade)
		}
		t.ele[i] = t.ele[i-1] + trailStep*grade
	}
}

// LengthM is the length of the trail.
func (t *Trail) LengthM() float64 { return t.length }

// Plan is the point rightM to the right of the trail at a station, in m east and north of the start, on the tangent plane there. Stations before
// the start and after the end are held.
func (t *Trail) Plan(stationM, rightM float64) (eastM, northM float64) {
	i, u := t.cell(stationM)
	sin0, cos0 := math.Sincos(t.heading[i])
	sin1, cos1 := math.Sincos(t.heading[i+1])
	e := hermite(t.east[i], t.east[i+1], sin0*trailStep, sin1*trailStep, u)
	n := hermite(t.north[i], t.north[i+1], cos0*trailStep, cos1*trailStep, u)
	sin, cos := math.Sincos(t.HeadingRad(stationM))
	return e + rightM*cos, n - rightM*sin
}

// HeadingRad is the direction of travel at a station, clockwise from north; it is not wrapped, so that a loop adds 2π.
func (t *Trail) HeadingRad(stationM float64) float64 {
	i, u := t.cell(stationM)
	return t.heading[i] + u*(t.heading[i+1]-t.heading[i])
}

// EleM is the height above the ellipsoid at a station.
func (t *Trail) EleM(stationM float64) float64 {
	i, u := t.cell(stationM)
	return t.ele[i] + u*(t.ele[i+1]-t.ele[i])
}

// At is the place rightM to the right of the trail at a station.
func (t *Trail) At(stationM, rightM float64) Place {
	e, n := t.Plan(stationM, rightM)
	return t.plane.place(e, n, t.EleM(stationM))
}

// cell is the step in which a station lies and the share of it that is passed.
func (t *Trail) cell(stationM float64) (int, float64) {
	x := max(0, min(stationM, t.length)) / trailStep
	i := min(int(x), len(t.east)-2)
	return i, x - float64(i)
}
