package trail

import (
	"math/rand/v2"

	"stanchion/sampledata/ridesim"
)

// A simFork is the default fork of the simulator with its damping scaled, and another friction if not 0.
type simFork struct {
	name                           string
	compression, rebound, friction float64
}

func (s simFork) fork() ridesim.Fork {
	f := ridesim.DefaultFork()
	f.Damper.Compression.Low *= s.compression
	f.Damper.Compression.High *= s.compression
	f.Damper.Rebound.Low *= s.rebound
	f.Damper.Rebound.High *= s.rebound
	if s.friction > 0 {
		f.FrictionN = s.friction
	}
	return f
}

func simForks() []simFork {
	return []simFork{
		{"sound", 1, 1, 0}, {"under-damped", 0.4, 0.35, 0}, {"high friction", 1, 1, 90}, {"slow rebound", 1, 2, 0}, {"very slow rebound", 1, 3.5, 0},
	}
}

// between is a draw between low and high.
func draw(rng *rand.Rand, low, high float64) float64 { return low + (high-low)*rng.Float64() }

// jumpCourse is n flights of drawn sizes (ramps, drops, single bumps taken fast) with calm, rough and unweighted ground between them.
func jumpCourse(seed uint64, n int) ridesim.Course {
	rng := rand.New(rand.NewPCG(seed, 0x6a756d70))
	c := ridesim.Course{StartHoldS: 3, EndHoldS: 2, EnvelopeM: 0.16, SwayN: 25}
	c.Sections = append(c.Sections, ridesim.Section{Kind: "start", LengthM: 30, GdN0: 700e-6, SpeedMS: 6})
	add := func(s ridesim.Section) { c.Sections = append(c.Sections, s) }
	for range n {
		switch v := draw(rng, 5, 9); rng.IntN(7) {
		case 0, 1:
			h, l := draw(rng, 0.25, 0.9), draw(rng, 2.5, 5)
			add(ridesim.Section{Kind: "jump", LengthM: 55, GdN0: draw(rng, 100e-6, 1500e-6), SpeedMS: v, Features: []ridesim.Feature{
				{Kind: ridesim.Jump, AtM: 25, HeightM: h, LengthM: l, GapM: draw(rng, 0.5, 4), LandingM: draw(rng, 3, 6), DropM: draw(rng, 0, 0.8)}}})
		case 2:
			add(ridesim.Section{Kind: "drop", LengthM: 35, GdN0: draw(rng, 100e-6, 1500e-6), SpeedMS: v, Features: []ridesim.Feature{
				{Kind: ridesim.Drop, AtM: 15, HeightM: draw(rng, 0.15, 1), LengthM: draw(rng, 0.3, 1.5)}}})
		case 3:
			add(ridesim.Section{Kind: "crest", LengthM: draw(rng, 6, 16), GdN0: draw(rng, 10e-6, 800e-6), SpeedMS: v, LoadG: -draw(rng, 0.3, 0.85)})
		case 4:
			add(ridesim.Section{Kind: "rocks", LengthM: 40, GdN0: draw(rng, 6000e-6, 13000e-6), SpeedMS: min(v, 7)})
		case 5:
			add(ridesim.Section{Kind: "bump", LengthM: 30, GdN0: 300e-6, SpeedMS: v, Features: []ridesim.Feature{
				{Kind: ridesim.Bumps, AtM: 10, HeightM: draw(rng, 0.08, 0.25), LengthM: draw(rng, 0.8, 2), Count: 1}}})
		case 6:
			add(ridesim.Section{Kind: "berm", LengthM: 16, GdN0: 120e-6, SpeedMS: v, LoadG: draw(rng, 0.3, 0.8)})
		}
		add(ridesim.Section{Kind: "smooth", LengthM: draw(rng, 15, 40), GdN0: draw(rng, 10e-6, 1200e-6), SpeedMS: v0(rng)})
	}
	add(ridesim.Section{Kind: "stop", LengthM: 60, GdN0: 200e-6, BrakeMS2: 2.2})
	return c
}

func v0(rng *rand.Rand) float64 { return draw(rng, 4, 8) }

// harshKinds are the kinds of section that count as harsh in the truth.
func harshKind(kind string) bool {
	switch kind {
	case "rocks", "roots", "rough ground", "braking bumps", "washboard":
		return true
	}
	return false
}

