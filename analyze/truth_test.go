package analyze

import (
	"math"
	"os"
	"testing"

	"stanchion/ingest"
	"stanchion/sampledata/ridesim"
	"stanchion/sampledata/ridesim/demo"
)

// simulate rides p and prepares the log as the product does.
func simulate(t *testing.T, p ridesim.Params) (*ingest.Trace, *ridesim.Truth) {
	t.Helper()
	log, truth, err := ridesim.Ride(p)
	if err != nil {
		t.Fatal(err)
	}
	trace, err := ingest.Prepare(log.Recording("simulated"), log.Setup(p.Fork), ingest.DefaultPrepareOptions())
	if err != nil {
		t.Fatal(err)
	}
	return trace, &truth
}

// shortRide is half a minute with a jump, rocks, a bump that bottoms the fork out and a drop, through a 12-bit sensor with noise,
// losses and spikes.
func shortRide() ridesim.Params {
	sensor := ridesim.DefaultSensor()
	sensor.LostShare, sensor.LostRuns, sensor.LostRunS, sensor.Spikes, sensor.SpikeMM = 2e-5, 3, 0.008, 6, 40
	return ridesim.Params{Seed: 20, Fork: ridesim.DefaultFork(), Sensor: sensor, Course: ridesim.Course{
		StartHoldS: 4, EndHoldS: 2, EnvelopeM: 0.16, SwayN: 25,
		Sections: []ridesim.Section{
			{Kind: "smooth flow", LengthM: 20, GdN0: 900e-6, SpeedMS: 8},
			{Kind: "jump", LengthM: 45, GdN0: 500e-6, SpeedMS: 8.2, Features: []ridesim.Feature{
				{Kind: ridesim.Jump, AtM: 20, HeightM: 0.6, LengthM: 4, GapM: 2.9, LandingM: 5, DropM: 0.6}}},
			{Kind: "rocks", LengthM: 60, GdN0: 15000e-6, SpeedMS: 5, Features: []ridesim.Feature{
				{Kind: ridesim.Bumps, AtM: 34, HeightM: 0.27, LengthM: 1.2, Count: 1}}},
			{Kind: "drop", LengthM: 30, GdN0: 900e-6, SpeedMS: 5.5, Features: []ridesim.Feature{
				{Kind: ridesim.Drop, AtM: 15, HeightM: 0.7, LengthM: 0.7}}},
			{Kind: "stop", LengthM: 30, GdN0: 500e-6},
		},
	}}
}

// A short ride and a longer demo ride against what really happened.
func TestTruthOfRides(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates rides")
	}
	rides := map[string]ridesim.Params{"short ride": shortRide()}
	if os.Getenv("CI") == "true" && !testing.Short() { // a few seconds more
		rides["demo run A"], rides["demo run B"] = demo.ParamsA(), demo.ParamsB()
	}
	for name, p := range rides {
		trace, truth := simulate(t, p)
		res, _, err := Run(trace, DefaultOptions())
		if err != nil {
			t.Fatal(err)
		}
		s := truth.Summary
		// The bike stands unloaded by friction at the start, so the rest is at the balance to within the noise.
		near(t, name+": static sag", res.Sag.StaticMM, s.StaticSagMM, 1)
		near(t, name+": deepest travel", res.Travel.MaxMM, s.MaxTravelMM, 1)
		near(t, name+": bottom-outs", res.Travel.BottomOuts, float64(len(s.BottomOuts)), 0)
		if len(s.BottomOuts) == 0 {
			t.Errorf("%s: the ride has no bottom-out, so the check says nothing", name)
		}
		for i, b := range res.Travel.Bottoms[:min(len(res.Travel.Bottoms), len(s.BottomOuts))] {
			want := s.BottomOuts[i]
			// The stop brakes the fork within a few ms, which the low-pass smooths: the entry velocity reads low.
			low := b.EntryMMS/want.EntryMMS < 0.7 || b.EntryMMS/want.EntryMMS > 1.05
			if math.Abs(b.TimeS-want.StartS) > 0.003 || math.Abs(b.PeakMM-want.PeakMM) > 1 || low {
				t.Errorf("%s: bottom-out %+v, want %+v", name, b, want)
			}
		}
		checkSpells(t, name, res.Air.Spells, truth)
		checkSpeeds(t, name, res, truth)
	}
}

