package faults

import (
	"math/rand/v2"

	"stanchion/sampledata/ridesim"
)

// A Course is a kind of trail; the ground of each is drawn.
type Course struct {
	Name  string
	build func(*rand.Rand) ridesim.Course
}

// Courses are those that thresholds may be set on.
func Courses() []Course {
	return []Course{{"descent", descent}, {"woods", woods}, {"ridge", ridge}}
}

// HeldOutCourses are those that thresholds are not set on.
func HeldOutCourses() []Course { return []Course{{"quarry", quarry}} }

func begin() ridesim.Course {
	return ridesim.Course{StartHoldS: 5, EndHoldS: 4, EnvelopeM: 0.16, SwayN: 25}
}

// descent is rough ground, a jump and a drop, braking bumps.
func descent(rng *rand.Rand) ridesim.Course {
	c := begin()
	u := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	c.Sections = []ridesim.Section{
		{Kind: "start", LengthM: 25, GdN0: 700e-6, SpeedMS: 5, AccelMS2: 1.8},
		{Kind: "rough ground", LengthM: u(60, 80), GdN0: u(4000e-6, 5500e-6), SpeedMS: 6.2},
		{Kind: "braking", LengthM: 16, GdN0: 200e-6, SpeedMS: 3, BrakeMS2: 3.2},
		{Kind: "hardpack", LengthM: 50, GdN0: 8e-6, SpeedMS: 6.2, Features: singles(0.1, 0.8, 5, 9)},
		{Kind: "jump", LengthM: 45, GdN0: 500e-6, SpeedMS: u(8, 8.5), Features: jump(0.42, 0.2)},
		{Kind: "rocks", LengthM: u(50, 65), GdN0: u(10000e-6, 12000e-6), SpeedMS: 5.5},
		{Kind: "braking bumps", LengthM: 26, GdN0: 900e-6, SpeedMS: 3.4, BrakeMS2: 2.6, Features: []ridesim.Feature{
			{Kind: ridesim.Bumps, AtM: 2, HeightM: 0.042, LengthM: 0.62, Count: 26}}},
		{Kind: "drop", LengthM: 30, GdN0: 900e-6, SpeedMS: 5.5, Features: drop(u(0.3, 0.38))},
		{Kind: "washboard", LengthM: 30, GdN0: 400e-6, SpeedMS: 7, Features: []ridesim.Feature{
			{Kind: ridesim.Bumps, AtM: 4, HeightM: 0.035, LengthM: 0.52, Count: 46}}},
		{Kind: "braking", LengthM: 14, GdN0: 200e-6, SpeedMS: 3.5, BrakeMS2: 3.4},
		{Kind: "smooth flow", LengthM: 45, GdN0: 800e-6, SpeedMS: 8},
		{Kind: "stop", LengthM: 50, GdN0: 200e-6, BrakeMS2: 2.4},
	}
	return c
}

// woods is roots, two berms, short braking zones and two drops.
func woods(rng *rand.Rand) ridesim.Course {
	c := begin()
	u := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	c.Sections = []ridesim.Section{
		{Kind: "start", LengthM: 30, GdN0: 900e-6, SpeedMS: 5.5, AccelMS2: 1.8},
		{Kind: "hardpack", LengthM: 44, GdN0: 10e-6, SpeedMS: 5.8, Features: singles(0.09, 0.75, 4, 9)},
		{Kind: "roots", LengthM: u(55, 75), GdN0: u(5000e-6, 7000e-6), SpeedMS: 5.6, Features: rows(0.07, 0.5, 4, 9, 6)},
		{Kind: "berm", LengthM: 16, GdN0: 120e-6, SpeedMS: 6, LoadG: 0.6},
		{Kind: "drop", LengthM: 28, GdN0: 700e-6, SpeedMS: 5.5, Features: drop(u(0.3, 0.38))},
		{Kind: "braking", LengthM: 14, GdN0: 250e-6, SpeedMS: 3, BrakeMS2: 3},
		{Kind: "rocks", LengthM: u(45, 60), GdN0: u(11000e-6, 13000e-6), SpeedMS: 5},
		{Kind: "jump", LengthM: 50, GdN0: 500e-6, SpeedMS: u(7.8, 8.4), Features: jump(0.42, 0.2)},
		{Kind: "braking", LengthM: 16, GdN0: 200e-6, SpeedMS: 3.2, BrakeMS2: 3.4},
		{Kind: "hardpack", LengthM: 36, GdN0: 10e-6, SpeedMS: 6, Features: singles(0.1, 0.8, 3, 9)},
		{Kind: "rough ground", LengthM: 60, GdN0: 4500e-6, SpeedMS: 6.5},
		{Kind: "stop", LengthM: 50, GdN0: 300e-6, BrakeMS2: 2.2},
	}
	return c
}

