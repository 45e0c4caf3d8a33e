package faults

import (
	"math/rand/v2"

	"stanchion/sampledata/ridesim"
)

// A Fault is what is wrong with a fork.
type Fault string

// The faults. Sound is none.
const (
	Sound           Fault = "sound"
	SoftSpring      Fault = "spring too soft"
	StiffSpring     Fault = "spring too stiff"
	FewSpacers      Fault = "too little progression"
	ManySpacers     Fault = "too much progression"
	SlowRebound     Fault = "rebound too slow"
	FastRebound     Fault = "rebound too fast"
	StrongHighSpeed Fault = "high-speed compression too strong"
	WeakLowSpeed    Fault = "low-speed compression too weak"
	Friction        Fault = "high friction"
	Negative        Fault = "negative chamber too low"
)

// List is every fault, without Sound.
func List() []Fault {
	return []Fault{SoftSpring, StiffSpring, FewSpacers, ManySpacers, SlowRebound, FastRebound, StrongHighSpeed, WeakLowSpeed, Friction, Negative}
}

// put puts the fault into a sound fork. strength 1 is the usual one. sagShare is the sag that the spring was set to.
func (f Fault) put(k ridesim.Fork, strength, sagShare float64) ridesim.Fork {
	s := k.Spring.(ridesim.AirSpring)
	d := &k.Damper
	switch f {
	case SoftSpring:
		k.Spring = pumped(s, s.PressurePa*(1-0.28*strength))
	case StiffSpring:
		k.Spring = pumped(s, s.PressurePa*(1+0.45*strength))
	case FewSpacers:
		s.VolumeM3 *= 1 + 0.9*strength
		k.Spring = s
		k = set(k, sagShare)
	case ManySpacers:
		swept := s.AreaM2 * k.TravelM
		s.VolumeM3 = swept + (s.VolumeM3-swept)*(1-0.6*strength)
		k.Spring = s
		k = set(k, sagShare)
	case SlowRebound:
		d.Rebound = scaled(d.Rebound, 1+2.2*strength, 1+2.2*strength)
	case FastRebound:
		d.Rebound = scaled(d.Rebound, 1-0.68*strength, 1-0.68*strength)
	case StrongHighSpeed:
		d.Compression.High *= 1 + 3.5*strength
	case WeakLowSpeed:
		// What lies above the knee keeps its force as far as it can, so that only the low speed changes.
		d.Compression = scaled(d.Compression, 1-0.8*strength, 1)
	case Friction:
		k.FrictionN += 65 * strength
	case Negative:
		s.NegPressurePa *= 1 - 0.6*strength
		k.Spring = s
	}
	return k
}

// scaled is the valve with its two slopes multiplied.
func scaled(v ridesim.Valve, low, high float64) ridesim.Valve {
	v.Low, v.High = v.Low*low, v.High*high
	return v
}

// pumped is the spring with both chambers at one pressure, as a transfer port leaves them.
func pumped(s ridesim.AirSpring, pa float64) ridesim.AirSpring {
	s.PressurePa, s.NegPressurePa = pa, pa
	return s
}

// set pumps the fork to a static sag as a share of travel.
func set(k ridesim.Fork, share float64) ridesim.Fork {
	s := k.Spring.(ridesim.AirSpring)
	lo, hi := 0.5e5, 40e5
	for range 60 {
		mid := (lo + hi) / 2
		k.Spring = pumped(s, mid)
		if k.StaticSagM() > share*k.TravelM {
			lo = mid
		} else {
			hi = mid
		}
	}
	k.Spring = pumped(s, (lo+hi)/2)
	return k
}

// A Case is one ride on a fork with at most one fault.
type Case struct {
	Fault        Fault
	Bike, Course string
	Seed         uint64
	Ride         ridesim.Params
	SagLog       ridesim.Params // two settles of the same fork
}

// New makes a case. The seed draws the ground, the pace, the rider's mass, how the sound setting differs from the next sound one,
// and how strong the fault is: from 0.85 to 1.15 of the usual.
func New(f Fault, bike Bike, course Course, seed uint64) Case {
	rng := rand.New(rand.NewPCG(seed, 0x6661756c7473))
	about := func(spread float64) float64 { return 1 + spread*(2*rng.Float64()-1) }
	k := bike.fork
	mass := about(0.15)
	k.SprungKg *= mass
	sag := bike.sag * about(0.08)
	k.Damper.Compression = scaled(k.Damper.Compression, mass*about(0.12), mass*about(0.12))
	k.Damper.Rebound = scaled(k.Damper.Rebound, mass*about(0.12), mass*about(0.12))
	k.FrictionN *= about(0.25)
	k = f.put(set(k, sag), about(0.15), sag)
	sensor := ridesim.DefaultSensor()
	sensor.Seed = seed
	p := ridesim.Params{Seed: rng.Uint64(), Fork: k, Course: course.build(rng), Sensor: sensor}
	ride := p.Again(rng.Uint64()|1, ridesim.DefaultVariation())
	return Case{Fault: f, Bike: bike.Name, Course: course.Name, Seed: seed, Ride: ride,
		SagLog: ridesim.TwoSettles(k, sensor, 5.5, 2.5)}
}