// checkSpells compares extended spells with the same spells in true travel (±5 ms; the filter rounds the corners), and their
// ends with the landings: a spell ends when the wheel has touched down and the fork has gone in by 3 % (±20 ms).
func checkSpells(t *testing.T, name string, spells []ExtendedSpell, truth *ridesim.Truth) {
	t.Helper()
	var want []Span
	start := -1
	for i, x := range truth.TravelMM {
		switch extended := x < 0.03*160; {
		case extended && start < 0:
			start = i
		case !extended && start >= 0:
			if float64(i-start)/truth.RateHz >= 0.155 {
				want = append(want, Span{float64(start) / truth.RateHz, float64(i) / truth.RateHz})
			}
			start = -1
		}
	}
	if len(spells) < len(want) || len(spells) > len(want)+2 || len(want) == 0 {
		t.Fatalf("%s: %d extended spells, want about %d (and some)", name, len(spells), len(want))
	}
	for _, w := range want {
		found := false
		for _, s := range spells {
			if math.Abs(s.StartS-w.StartS) < 0.005 && math.Abs(s.EndS-w.EndS) < 0.005 {
				found = true
			}
		}
		if !found {
			t.Errorf("%s: the spell %v is not among %v", name, w, spells)
		}
	}
	landings := 0
	for _, s := range spells {
		for _, f := range truth.Summary.Flights {
			if f.StartS < s.StartS && f.EndS > s.StartS && f.EndS-f.StartS > 0.2 {
				landings++
				if math.Abs(f.EndS-s.EndS) > 0.02 {
					t.Errorf("%s: the spell %v ends at %g s, the landing is at %g s", name, s, s.EndS, f.EndS)
				}
			}
		}
	}
	if landings == 0 {
		t.Errorf("%s: no spell lies in a flight, so the check says nothing", name)
	}
}

// checkSpeeds compares the 95 % speeds with those of true velocity over the same riding time: at the default cutoff
// they may read 2 % off.
func checkSpeeds(t *testing.T, name string, res *Result, truth *ridesim.Truth) {
	t.Helper()
	var compression, rebound []float64
	for _, p := range res.Ride.Riding {
		for i := int(p.StartS * truth.RateHz); i < int(p.EndS*truth.RateHz) && i < len(truth.VelocityMMS); i++ {
			switch v := truth.VelocityMMS[i]; {
			case v >= 5:
				compression = append(compression, v)
			case v <= -5:
				rebound = append(rebound, -v)
			}
		}
	}
	for _, c := range []struct {
		what string
		got  Figure
		true []float64
	}{{"compression", res.Velocity.Compression.Q95MMS, compression}, {"rebound", res.Velocity.Rebound.Q95MMS, rebound}} {
		want := quantileBySorting(c.true, 0.95)
		near(t, name+": 95 % "+c.what+" speed", c.got, want, 0.02*want)
	}
}

// A front end dropped fully extended from 1 m flies for √(2h/g) = 0.4516 s (and then bounces).
func TestTruthOfAir(t *testing.T) {
	p := ridesim.SmoothGround(ridesim.DefaultFork(), ridesim.CleanSensor(1000), 5, 3)
	p.Course.DropFromM = 1
	trace, _ := simulate(t, p)
	res, _, err := Run(trace, DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	if len(res.Air.Spells) == 0 || !res.Air.Spells[0].Jump {
		t.Fatalf("spells %+v, want a jump first", res.Air.Spells)
	}
	near(t, "air time", Value(res.Air.Spells[0].DurationS, 1), math.Sqrt(2*1/ridesim.Gravity), 0.02)
}

// Sag logs of forks with 4 and 90 N of friction: sag, and a friction band that is a lower bound and close to the truth after
// a slow release (0.1 mm), less so after one of 2 s (0.3 mm).
func TestTruthOfSagLog(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates rides")
	}
	for _, friction := range []float64{4, 90} {
		for _, release := range []float64{2, 6} {
			f := ridesim.DefaultFork()
			f.FrictionN = friction
			trace, truth := simulate(t, ridesim.TwoSettles(f, ridesim.DefaultSensor(), release, 5))
			log, err := AnalyzeSag(trace, DefaultOptions())
			if err != nil {
				t.Fatal(err)
			}
			band := truth.Summary.FrictionBandMM
			near(t, "sag", log.SagMM, truth.Summary.StaticSagMM, 1)
			slack := 0.1
			if release < 5 {
				slack = 0.3
			}
			near(t, "friction band", log.FrictionBandMM, band-slack/2, slack/2+0.02)
			if n := len(log.Settles); n != 2 || log.Settles[0].From != FromDeeper || log.Settles[1].From != FromHigher {
				t.Errorf("friction %g N, release %g s: settles %+v, want one from deeper and one from higher", friction, release, log.Settles)
			}
		}
	}
}
