package trail

import (
	"math"
	"math/rand/v2"
)

// A course is a trail on known ground: points 0.25 m apart.
type course struct{ e, n []float64 }

const courseStepM = 0.25

func (c *course) lengthM() float64 { return float64(len(c.e)-1) * courseStepM }

func (c *course) at(s float64) (e, n float64) {
	x := min(max(s/courseStepM, 0), float64(len(c.e)-1)-1e-9)
	j := int(x)
	f := x - float64(j)
	return c.e[j] + f*(c.e[j+1]-c.e[j]), c.n[j] + f*(c.n[j+1]-c.n[j])
}

// stationOf is the station of the course beside a station of a line of it: lines cut corners a little, so that the two drift apart.
func (c *course) stationOf(l *Line, s float64) float64 {
	e, n, _, _ := l.at(s)
	best, nearest := 0.0, math.Inf(1)
	for x := max(0, s-25); x <= min(s+25, c.lengthM()); x += 0.02 {
		ce, cn := c.at(x)
		if d := math.Hypot(ce-e, cn-n); d < nearest {
			best, nearest = x, d
		}
	}
	return best
}

// bend makes a course from a list of pieces: length in m and turn in degrees over it, to the right.
func bend(pieces ...[2]float64) *course {
	c := &course{e: []float64{0}, n: []float64{0}}
	heading := 0.3
	for _, p := range pieces {
		steps := int(p[0] / courseStepM)
		for range steps {
			heading += p[1] * math.Pi / 180 / float64(steps)
			k := len(c.e) - 1
			c.e, c.n = append(c.e, c.e[k]+courseStepM*math.Sin(heading)), append(c.n, c.n[k]+courseStepM*math.Cos(heading))
		}
	}
	return c
}

// switchbacks are legs gapM apart, joined by half circles.
func switchbacks(legs int, legM, gapM float64) *course {
	pieces := [][2]float64{{40, 0}}
	turn := 180.0
	for range legs {
		pieces = append(pieces, [2]float64{legM, 0}, [2]float64{gapM * math.Pi / 2, turn})
		turn = -turn
	}
	return bend(append(pieces, [2]float64{60, 0})...)
}

// figureEight crosses itself at right angles in the middle.
func figureEight() *course {
	return bend([2]float64{60, 0}, [2]float64{150, 270}, [2]float64{70, 0}, [2]float64{150, -270}, [2]float64{80, 0})
}

// ring is a loop that ends where it began.
func ring() *course {
	return bend([2]float64{100, 90}, [2]float64{100, 90}, [2]float64{100, 90}, [2]float64{100, 90})
}

// winding is a trail of gentle and sharp bends, about 900 m.
func winding() *course {
	return bend([2]float64{120, 30}, [2]float64{60, -80}, [2]float64{150, 40}, [2]float64{25, 150}, [2]float64{110, -30}, [2]float64{30, -160},
		[2]float64{140, 60}, [2]float64{90, -100}, [2]float64{120, 20}, [2]float64{60, 0})
}

// A ridden run knows when it truly was where.
type ridden struct {
	path    *Path
	timeS   []float64
	station []float64
}

// timeAt is when the run truly passed a station of the course.
func (r *ridden) timeAt(s float64) float64 {
	for i := 1; i < len(r.station); i++ {
		if r.station[i] >= s {
			return r.timeS[i-1] + (s-r.station[i-1])/(r.station[i]-r.station[i-1])*(r.timeS[i]-r.timeS[i-1])
		}
	}
	return math.NaN()
}

// How a run is ridden and received.
type manner struct {
	rateHz   float64
	noiseM   float64 // white, of one coordinate
	wanderM  float64 // slow common error, of one coordinate, …
	wanderS  float64 // … with this time constant
	across   float64 // the rider's own line, m to the right
	from, to float64 // stations, to 0 = the end
	speedMS  float64
	seed     uint64
}

// ride rides a course at a speed that goes up and down, as a path without any smoothing.
func (c *course) ride(m manner) *ridden {
	rng := rand.New(rand.NewPCG(m.seed, 7))
	if m.to == 0 {
		m.to = c.lengthM()
	}
	r := &ridden{path: &Path{RateHz: m.rateHz, NoiseM: m.noiseM}}
	phase := rng.Float64() * 6
	const dt = 0.01
	every := int(math.Round(1 / m.rateHz / dt))
	s, t := m.from, 100.0
	var wander [2]float64
	for k := range wander {
		wander[k] = m.wanderM * rng.NormFloat64()
	}
	keep := math.Exp(-1 / m.rateHz / max(m.wanderS, 1e-9))
	for k := 0; s < m.to; k++ {
		r.timeS, r.station = append(r.timeS, t), append(r.station, s)
		v := m.speedMS * (1 + 0.25*math.Sin(s/23+phase) + 0.1*math.Sin(s/7))
		if k%every == 0 {
			e, n := c.at(s)
			e2, n2 := c.at(s + 0.25)
			e1, n1 := c.at(s - 0.25)
			de, dn := unit(e2-e1, n2-n1)
			p := r.path
			p.TimeS, p.SpeedMS, p.Piece = append(p.TimeS, t), append(p.SpeedMS, v), append(p.Piece, 0)
			p.EastM = append(p.EastM, e+m.across*dn+wander[0]+m.noiseM*rng.NormFloat64())
			p.NorthM = append(p.NorthM, n-m.across*de+wander[1]+m.noiseM*rng.NormFloat64())
			p.EleM, p.SigmaM = append(p.EleM, 500-0.1*s), append(p.SigmaM, max(m.noiseM, 0.1))
			p.AlongM = append(p.AlongM, s-m.from)
			for i := range wander {
				wander[i] = keep*wander[i] + math.Sqrt(1-keep*keep)*m.wanderM*rng.NormFloat64()
			}
		}
		s += v * dt
		t += dt
	}
	return r
}