// harshCourse is a trail of about lengthM of which a share is harsh, in stretches of 15 to 80 m, with all sorts of calm ground, jumps and drops between.
func harshCourse(seed uint64, share, lengthM float64) ridesim.Course {
	rng := rand.New(rand.NewPCG(seed, 0x6861727368))
	c := ridesim.Course{StartHoldS: 3, EndHoldS: 2, EnvelopeM: 0.16, SwayN: 25}
	c.Sections = append(c.Sections, ridesim.Section{Kind: "start", LengthM: 30, GdN0: 700e-6, SpeedMS: 6})
	length, harsh := 30.0, 0.0
	for length < lengthM {
		var s ridesim.Section
		if harsh < share*length {
			s = harshSection(rng)
			harsh += s.LengthM
		} else {
			s = calmSection(rng)
		}
		length += s.LengthM
		c.Sections = append(c.Sections, s)
	}
	c.Sections = append(c.Sections, ridesim.Section{Kind: "stop", LengthM: 50, GdN0: 300e-6, BrakeMS2: 2.2})
	return c
}

func harshSection(rng *rand.Rand) ridesim.Section {
	l := draw(rng, 15, 80)
	bumps := func(kind string, height, length, v float64) ridesim.Section {
		n := int(l / length)
		return ridesim.Section{Kind: kind, LengthM: float64(n) * length, GdN0: 800e-6, SpeedMS: v, BrakeMS2: 2.4, Features: []ridesim.Feature{
			{Kind: ridesim.Bumps, HeightM: height, LengthM: length, Count: n}}}
	}
	switch rng.IntN(5) {
	case 0:
		return ridesim.Section{Kind: "rocks", LengthM: l, GdN0: draw(rng, 9000e-6, 13000e-6), SpeedMS: draw(rng, 4.8, 6)}
	case 1:
		l = min(l, 40)
		return bumps("braking bumps", draw(rng, 0.035, 0.045), draw(rng, 0.5, 0.65), draw(rng, 3.5, 5))
	case 2:
		l = min(l, 50)
		return bumps("washboard", draw(rng, 0.03, 0.04), draw(rng, 0.45, 0.6), draw(rng, 6, 7.5))
	case 3:
		s := ridesim.Section{Kind: "roots", LengthM: l, GdN0: 1500e-6, SpeedMS: draw(rng, 5, 6.5)}
		for at := 0.3; at < l-1; at += draw(rng, 0.6, 1.6) {
			s.Features = append(s.Features, ridesim.Feature{Kind: ridesim.Bumps, AtM: at, HeightM: draw(rng, 0.04, 0.08), LengthM: draw(rng, 0.3, 0.5), Count: 1})
		}
		return s
	}
	return ridesim.Section{Kind: "rough ground", LengthM: l, GdN0: draw(rng, 4000e-6, 5500e-6), SpeedMS: draw(rng, 6, 7)}
}

func calmSection(rng *rand.Rand) ridesim.Section {
	l := draw(rng, 25, 90)
	switch rng.IntN(8) {
	case 0:
		return ridesim.Section{Kind: "hardpack", LengthM: l, GdN0: draw(rng, 30e-6, 300e-6), SpeedMS: draw(rng, 5, 8)}
	case 1:
		return ridesim.Section{Kind: "climb", LengthM: l / 2, GdN0: draw(rng, 300e-6, 800e-6), SpeedMS: draw(rng, 2.5, 3.5)}
	case 2:
		return ridesim.Section{Kind: "berm", LengthM: 16, GdN0: 120e-6, SpeedMS: draw(rng, 5, 6.5), LoadG: draw(rng, 0.3, 0.7)}
	case 3:
		return ridesim.Section{Kind: "jump", LengthM: 50, GdN0: draw(rng, 300e-6, 800e-6), SpeedMS: draw(rng, 7.5, 8.5), Features: []ridesim.Feature{
			{Kind: ridesim.Jump, AtM: 22, HeightM: draw(rng, 0.4, 0.7), LengthM: 4.2, GapM: draw(rng, 1.5, 2.6), LandingM: 5.2, DropM: draw(rng, 0.3, 0.6)}}}
	case 4:
		return ridesim.Section{Kind: "drop", LengthM: 30, GdN0: draw(rng, 300e-6, 900e-6), SpeedMS: draw(rng, 5, 6.5), Features: []ridesim.Feature{
			{Kind: ridesim.Drop, AtM: 15, HeightM: draw(rng, 0.3, 0.7), LengthM: 0.7}}}
	}
	return ridesim.Section{Kind: "smooth flow", LengthM: l, GdN0: draw(rng, 600e-6, 1100e-6), SpeedMS: draw(rng, 6, 8)}
}
