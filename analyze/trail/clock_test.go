package trail

import (
	"math"
	"strings"
	"sync"
	"testing"
	"time"

	"stanchion/ingest"
	"stanchion/sampledata/ridesim"
)

// A ridden trail of the simulator: the log as a trace, and where the rider truly was.
type simulatedRide struct {
	trace   *ingest.Trace
	passage ridesim.Passage
}

func simulate(p ridesim.Params) simulatedRide {
	p.Sensor = ridesim.Sensor{RateHz: 500, Unit: ingest.UnitMM, NoiseMM: 0.02}
	trail, err := p.Course.Trail(ridesim.Shape{Seed: 3})
	if err != nil {
		panic(err)
	}
	log, truth, err := ridesim.Ride(p)
	if err != nil {
		panic(err)
	}
	return simulatedRide{
		&ingest.Trace{Source: "log", RateHz: 500, Fork: ingest.Fork{TravelMM: 160}, Segments: []ingest.Segment{{TravelMM: log.Reading}}},
		ridesim.Passage{Trail: trail, Truth: &truth},
	}
}

// hillside is a minute and a half of mixed trail with braking, from a stand to a stand.
func hillside() ridesim.Course {
	c := ridesim.Course{StartHoldS: 6, EndHoldS: 5, EnvelopeM: 0.16, SwayN: 25}
	for range 2 {
		c.Sections = append(c.Sections,
			ridesim.Section{Kind: "flow", LengthM: 50, GdN0: 900e-6, SpeedMS: 7},
			ridesim.Section{Kind: "rough", LengthM: 60, GdN0: 5000e-6, SpeedMS: 6.2},
			ridesim.Section{Kind: "braking", LengthM: 20, GdN0: 900e-6, SpeedMS: 3.2, BrakeMS2: 2.4},
			ridesim.Section{Kind: "corner", LengthM: 14, GdN0: 300e-6, SpeedMS: 4.2, LoadG: 0.3},
			ridesim.Section{Kind: "flow", LengthM: 50, GdN0: 800e-6, SpeedMS: 8},
			ridesim.Section{Kind: "rocks", LengthM: 40, GdN0: 11000e-6, SpeedMS: 5},
		)
	}
	c.Sections = append(c.Sections, ridesim.Section{Kind: "stop", LengthM: 60, GdN0: 200e-6, BrakeMS2: 2.2})
	return c
}

// Two rides of about 90 s on different trails, each from a stand to a stand.
func descent() simulatedRide { return once().descent }
func other() simulatedRide   { return once().other }

type rides struct{ descent, other simulatedRide }

var once = sync.OnceValue(func() rides {
	var r rides
	var wg sync.WaitGroup
	wg.Go(func() {
		r.descent = simulate(ridesim.Params{Seed: 20, Fork: ridesim.DefaultFork(), Course: hillside()})
	})
	wg.Go(func() {
		r.other = simulate(ridesim.Params{Seed: 7, Fork: ridesim.DefaultFork(), Course: ridesim.MixedCourse(2)})
	})
	wg.Wait()
	return r
})

// receive is what a receiver wrote of the ride, and the path.
func (s simulatedRide) receive(t *testing.T, r ridesim.Receiver) (*ingest.Track, *Path) {
	t.Helper()
	track, err := r.Track(s.passage, "run.gpx")
	if err != nil {
		t.Fatal(err)
	}
	path, err := Smooth(track, DefaultSmoothOptions())
	if err != nil {
		t.Fatal(err)
	}
	return track, path
}

// With two stops and the receiver's speed, the offset is within 0.1 s of the truth on a sound fork; without speed it is less well known, and says so:
// testdata/clock.md.
func TestOffsetFromActivity(t *testing.T) {
	for name, ride := range map[string]simulatedRide{"descent": descent(), "other": other()} {
		for _, c := range []struct {
			hz        float64
			noSpeed   bool
			most, rms float64
		}{{5, false, 0.1, 0.05}, {1, false, 0.12, 0.08}, {5, true, 0.4, 0.25}, {1, true, 0.5, 0.3}} {
			const runs = 4
			sum := 0.0
			for seed := range uint64(runs) {
				r := ridesim.OpenGround(c.hz)
				r.Seed, r.NoSpeed, r.TailS, r.ClockOffsetS = seed, c.noSpeed, 20, -31.37+11.11*float64(seed)
				track, path := ride.receive(t, r)
				o := FindOffset(ride.trace, track, path, OffsetOptions{})
				got, ok := o.OffsetS.Get()
				sigma, _ := o.SigmaS.Get()
				err := got - r.OffsetS()
				sum += err * err / runs
				t.Logf("%s %g Hz, speed %v: error %+.3f s, sigma %.3f s, confidence %.2f", name, c.hz, !c.noSpeed, err, sigma, o.Confidence)
				switch {
				case !ok:
					t.Errorf("%s %g Hz: not found: %s", name, c.hz, o.OffsetS.Reason())
				case math.Abs(err) > c.most || math.Abs(err) > 3*sigma:
					t.Errorf("%s %g Hz: %.3f s off, sigma %.3f s", name, c.hz, err, sigma)
				case o.Method != MethodActivity || o.Confidence < 0.2:
					t.Errorf("%s %g Hz: %+v", name, c.hz, o)
				}
			}
			if rms := math.Sqrt(sum); rms > c.rms {
				t.Errorf("%s %g Hz: %.3f s RMS", name, c.hz, rms)
			}
		}
	}
}

