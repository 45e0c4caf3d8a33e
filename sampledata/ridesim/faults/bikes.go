package faults

import "stanchion/sampledata/ridesim"

// A Bike is a fork under a rider, set soundly.
type Bike struct {
	Name string
	fork ridesim.Fork
	sag  float64 // share of travel
}

// Bikes are those that thresholds may be set on.
func Bikes() []Bike {
	short := ridesim.DefaultFork()
	short.TravelM, short.SprungKg, short.UnsprungKg, short.HeadAngleDeg = 0.140, 31, 3.8, 66
	short.Spring = air(short.Spring, 170e-6, 34e-6)
	short.Damper.Compression = ridesim.Valve{Low: 360, High: 165, KneeMS: 0.35}
	short.Damper.Rebound = ridesim.Valve{Low: 500, High: 275, KneeMS: 0.4}
	short.FrictionN, short.BumpStartM = 15, 0.133
	long := ridesim.DefaultFork()
	long.TravelM, long.SprungKg, long.UnsprungKg, long.HeadAngleDeg = 0.170, 40, 4.4, 63.5
	long.Spring = air(long.Spring, 225e-6, 43e-6)
	long.Damper.Compression = ridesim.Valve{Low: 480, High: 205, KneeMS: 0.45}
	long.Damper.Rebound = ridesim.Valve{Low: 600, High: 340, KneeMS: 0.4}
	long.FrictionN, long.BumpStartM = 22, 0.162
	return []Bike{
		{"160 mm", ridesim.DefaultFork(), 0.235},
		{"140 mm", short, 0.225},
		{"170 mm", long, 0.245},
	}
}

// HeldOutBikes are those that thresholds are not set on.
func HeldOutBikes() []Bike {
	middle := ridesim.DefaultFork()
	middle.TravelM, middle.SprungKg, middle.UnsprungKg, middle.HeadAngleDeg = 0.150, 34, 4, 65.5
	middle.Spring = air(middle.Spring, 188e-6, 37e-6)
	middle.Damper.Compression = ridesim.Valve{Low: 390, High: 180, KneeMS: 0.42}
	middle.Damper.Rebound = ridesim.Valve{Low: 530, High: 290, KneeMS: 0.38}
	middle.FrictionN, middle.BumpStartM = 20, 0.1425
	return []Bike{{"150 mm", middle, 0.23}}
}

// air is a spring with other volumes.
func air(s ridesim.Spring, positive, negative float64) ridesim.Spring {
	a := s.(ridesim.AirSpring)
	a.VolumeM3, a.NegVolumeM3 = positive, negative
	return a
}
