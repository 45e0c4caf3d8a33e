package ridesim

import (
	"errors"
	"fmt"
	"math"
)

// A FeatureKind is the shape of a feature.
type FeatureKind string

// The features.
const (
	// Bumps are Count raised cosines of HeightM in a row, each LengthM long: H/2·(1 − cos 2πs/λ).
	Bumps FeatureKind = "bumps"
	// Drop lowers the ground by HeightM within LengthM, for good.
	Drop FeatureKind = "drop"
	// Jump is a take-off ramp LengthM long that steepens to HeightM (parabola), a flat top GapM long and a landing slope LandingM
	// long that ends DropM lower than the ramp began.
	Jump FeatureKind = "jump"
)

// A Feature is a shape added to the random road of its section.
type Feature struct {
	Kind     FeatureKind
	AtM      float64 // start, from the start of the section
	HeightM  float64
	LengthM  float64
	Count    int     // Bumps
	GapM     float64 // Jump
	LandingM float64 // Jump
	DropM    float64 // Jump
}

// height is the feature's height in m at u m from its start, and what remains of it for good afterwards.
func (f Feature) height(u float64) float64 {
	if u <= 0 {
		return 0
	}
	switch f.Kind {
	case Bumps:
		if u >= f.LengthM*float64(f.Count) {
			return 0
		}
		return f.HeightM / 2 * (1 - math.Cos(2*math.Pi*u/f.LengthM))
	case Drop:
		return -f.HeightM * smoothstep(u/f.LengthM)
	case Jump:
		if u < f.LengthM {
			return f.HeightM * (u / f.LengthM) * (u / f.LengthM)
		}
		return f.HeightM - (f.HeightM+f.DropM)*smoothstep((u-f.LengthM-f.GapM)/f.LandingM)
	}
	return 0
}

// end is the length of the feature in m.
func (f Feature) end() float64 {
	switch f.Kind {
	case Bumps:
		return f.LengthM * float64(f.Count)
	case Jump:
		return f.LengthM + f.GapM + f.LandingM
	}
	return f.LengthM
}

// A Section is a stretch of trail.
type Section struct {
	Kind     string  // for people: "smooth", "rocks", "braking bumps"
	LengthM  float64 // of ground
	GdN0     float64 // roughness Gd(n0) in m³, 0 = level
	SpeedMS  float64 // the speed the rider makes for
	AccelMS2 float64 // most forward acceleration, 0 = 1.5
	BrakeMS2 float64 // most deceleration, 0 = 2
	LoadG    float64 // extra apparent gravity in the middle of a berm or compression, in g; raised cosine over the section
	Features []Feature
}

// A Push is a point of the load that a scenario puts on the sprung mass. Between points the load follows a smoothstep;
// before the first and after the last it is held.
type Push struct {
	TimeS float64
	LoadN float64 // vertical, positive pushes the fork together
}

// A Course is what is ridden.
type Course struct {
	StartHoldS float64 // standing still before the first section
	Sections   []Section
	EndHoldS   float64 // standing still after the rider has come to rest; only if the last section's speed is 0
	SwayN      float64 // amplitude of the rider's moving about while riding, N on the fork
	Push       []Push
	EnvelopeM  float64 // width of the wheel's smoothing of the road, see the package comment; 0 = none
	StartSpeed float64 // m/s at the start (StartHoldS is then ridden, not stood)
	// LineShare is the share of the random road's power that belongs to the line taken and not to the trail: 0 = the
	// wheel meets the same ground each time, 1 = other ground of the same roughness. The line is drawn from LineSeed.
	LineShare float64
	LineSeed  uint64
	DropFromM float64 // the front end starts in free fall from this height above the road, fully extended and at rest
}

// gridStep is the spacing in m of the road's grid.
const gridStep = 0.0125

// maxRoadWavenumber in cycles/m is the shortest wave of the random road (8 cm); ISO 8608 itself reports up to 2.83.
const maxRoadWavenumber = 12

