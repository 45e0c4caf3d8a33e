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