// The track of another ride is not taken for this one's.
func TestOffsetOfAnotherRide(t *testing.T) {
	for _, c := range []struct{ log, ridden simulatedRide }{{descent(), other()}, {other(), descent()}} {
		for _, hz := range []float64{5, 1} {
			for seed := range uint64(4) {
				r := ridesim.OpenGround(hz)
				r.Seed, r.TailS, r.ClockOffsetS = seed, 60, -60
				track, path := c.ridden.receive(t, r)
				track.Start = time.Time{}
				o := FindOffset(c.log.trace, track, path, OffsetOptions{})
				if o.OffsetS.OK() || !strings.Contains(o.OffsetS.Reason(), "track") {
					t.Errorf("found %v, confidence %.2f, %v", o.OffsetS, o.Confidence, o.Notes)
				}
				t.Log(o.OffsetS.Reason())
			}
		}
	}
}

// Stamps are checked against the activity; where the two share no time, it is another ride, unless a time zone or an unset clock explains it.
func TestOffsetFromStamps(t *testing.T) {
	ride := descent()
	r := ridesim.OpenGround(5)
	r.TailS, r.ClockOffsetS = 20, -30
	track, path := ride.receive(t, r)
	truth := track.Start.Add(30 * time.Second) // of the log's first sample
	still := &ingest.Trace{RateHz: 500, Segments: []ingest.Segment{{TravelMM: make([]float64, 100_000)}}}
	for _, c := range []struct {
		name   string
		trace  *ingest.Trace
		start  time.Time
		method string
		want   float64
		within float64
		note   string
	}{
		{"good stamps", ride.trace, truth.Add(800 * time.Millisecond), MethodActivity, -30, 0.1, "agree with the fork's activity to 0."},
		{"a clock 12 s off", ride.trace, truth.Add(12 * time.Second), MethodActivity, -30, 0.1, "disagree by"},
		{"another time zone", ride.trace, truth.Add(2 * time.Hour), MethodActivity, -30, 0.1, "2 h apart"},
		{"a clock that was not set", ride.trace, time.Date(2000, 1, 1, 0, 0, 7, 0, time.UTC), MethodActivity, -30, 0.1, "was not set"},
		{"nothing to confirm it with", still, truth, MethodStamps, -30, 1e-6, "could not confirm"},
		{"another day", other().trace, truth.Add(-26 * time.Hour), MethodStamps, math.NaN(), 0, "share no time"},
		{"an earlier run of the day", other().trace, truth.Add(20 * time.Minute), MethodStamps, math.NaN(), 0, "share no time"},
	} {
		t.Run(c.name, func(t *testing.T) {
			trace := *c.trace
			trace.Start = c.start
			o := FindOffset(&trace, track, path, OffsetOptions{})
			got, ok := o.OffsetS.Get()
			if o.Method != c.method || ok != !math.IsNaN(c.want) || ok && math.Abs(got-c.want) > c.within {
				t.Errorf("%+v, want %v", o, c.want)
			}
			if all := strings.Join(o.Notes, "\n"); !strings.Contains(all, c.note) {
				t.Errorf("notes %q, want %q", all, c.note)
			}
			if !ok && !strings.Contains(o.OffsetS.Reason(), "another ride") {
				t.Errorf("reason %q", o.OffsetS.Reason())
			}
		})
	}
}

func TestOffsetGivenAndMarkers(t *testing.T) {
	given := 3.25
	track := &ingest.Track{}
	o := FindOffset(&ingest.Trace{}, track, nil, OffsetOptions{GivenS: &given, Markers: [][2]float64{{1, 2}}})
	if o.Method != MethodGiven || o.OffsetS.Or(0) != given || o.Confidence != 1 {
		t.Errorf("%+v", o)
	}
	o = FindOffset(&ingest.Trace{}, track, nil, OffsetOptions{Markers: [][2]float64{{10, 4}, {20.2, 14}, {31, 25.2}}})
	if o.Method != MethodMarkers || math.Abs(o.OffsetS.Or(0)-6) > 1e-12 || math.Abs(o.SigmaS.Or(0)-0.3/math.Sqrt(3)) > 1e-12 || len(o.Notes) > 0 {
		t.Errorf("%+v", o)
	}
	o = FindOffset(&ingest.Trace{}, track, nil, OffsetOptions{Markers: [][2]float64{{10, 4}, {90, 14}}})
	if o.Confidence > 0.5 || len(o.Notes) == 0 {
		t.Errorf("markers that do not fit each other: %+v", o)
	}
	track.OnLogClock = true
	if o = FindOffset(&ingest.Trace{}, track, nil, OffsetOptions{}); o.Method != MethodSameClock || o.OffsetS.Or(1) != 0 {
		t.Errorf("%+v", o)
	}
	// Nothing to compare: a reason, no panic.
	if o = FindOffset(&ingest.Trace{}, &ingest.Track{}, nil, OffsetOptions{}); o.OffsetS.OK() || o.OffsetS.Reason() == "" {
		t.Errorf("%+v", o)
	}
}