// Validate reports the first thing about the course that cannot be ridden.
func (c Course) Validate() error {
	if len(c.Sections) == 0 && !(c.StartHoldS > 0) {
		return errors.New("course: no sections and no StartHoldS: nothing to ride")
	}
	if !(c.EnvelopeM >= 0 && c.EnvelopeM <= 2) {
		return fmt.Errorf("course: the wheel smooths the road over %g m: must be 0 to 2", c.EnvelopeM)
	}
	if !(c.LineShare >= 0 && c.LineShare <= 1) {
		return fmt.Errorf("course: share of the line is %g: must be 0 to 1", c.LineShare)
	}
	for i, s := range c.Sections {
		last := i == len(c.Sections)-1
		switch {
		case !(s.LengthM > 0) || s.LengthM > 1e5:
			return fmt.Errorf("course: section %d (%s) is %g m long: must be over 0 and at most 100 km", i+1, s.Kind, s.LengthM)
		case !(s.SpeedMS >= 0) || (s.SpeedMS == 0 && !last):
			return fmt.Errorf("course: section %d (%s) has speed %g m/s: only the last may stop", i+1, s.Kind, s.SpeedMS)
		case !(s.GdN0 >= 0):
			return fmt.Errorf("course: section %d (%s) has roughness %g m³: must not be negative", i+1, s.Kind, s.GdN0)
		}
		for _, f := range s.Features {
			if !(f.LengthM > 0) || (f.Kind == Jump && !(f.LandingM > 0)) {
				return fmt.Errorf("course: a %s in section %d (%s) has no length: set LengthM, and LandingM for a jump", f.Kind, i+1, s.Kind)
			}
		}
	}
	return nil
}

// road lays the course's ground: the random profile of each section, faded in and out over up to 1 m at joins of different
// roughness, plus features, through the wheel's envelope.
func (c Course) road(seed uint64) gridRoad {
	total := 0.0
	for _, s := range c.Sections {
		total += s.LengthM
	}
	h := make([]float64, int(total/gridStep)+2)
	start := 0.0
	for k, s := range c.Sections {
		lo, hi := int(math.Ceil(start/gridStep)), int(math.Ceil((start+s.LengthM)/gridStep))
		hi = min(hi, len(h))
		addProfile(h[lo:hi], s.GdN0*(1-c.LineShare), seed+uint64(k)*0x9e3779b97f4a7c15)
		addProfile(h[lo:hi], s.GdN0*c.LineShare, c.LineSeed+uint64(k)*0x9e3779b97f4a7c15)
		addFeatures(h, start, s.Features)
		start += s.LengthM
	}
	return gridRoad{dx: gridStep, h: envelope(h, gridStep, c.EnvelopeM)}
}

// profilePeriod is the most m of ground that one period of the random profile covers; longer sections repeat it.
const profilePeriod = 250.0

func addProfile(h []float64, gd float64, seed uint64) {
	if gd == 0 || len(h) == 0 {
		return
	}
	p := Profile(gd, gridStep, min(len(h), int(profilePeriod/gridStep)), maxRoadWavenumber, seed)
	fade := min(1/gridStep, float64(len(h))/2)
	for i := range h {
		edge := float64(min(i, len(h)-1-i))
		h[i] += p[i%len(p)] * smoothstep(edge/fade)
	}
}

func addFeatures(h []float64, start float64, features []Feature) {
	for _, f := range features {
		from := start + f.AtM
		end := from + f.end()
		rest := f.height(f.end())
		for i := max(0, int(from/gridStep)); i < len(h); i++ {
			s := float64(i) * gridStep
			if s >= end {
				if rest == 0 {
					break
				}
				h[i] += rest
				continue
			}
			h[i] += f.height(s - from)
		}
	}
}

// push is the scenario's load in N at time t in s.
func (c Course) push(t float64) float64 {
	p := c.Push
	if len(p) == 0 {
		return 0
	}
	if t <= p[0].TimeS {
		return p[0].LoadN
	}
	for i := 1; i < len(p); i++ {
		if t < p[i].TimeS {
			u := (t - p[i-1].TimeS) / (p[i].TimeS - p[i-1].TimeS)
			return p[i-1].LoadN + (p[i].LoadN-p[i-1].LoadN)*smoothstep(u)
		}
	}
	return p[len(p)-1].LoadN
}
