package ridesim

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// Params is all that a ride depends on. The same Params give the same Log and Truth.
type Params struct {
	Seed   uint64 // of the trail: random roads and the rider's moving about
	Fork   Fork
	Course Course
	Sensor Sensor
	// RiderSeed is that of the rider's moving about, so that one trail can be ridden again otherwise; 0 = Seed.
	RiderSeed uint64
	StepHz    float64 // integration rate: at least 8 kHz is used, and a multiple of the sensor's rate; 0 = 8 kHz
}

// DefaultParams is the default fork and a sound sensor on a minute of mixed trail.
func DefaultParams() Params {
	return Params{Seed: 1, Fork: DefaultFork(), Course: MixedCourse(1), Sensor: DefaultSensor()}
}

// maxRideS bounds a ride: 2 h.
const maxRideS = 7200

// Ride rides the course and returns what the sensor logged and what really happened.
func Ride(p Params) (Log, Truth, error) {
	truth, err := Simulate(p)
	if err != nil {
		return Log{}, Truth{}, err
	}
	log, err := p.Sensor.Read(&truth)
	return log, truth, err
}

// Simulate rides the course and returns the truth alone.
func Simulate(p Params) (Truth, error) {
	if err := p.Fork.Validate(); err != nil {
		return Truth{}, err
	}
	if err := p.Course.Validate(); err != nil {
		return Truth{}, err
	}
	rate := p.Sensor.RateHz
	if !(rate >= 1 && rate <= 1e5) {
		return Truth{}, fmt.Errorf("sensor: rate is %g Hz: must be 1 to 100000", rate)
	}
	sub := int(math.Ceil(max(8000, p.StepHz)/rate - 1e-9))
	r := newRider(p, 1/(rate*float64(sub)))
	truth := Truth{RateHz: rate, Fork: p.Fork}
	for {
		truth.add(r)
		if r.pace.done {
			break
		}
		if r.pace.t > maxRideS {
			return Truth{}, fmt.Errorf("course: not finished after %d s of riding: shorten it or raise its speeds", maxRideS)
		}
		for range sub {
			r.step()
		}
	}
	truth.finish(&p.Course)
	return truth, nil
}

// rider carries a ride from step to step.
type rider struct {
	system system
	course *Course
	pace   *pace
	road   gridRoad
	h      float64 // step, s
	now    motion
	in     input
	phases [3]float64
}

// swayHz are the frequencies at which the rider moves about, common practice, no source.
var swayHz = [3]float64{0.23, 0.61, 1.13}

func newRider(p Params, h float64) *rider {
	c := p.Course
	r := &rider{system: newSystem(p.Fork), course: &c, pace: newPace(&c), road: c.road(p.Seed), h: h}
	seed := p.RiderSeed
	if seed == 0 {
		seed = p.Seed
	}
	rng := rand.New(rand.NewPCG(seed, 0x72696465))
	for i := range r.phases {
		r.phases[i] = 2 * math.Pi * rng.Float64()
	}
	r.in = r.input(0, 0, 0, 0, 1)
	if c.DropFromM > 0 {
		r.now = r.system.falling(c.DropFromM)
	} else {
		r.now = r.system.atRest(r.in.road, Gravity)
	}
	return r
}

// input is what acts at time t, distance s, speed v, acceleration a and load factor g.
func (r *rider) input(t, s, v, a, g float64) input {
	height, slope := r.road.at(s)
	load := r.course.push(t) + r.system.BrakeShiftKg*max(0, -a)
	if r.course.SwayN > 0 && v > 0 {
		sway := 0.0
		for i, f := range swayHz {
			sway += math.Sin(2*math.Pi*f*t+r.phases[i]) / float64(len(swayHz))
		}
		load += r.course.SwayN * sway * v / (v + 1)
	}
	return input{road: height, roadRate: slope * v, gravity: Gravity * g, load: load}
}

func (r *rider) step() {
	p := r.pace
	t, s, v, a := p.t, p.s, p.v, p.a
	p.step(r.h)
	g := p.loadFactor()
	middle := r.input(t+r.h/2, (s+p.s)/2, (v+p.v)/2, (a+p.a)/2, g)
	end := r.input(p.t, p.s, p.v, p.a, g)
	r.now = r.system.step(r.now, r.h, r.in, middle, end)
	r.in = end
}