// ridge is fast, with stone steps.
func ridge(rng *rand.Rand) ridesim.Course {
	c := begin()
	u := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	c.Sections = []ridesim.Section{
		{Kind: "start", LengthM: 30, GdN0: 600e-6, SpeedMS: 6, AccelMS2: 2},
		{Kind: "slabs", LengthM: 48, GdN0: 12e-6, SpeedMS: 6.5, Features: singles(0.11, 0.9, 4, 10)},
		{Kind: "rocks", LengthM: u(60, 80), GdN0: u(9000e-6, 11500e-6), SpeedMS: 6},
		{Kind: "braking", LengthM: 18, GdN0: 250e-6, SpeedMS: 3, BrakeMS2: 3.3},
		{Kind: "steps", LengthM: 50, GdN0: 1000e-6, SpeedMS: 5.2, Features: rows(0.12, 0.9, 3, 12, 4)},
		{Kind: "drop", LengthM: 28, GdN0: 800e-6, SpeedMS: 5.8, Features: drop(u(0.34, 0.42))},
		{Kind: "rough ground", LengthM: u(60, 75), GdN0: u(4500e-6, 6000e-6), SpeedMS: 6.8},
		{Kind: "jump", LengthM: 50, GdN0: 500e-6, SpeedMS: u(8.2, 8.8), Features: jump(0.45, 0.25)},
		{Kind: "braking bumps", LengthM: 26, GdN0: 900e-6, SpeedMS: 3.4, BrakeMS2: 2.8, Features: []ridesim.Feature{
			{Kind: ridesim.Bumps, AtM: 2, HeightM: 0.04, LengthM: 0.6, Count: 28}}},
		{Kind: "slabs", LengthM: 40, GdN0: 12e-6, SpeedMS: 6, Features: singles(0.1, 0.8, 3, 10)},
		{Kind: "braking", LengthM: 16, GdN0: 250e-6, SpeedMS: 3, BrakeMS2: 3.3},
		{Kind: "stop", LengthM: 50, GdN0: 300e-6, BrakeMS2: 2.2},
	}
	return c
}

// quarry is loose stones on steps, with a compression.
func quarry(rng *rand.Rand) ridesim.Course {
	c := begin()
	u := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	c.Sections = []ridesim.Section{
		{Kind: "start", LengthM: 28, GdN0: 800e-6, SpeedMS: 5.5, AccelMS2: 1.8},
		{Kind: "loose stones", LengthM: u(65, 85), GdN0: u(6500e-6, 8500e-6), SpeedMS: 5.8},
		{Kind: "compression", LengthM: 18, GdN0: 200e-6, SpeedMS: 6.5, LoadG: 0.5},
		{Kind: "slabs", LengthM: 45, GdN0: 10e-6, SpeedMS: 6, Features: singles(0.1, 0.8, 4, 9.5)},
		{Kind: "braking", LengthM: 15, GdN0: 250e-6, SpeedMS: 3.2, BrakeMS2: 3.2},
		{Kind: "steps", LengthM: 44, GdN0: 1200e-6, SpeedMS: 5, Features: rows(0.1, 0.8, 2, 10, 4)},
		{Kind: "jump", LengthM: 48, GdN0: 500e-6, SpeedMS: u(8, 8.6), Features: jump(0.43, 0.22)},
		{Kind: "rocks", LengthM: u(45, 60), GdN0: u(10000e-6, 12500e-6), SpeedMS: 5.4},
		{Kind: "braking", LengthM: 16, GdN0: 250e-6, SpeedMS: 3, BrakeMS2: 3.4},
		{Kind: "drop", LengthM: 28, GdN0: 800e-6, SpeedMS: 5.6, Features: drop(u(0.32, 0.4))},
		{Kind: "slabs", LengthM: 36, GdN0: 10e-6, SpeedMS: 6.2, Features: singles(0.09, 0.75, 3, 9)},
		{Kind: "stop", LengthM: 50, GdN0: 300e-6, BrakeMS2: 2.3},
	}
	return c
}

func jump(height, down float64) []ridesim.Feature {
	return []ridesim.Feature{{Kind: ridesim.Jump, AtM: 20, HeightM: height, LengthM: 4, GapM: 2.6, LandingM: 6, DropM: down}}
}

func drop(height float64) []ridesim.Feature {
	return []ridesim.Feature{{Kind: ridesim.Drop, AtM: 14, HeightM: height, LengthM: 0.7}}
}

// singles are n single bumps, each left time to die away.
func singles(height, length float64, n int, apart float64) []ridesim.Feature {
	return rows(height, length, 1, apart, n)
}

// rows are n rows of count bumps, apart metres from start to start.
func rows(height, length float64, count int, apart float64, n int) []ridesim.Feature {
	out := make([]ridesim.Feature, n)
	for i := range out {
		out[i] = ridesim.Feature{Kind: ridesim.Bumps, AtM: 4 + float64(i)*apart, HeightM: height, LengthM: length, Count: count}
	}
	return out
}
