package ridesim

import "math"

// pace is the rider's progress: where, how fast, and which section.
type pace struct {
	course  *Course
	t       float64 // s
	s       float64 // m
	v       float64 // m/s
	a       float64 // m/s², smoothed
	section int
	ends    []float64 // distance at which each section ends, m
	stopped float64   // s since the rider came to rest in the last section, −1 = not yet
	done    bool
}

func newPace(c *Course) *pace {
	p := &pace{course: c, v: c.StartSpeed, stopped: -1}
	at := 0.0
	for _, s := range c.Sections {
		at += s.LengthM
		p.ends = append(p.ends, at)
	}
	return p
}

const (
	speedLagS = 0.5  // the rider closes on the section's speed with this time constant
	brakeLagS = 0.15 // and brake or drive force builds up with this one
	restSpeed = 0.05 // m/s under which a stopping rider is at rest
	placeM    = 1e-6 // m by which rounding may hide the end of a section
)

// step advances by h seconds.
func (p *pace) step(h float64) {
	p.t += h
	c := p.course
	if len(c.Sections) == 0 {
		p.done = p.t >= c.StartHoldS-h/2
		return
	}
	if p.stopped >= 0 {
		p.stopped += h
		p.done = p.stopped >= c.EndHoldS-h/2
		return
	}
	if p.t < c.StartHoldS && c.StartSpeed == 0 {
		return
	}
	s := c.Sections[p.section]
	want := max(-orElse(s.BrakeMS2, 2), min(orElse(s.AccelMS2, 1.5), (s.SpeedMS-p.v)/speedLagS))
	p.a += (want - p.a) * h / brakeLagS
	p.v = max(0, p.v+p.a*h)
	p.s += p.v * h
	for p.section < len(p.ends) && p.s >= p.ends[p.section]-placeM {
		p.section++
	}
	switch {
	case p.section == len(p.ends):
		p.section--
		p.done = true
	case s.SpeedMS == 0 && p.v < restSpeed:
		p.v, p.a, p.stopped = 0, 0, 0
	}
}

func orElse(v, instead float64) float64 {
	if v == 0 {
		return instead
	}
	return v
}

// loadFactor is the apparent gravity in g where the rider is.
func (p *pace) loadFactor() float64 {
	if len(p.ends) == 0 {
		return 1
	}
	s := p.course.Sections[p.section]
	if s.LoadG == 0 {
		return 1
	}
	u := 1 - (p.ends[p.section]-p.s)/s.LengthM
	return 1 + s.LoadG/2*(1-math.Cos(2*math.Pi*u))
}
