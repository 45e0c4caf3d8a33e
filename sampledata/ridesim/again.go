package ridesim

import (
	"math/rand/v2"
	"slices"
)

// Variation is how much one run differs from the next on the same trail and setting, as standard deviations.
type Variation struct {
	PaceShare    float64 // of the whole run's speed
	SectionShare float64 // of each section's speed, on top
	MassKg       float64 // of the sprung mass: body position, drink, clothes
	LineShare    float64 // share of the ground's power that is the line's, see Course.LineShare
}

// DefaultVariation is a practised rider who rides a trail again. Common practice, no source.
func DefaultVariation() Variation {
	return Variation{PaceShare: 0.015, SectionShare: 0.025, MassKg: 0.4, LineShare: 0.25}
}

// Again is p ridden once more: the same trail, fork and sensor, and what differs from run to run drawn from seed. Seed must not be 0.
func (p Params) Again(seed uint64, v Variation) Params {
	rng := rand.New(rand.NewPCG(seed, 0x616761696e))
	within := func() float64 { return max(-2.5, min(2.5, rng.NormFloat64())) } // no run is absurd
	p.RiderSeed, p.Sensor.Seed = rng.Uint64()|1, rng.Uint64()
	p.Fork.SprungKg += v.MassKg * within()
	p.Course.LineShare, p.Course.LineSeed = v.LineShare, rng.Uint64()
	pace := 1 + v.PaceShare*within()
	p.Course.Sections = slices.Clone(p.Course.Sections)
	for i := range p.Course.Sections {
		p.Course.Sections[i].SpeedMS *= pace * (1 + v.SectionShare*within())
	}
	return p
}
