package trail

import (
	"bytes"
	"math"
	"testing"

	"stanchion/ingest"
	"stanchion/ingest/csvlog"
	"stanchion/sampledata/ridesim"
)

// A logger that writes its receiver's fixes beside the fork's travel and a wheel's speed: the text, read and prepared, gives the receiver's
// track back, fix by fix, within a sample of when it came. A fix that repeats the one before to the last digit may be placed anew.
func TestLocatedLogGivesItsTrackBack(t *testing.T) {
	p := ridesim.SmoothGround(ridesim.DefaultFork(), ridesim.Sensor{RateHz: 200, Unit: ingest.UnitMM, NoiseMM: 0.02, SpeedHz: 10, SpeedMS: 0.01}, 6, 40)
	p.Course.StartSpeed, p.Course.StartHoldS = 0, 3
	ground, err := p.Course.Trail(ridesim.Shape{Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	r := ridesim.OpenGround(5)
	run, err := ridesim.RideTrail(ground, p, ridesim.Line{}, r, nil, "run")
	if err != nil {
		t.Fatal(err)
	}
	run.Log.Locate(run.Track, r)
	var text bytes.Buffer
	if err := ridesim.LocatedCSV(ingest.UnitMM).Write(&text, &run.Log); err != nil {
		t.Fatal(err)
	}
	rec, err := csvlog.ReadFrom(t.Context(), &text, "run.csv", csvlog.Options{})
	if err != nil {
		t.Fatal(err)
	}
	trace, err := ingest.Prepare(rec, run.Log.Setup(p.Fork), ingest.DefaultPrepareOptions())
	if err != nil {
		t.Fatal(err)
	}
	got, ok := FromChannels(trace)
	if !ok || len(got.Fixes) != len(run.Track.Fixes) {
		t.Fatalf("%d fixes, want %d: %q", len(got.Fixes), len(run.Track.Fixes), got.Understood)
	}
	for i, f := range got.Fixes {
		want := run.Track.Fixes[i]
		if math.Abs(f.TimeS-want.TimeS) > 1.01/200 || f.LatDeg != want.LatDeg || f.LonDeg != want.LonDeg || f.EleM != want.EleM || f.SpeedMS != want.SpeedMS {
			t.Fatalf("fix %d is %+v, want %+v", i, f, want)
		}
	}
}
