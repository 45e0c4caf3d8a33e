package faults

import (
	"math"
	"reflect"
	"testing"

	"stanchion/sampledata/ridesim"
)

// Every fault changes what it says, on every bike, and leaves the sag as set where it is not about the spring's force.
func TestFaults(t *testing.T) {
	for _, bike := range append(Bikes(), HeldOutBikes()...) {
		for _, course := range append(Courses(), HeldOutCourses()...) {
			sound := New(Sound, bike, course, 7)
			if err := sound.Ride.Course.Validate(); err != nil {
				t.Fatalf("%s: %v", course.Name, err)
			}
			sag := sound.SagLog.Fork.StaticSagM() / sound.SagLog.Fork.TravelM
			if math.Abs(sag/bike.sag-1) > 0.081 {
				t.Errorf("%s: sag is %.3f, meant %.3f", bike.Name, sag, bike.sag)
			}
			for _, f := range List() {
				c := New(f, bike, course, 7)
				if err := c.Ride.Fork.Validate(); err != nil {
					t.Fatalf("%s: %v", f, err)
				}
				if reflect.DeepEqual(c.Ride.Fork, sound.Ride.Fork) {
					t.Errorf("%s on %s changes nothing", f, bike.Name)
				}
				if !reflect.DeepEqual(c.Ride.Course, sound.Ride.Course) || c.Ride.Fork.SprungKg != sound.Ride.Fork.SprungKg {
					t.Errorf("%s on %s changes the ride as well", f, bike.Name)
				}
				change := c.SagLog.Fork.StaticSagM()/sound.SagLog.Fork.StaticSagM() - 1
				want := map[Fault]float64{SoftSpring: 1, StiffSpring: -1, Negative: -1}[f]
				switch {
				case want == 0 && math.Abs(change) > 1e-6, want > 0 && change < 0.15, want < 0 && change > -0.15:
					t.Errorf("%s on %s changes the sag by %.3f", f, bike.Name, change)
				}
			}
		}
	}
}

// Progression is the force at full travel over that at sag: fewer spacers less, more spacers more.
func TestProgression(t *testing.T) {
	end := func(f Fault) float64 {
		k := New(f, Bikes()[0], Courses()[0], 3).SagLog.Fork
		return k.Spring.(ridesim.AirSpring).ForceN(k.TravelM)
	}
	if few, sound, many := end(FewSpacers), end(Sound), end(ManySpacers); !(few < 0.8*sound && many > 1.3*sound) {
		t.Errorf("force at full travel: %.0f, %.0f, %.0f N", few, sound, many)
	}
}
