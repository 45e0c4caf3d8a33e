package ridesim_test

import (
	"fmt"

	"stanchion/sampledata/ridesim"
)

// Ride the same rough ground with a free and with a sticky fork.
func ExampleRide() {
	gd, err := ridesim.ClassMean('E')
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, friction := range []float64{4, 90} {
		fork := ridesim.DefaultFork()
		fork.FrictionN = friction
		log, truth, err := ridesim.Ride(ridesim.ConstantClass(fork, ridesim.DefaultSensor(), gd, 6, 10, 1))
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%2.0f N: %d samples, static sag %.1f mm, friction band %.1f mm\n",
			friction, len(log.Reading), truth.Summary.StaticSagMM, truth.Summary.FrictionBandMM)
	}
	// Output:
	//  4 N: 10001 samples, static sag 30.8 mm, friction band 1.1 mm
	// 90 N: 10001 samples, static sag 30.8 mm, friction band 25.4 mm
}

// Ride one trail three times, each with a receiver's errors, and know when each run truly passed the gates.
func ExampleTrailRuns() {
	course := ridesim.Course{StartHoldS: 2, EndHoldS: 2, EnvelopeM: 0.16, Sections: []ridesim.Section{
		{Kind: "flow", LengthM: 60, GdN0: 500e-6, SpeedMS: 6}, {Kind: "stop", LengthM: 40},
	}}
	runs, err := ridesim.TrailRuns{
		Base:  ridesim.Params{Seed: 1, Fork: ridesim.DefaultFork(), Course: course, Sensor: ridesim.CleanSensor(200)},
		Paces: []float64{0.8, 1, 1.2}, LineM: 0.3,
		Receiver: ridesim.OpenGround(5), OffsetStepS: -2,
		Gates: []ridesim.Gate{{Name: "start", StationM: 10}, {Name: "finish", StationM: 60}},
	}.Ride()
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, r := range runs {
		g := r.Passage.Truth.Summary.Gates
		fmt.Printf("%.2f s, %d fixes, sensor time = receiver time %+.0f s\n", g[1].TimeS-g[0].TimeS, len(r.Track.Fixes), r.Offset)
	}
	// Output:
	// 10.42 s, 107 fixes, sensor time = receiver time +0 s
	// 8.36 s, 109 fixes, sensor time = receiver time -2 s
	// 7.09 s, 116 fixes, sensor time = receiver time -4 s
}
