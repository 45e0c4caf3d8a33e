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
	Descent    float64 // mean descent as a share of the distance, 0 = 9 %
	Crossing   bool    // the trail makes a loop and crosses its own line once
}

// InventedGround is a hill where there is only open sea: no real trail is there. (0° N 0° E is not used, since receivers
// write it for want of a position.)
func InventedGround() Place { return Place{LatDeg: 31.5, LonDeg: -41.25, EleM: 640} }

// The layout. Common practice, no source.
const (
	bermMS2     = 7.5  // most lateral acceleration in a section with LoadG (a berm)
	flatMS2     = 3.5  // elsewhere
	loopMS2     = 5.5  // in the loop that makes the crossing
	squareRad   = 1.3  // a berm turns to at most this far from the fall line
	traverseRad = 0.75 // the trail lies this far from the fall line between berms
	weaveRad    = 0.5  // and up to this much more or less
	bendM       = 30.0 // weaving about once in this many m
	climb       = 0.04 // the slope of the section that climbs
	meanDescent = 0.09
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

// bends lays the course's bends: it traverses the fall line to one side and weaves a little, berms turn it to the other side, as tightly as
// their speed lets it, and it stays straight where the rider flies. It never turns past square to the fall line, so that it does not meet
// itself but for the loop of a crossing. Speeds are those of the course, so build the trail of several runs once.
func (s Shape) bends(c *Course) ([]bend, error) {
	rng := rand.New(rand.NewPCG(s.Seed, 0x7472616c))
	loop := stretch{first: -1}
	if s.Crossing {
		if loop = c.loopStretch(); loop.length == 0 {
			return nil, errors.New("trail: no stretch is long and slow enough for a crossing: 2.3·speed² m are needed after the first section, without a jump, a drop or a berm")
		}
	}
	var out []bend
	at, off := 0.0, 0.0
	side := 1 - 2*float64(rng.IntN(2))
	turn := func(length, angle float64) {
		out = append(out, bend{at, length, angle})
		at += length
		off += angle
	}
	for k := 0; k < len(c.Sections); k++ {
		sec := c.Sections[k]
		switch {
		case k == loop.first:
			turn(loop.length, 2*math.Pi*side)
			off -= 2 * math.Pi * side
			k = loop.last
		case sec.flies():
			at += sec.LengthM
		case sec.LoadG > 0:
			side = -math.Copysign(1, off)
			turn(sec.LengthM, side*min(tightest(bermMS2, sec.LengthM, sec.SpeedMS), squareRad+math.Abs(off)))
		default:
			n := max(1, int(math.Round(sec.LengthM/bendM)))
			length := sec.LengthM / float64(n)
			for range n {
				want := side*(traverseRad+weaveRad*(2*rng.Float64()-1)) - off
				turn(length, clamp(want, tightest(flatMS2, length, c.fastest(k))))
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

// flat says whether the section may be part of a loop.
func (s Section) flat() bool { return !s.flies() && s.LoadG == 0 && s.SpeedMS > 0 }

// stretch is consecutive sections, first to last.
type stretch struct {
	first, last int
	length      float64
}

// loopStretch is the longest stretch after the first section that can take a full turn, of length 0 where there is none.
func (c *Course) loopStretch() stretch {
	var best stretch
	for first := 1; first < len(c.Sections); first++ {
		now := stretch{first: first}
		v := 0.0
		for k := first; k < len(c.Sections) && c.Sections[k].flat(); k++ {
			v = max(v, c.Sections[k].SpeedMS)
			now.last = k
			now.length += c.Sections[k].LengthM
			if now.length > best.length && tightest(loopMS2, now.length, v) >= 2*math.Pi {
				best = now
			}
		}
	}
	return best
}

// grades is the slope in the middle of each section, positive uphill: between 0.4 and 1.6 of the mean descent, but one section
// near the middle of the course climbs a little and the last lies flat.
func (s Shape) grades(c *Course) []float64 {
	rng := rand.New(rand.NewPCG(s.Seed, 0x67726164))
	mean := orElse(s.Descent, meanDescent)
	out := make([]float64, len(c.Sections))
	for k := range out {
		out[k] = -mean * (0.4 + 1.2*rng.Float64())
	}
	if n := len(out); n > 2 {
		out[n/2], out[n-1] = climb, 0
	}
	return out
}
