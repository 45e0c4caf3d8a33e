package demo

import "stanchion/sampledata/ridesim"

// trailSeed fixes the ground and the rider's moving about, the same for both runs.
const trailSeed = 20

// Clicks from closed of the rebound adjuster: run A is a sound setting, run B is the same with the adjuster turned in.
const (
	reboundReference = 9
	reboundRunB      = 5
	reboundRatio     = 1.2 // damping per click
)

// trail is an invented enduro descent of about three minutes, ridden from and to a stand.
// pace scales the speed the rider makes for.
func trail(pace float64) ridesim.Course {
	c := ridesim.Course{StartHoldS: 6, EndHoldS: 5, EnvelopeM: 0.16, SwayN: 25}
	c.Sections = []ridesim.Section{
		{Kind: "start", LengthM: 30, GdN0: 700e-6, SpeedMS: 5, AccelMS2: 1.8},
		{Kind: "smooth flow", LengthM: 60, GdN0: 900e-6, SpeedMS: 7},
		{Kind: "rough ground", LengthM: 95, GdN0: 5000e-6, SpeedMS: 6.2},
		{Kind: "berm", LengthM: 16, GdN0: 120e-6, SpeedMS: 6, LoadG: 0.6},
		{Kind: "jump", LengthM: 45, GdN0: 500e-6, SpeedMS: 8.2, Features: []ridesim.Feature{
			{Kind: ridesim.Jump, AtM: 20, HeightM: 0.6, LengthM: 4, GapM: 2.9, LandingM: 5, DropM: 0.6}}},
		{Kind: "rocks", LengthM: 75, GdN0: 11000e-6, SpeedMS: 5.5},
		{Kind: "smooth flow", LengthM: 65, GdN0: 800e-6, SpeedMS: 8},
		{Kind: "braking bumps", LengthM: 28, GdN0: 900e-6, SpeedMS: 3.2, BrakeMS2: 2.4, Features: []ridesim.Feature{
			{Kind: ridesim.Bumps, AtM: 2, HeightM: 0.042, LengthM: 0.62, Count: 26}}},
		{Kind: "corner", LengthM: 14, GdN0: 300e-6, SpeedMS: 4.2, LoadG: 0.3},
		{Kind: "hardpack", LengthM: 62, GdN0: 8e-6, SpeedMS: 6.2, Features: singles(0.1, 0.8, 6, 11)},
		{Kind: "rough ground", LengthM: 95, GdN0: 4500e-6, SpeedMS: 6.5},
		{Kind: "drop", LengthM: 30, GdN0: 900e-6, SpeedMS: 5.5, Features: []ridesim.Feature{
			{Kind: ridesim.Drop, AtM: 15, HeightM: 0.7, LengthM: 0.7}}},
		{Kind: "washboard", LengthM: 32, GdN0: 400e-6, SpeedMS: 7, Features: []ridesim.Feature{
			{Kind: ridesim.Bumps, AtM: 4, HeightM: 0.035, LengthM: 0.52, Count: 50}}},
		{Kind: "smooth flow", LengthM: 65, GdN0: 1000e-6, SpeedMS: 8},
		{Kind: "braking", LengthM: 14, GdN0: 200e-6, SpeedMS: 3.5, BrakeMS2: 3.2},
		{Kind: "rocks", LengthM: 60, GdN0: 12000e-6, SpeedMS: 5, Features: []ridesim.Feature{
			{Kind: ridesim.Bumps, AtM: 34, HeightM: 0.2, LengthM: 1.1, Count: 1}}},
		{Kind: "rough ground", LengthM: 80, GdN0: 4000e-6, SpeedMS: 6.8},
		{Kind: "jump", LengthM: 55, GdN0: 600e-6, SpeedMS: 8.5, Features: []ridesim.Feature{
			{Kind: ridesim.Jump, AtM: 22, HeightM: 0.7, LengthM: 4.5, GapM: 2.4, LandingM: 5.2, DropM: 0.55}}},
		{Kind: "braking bumps", LengthM: 24, GdN0: 900e-6, SpeedMS: 3.5, BrakeMS2: 2.6, Features: []ridesim.Feature{
			{Kind: ridesim.Bumps, AtM: 1, HeightM: 0.038, LengthM: 0.55, Count: 28}}},
		{Kind: "berm", LengthM: 16, GdN0: 120e-6, SpeedMS: 5.2, LoadG: 0.7},
		{Kind: "smooth flow", LengthM: 70, GdN0: 800e-6, SpeedMS: 7},
		{Kind: "stop", LengthM: 60, GdN0: 200e-6, BrakeMS2: 2.2},
	}
	for i := range c.Sections {
		c.Sections[i].SpeedMS *= pace
	}
	return c
}

// singles are n single bumps apart metres from each other, each left time to die away.
func singles(height, length float64, n int, apart float64) []ridesim.Feature {
	out := make([]ridesim.Feature, n)
	for i := range out {
		out[i] = ridesim.Feature{Kind: ridesim.Bumps, AtM: 3 + float64(i)*apart, HeightM: height, LengthM: length, Count: 1}
	}
	return out
}
