package trail

import (
	"fmt"
	"testing"

	"stanchion/analyze"
	"stanchion/ingest"
	"stanchion/sampledata/ridesim"
)

// A trailDay is a harsh course that was ridden several times, as the loggers and receivers recorded it.
type trailDay struct {
	course ridesim.Course
	shape  ridesim.Shape
	rides  []trailRide
}

// A trailRide is one run of it, with the truth of where it was.
type trailRide struct {
	trace  *ingest.Trace
	track  *ingest.Track
	ridden ridesim.Truth
	offset float64 // s: sensor time = receiver time + offset
}

// rideDay simulates a day: each run with a receiver of fresh errors whose clock differs from the logger's and which runs on after the ride.
func rideDay(seed uint64, share, lengthM float64, runs int, r ridesim.Receiver) (trailDay, error) {
	p := ridesim.Params{Seed: seed, Course: harshCourse(seed, share, lengthM), Fork: simForks()[int(seed)%len(simForks())].fork()}
	p.Course.StartHoldS, p.Course.EndHoldS = 8, 8
	p.Sensor = ridesim.Sensor{RateHz: 500, Unit: ingest.UnitMM, NoiseMM: 0.02}
	r.ClockOffsetS, r.TailS = -6.3, 15
	d := trailDay{course: p.Course, shape: ridesim.Shape{Seed: seed}}
	paces := make([]float64, runs)
	for i := range paces {
		paces[i] = 1
	}
	ridden, err := ridesim.TrailRuns{
		Base: p, Shape: d.shape, Seed: 100 * seed, Paces: paces, Variation: ridesim.DefaultVariation(), LineM: 0.3, Receiver: r, OffsetStepS: 1.7,
	}.Ride()
	if err != nil {
		return d, err
	}
	for i := range ridden {
		run := &ridden[i]
		trace, err := ingest.Prepare(run.Log.Recording("run.csv"), run.Log.Setup(p.Fork), ingest.DefaultPrepareOptions())
		if err != nil {
			return d, err
		}
		d.rides = append(d.rides, trailRide{trace, run.Track, *run.Passage.Truth, run.Offset})
	}
	return d, nil
}

// chain brings a day from its logs and tracks to runs on their line, by the chain that a user's files go through: smoothing, the clocks' offset from
// activity, the line, placing. Nothing of the truth goes in but the offset of runs in which it cannot be found, as a user would give it by hand: given is
// how many.
func (d *trailDay) chain() (runs []RunOnTrail, line *Line, given int, err error) {
	var paths []*Path
	for i := range d.rides {
		path, err := Smooth(d.rides[i].track, DefaultSmoothOptions())
		if err != nil {
			return nil, nil, 0, err
		}
		paths = append(paths, path)
	}
	if line, err = NewLine(paths, DefaultLineOptions()); err != nil {
		return nil, nil, 0, err
	}
	for i := range d.rides {
		trace := d.rides[i].trace
		run := RunOnTrail{Name: fmt.Sprint("run ", i+1)}
		if run.Result, run.Signals, err = analyze.Run(trace, simOptions()); err != nil {
			return nil, nil, 0, err
		}
		var ok bool
		if run.OffsetS, ok = FindOffset(trace, d.rides[i].track, paths[i], OffsetOptions{}).OffsetS.Get(); !ok {
			run.OffsetS = d.rides[i].offset
			given++
		}
		if run.Placed, err = line.Place(paths[i], DefaultPlaceOptions()); err != nil {
			return nil, nil, 0, err
		}
		runs = append(runs, run)
	}
	return runs, line, given, nil
}

// harshOnLine is the harsh ground of the course at its stations on the line: where the line comes nearest to the true place on the ground.
func (d *trailDay) harshOnLine(t testing.TB, line *Line) []stretchM {
	t.Helper()
	ground, err := d.course.Trail(d.shape)
	if err != nil {
		t.Fatal(err)
	}
	truth := harshTruth(d.course)
	var specs []GateSpec
	for i, s := range truth {
		for j, m := range [2]float64{s.from, s.to} {
			at := ground.At(m, 0)
			specs = append(specs, GateSpec{Name: fmt.Sprint(i, " ", j), OnGround: true, LatDeg: at.LatDeg, LonDeg: at.LonDeg})
		}
	}
	gates, err := line.PlaceGates(specs, 30)
	if err != nil {
		t.Fatal(err)
	}
	for i := range truth {
		truth[i] = stretchM{gates[2*i].StationM, gates[2*i+1].StationM}
	}
	return truth
}
