package ridesim

import (
	"errors"
	"math"
	"math/rand/v2"
)

// A Shape lays a course out on the ground.
type Shape struct {
	Seed       uint64
	Start      Place   // the zero value stands for InventedGround
	HeadingDeg float64 // of the fall line, clockwise from north
	Grade      float64 // mean descent as a share of the distance, 0 = 0.09
	Crossing   bool    // the trail makes a loop and crosses its own line once
}

// InventedGround is a hill where there is only open sea: no real trail is there. (0° N 0° E is not used, since receivers
// write it for want of a position.)
func InventedGround() Place { return Place{LatDeg: 31.5, LonDeg: -41.25, EleM: 640} }

// Limits of the layout. Common practice, no source.
const (
	bermMS2   = 7.5 // most lateral acceleration in a section with LoadG (a berm)
	flatMS2   = 3.5 // elsewhere
	loopMS2   = 5.0 // in the loop that makes the crossing
	bermDeg   = 150 // a berm turns at most this far
	bendM     = 30  // a section without a berm bends about once in this many m
	climbAt   = 0.04
	meanGrade = 0.09
)

// bend turns the trail by angle rad (positive to the right) over its length, with curvature angle/L·(1 − cos 2πu): straight at both
// ends, tightest in the middle at 2·angle/L.
type bend struct{ start, length, angle float64 }

// turned is how far the heading has come round at u m from the bend's start.
func (b bend) turned(u float64) float64 {
	if u >= b.length {
		return b.angle
	}
	u /= b.length
	return b.angle * (u - math.Sin(2*math.Pi*u)/(2*math.Pi))
}

// tightest is the most angle in rad that a bend may turn within length m at speed v under a lateral acceleration.
func tightest(acceleration, length, v float64) float64 {
	return acceleration * length / (2 * v * v)
}

// bends lays the course's bends: it swings from side to side of the fall line, never past square to it, stays straight where the rider flies, and
// turns in berms as tightly as their speed lets it. Speeds are those of the course, so build the trail of several runs once.
func (s Shape) bends(c *Course) ([]bend, error) {
	rng := rand.New(rand.NewPCG(s.Seed, 0x7472616c))
	loop := -1
	if s.Crossing {
		if loop = c.loopSection(); loop < 0 {
			return nil, errors.New("trail: no section is long and slow enough for a crossing: 2.6·speed² m are needed, without a jump, a drop or a berm")
		}
	}
	var out []bend
	at, off, side := 0.0, 0.0, 1.0
	turn := func(length, angle float64) {
		out = append(out, bend{at, length, angle})
		at += length
		off += angle
	}
	for k, sec := range c.Sections {
		v := c.fastest(k)
		switch {
		case k == loop:
			turn(sec.LengthM, 2*math.Pi*side)
			off -= 2 * math.Pi * side
		case sec.flies():
			at += sec.LengthM
		case sec.LoadG > 0:
			angle := min(tightest(bermMS2, sec.LengthM, sec.SpeedMS), bermDeg*math.Pi/180, 1.3+math.Abs(off))
			turn(sec.LengthM, math.Copysign(angle, -off))
			side = math.Copysign(1, -off)
		default:
			n := max(1, int(math.Round(sec.LengthM/bendM)))
			for range n {
				side = -side
				want := side*(0.4+0.9*rng.Float64()) - off
				turn(sec.LengthM/float64(n), clamp(want, tightest(flatMS2, sec.LengthM/float64(n), v)))
			}
		}
	}
	return out, nil
}

// fastest is the speed in m/s that section k may be entered or ridden at.
func (c *Course) fastest(k int) float64 {
	v := c.Sections[k].SpeedMS
	if k > 0 {
		v = max(v, c.Sections[k-1].SpeedMS)
	}
	return max(v, c.StartSpeed, 1)
}

// flies says whether the section is one to go straight through.
func (s Section) flies() bool {
	for _, f := range s.Features {
		if f.Kind != Bumps {
			return true
		}
	}
	return false
}

// loopSection is the section that takes a full turn most easily, −1 where none can.
func (c *Course) loopSection() int {
	best, most := -1, 2*math.Pi
	for k, s := range c.Sections {
		if s.flies() || s.LoadG > 0 || s.SpeedMS == 0 {
			continue
		}
		if a := tightest(loopMS2, s.LengthM, c.fastest(k)); a >= most {
			best, most = k, a
		}
	}
	return best
}

// grades is the slope in the middle of each section, positive uphill: between 0.4 and 1.6 of the mean descent, but one section
// near the middle of the course climbs a little and the last lies flat.
func (s Shape) grades(c *Course) []float64 {
	rng := rand.New(rand.NewPCG(s.Seed, 0x67726164))
	mean := orElse(s.Grade, meanGrade)
	out := make([]float64, len(c.Sections))
	for k := range out {
		out[k] = -mean * (0.4 + 1.2*rng.Float64())
	}
	if n := len(out); n > 2 {
		out[n/2], out[n-1] = climbAt, 0
	}
	return out
}
