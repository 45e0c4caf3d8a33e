package gpx_test

import (
	"bytes"
	"math"
	"testing"
	"time"

	"stanchion/ingest/gpx"
	"stanchion/sampledata"
	"stanchion/sampledata/ridesim"
)

// The simulator's writer and this reader are written apart: a track with drop-outs, at a start between seconds, goes through both unchanged.
func TestSimulatedTrackReadsBack(t *testing.T) {
	p := ridesim.SmoothGround(ridesim.DefaultFork(), ridesim.CleanSensor(100), 6, 40)
	trail, err := p.Course.Trail(ridesim.Shape{Start: ridesim.Place{LatDeg: -12.5, LonDeg: 179.9995, EleM: 20}, HeadingDeg: 60})
	if err != nil {
		t.Fatal(err)
	}
	r := ridesim.OpenGround(5)
	r.Dropouts, r.DropoutS, r.Start = 2, 3, time.Date(2023, 12, 31, 23, 59, 50, 250e6, time.UTC)
	run, err := ridesim.RideTrail(trail, p, ridesim.Line{}, r, nil, "a <run> & more")
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := ridesim.WriteGPX(&b, run.Track); err != nil {
		t.Fatal(err)
	}
	got, err := gpx.ReadFrom(&b, "simulated", gpx.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Fixes) != len(run.Track.Fixes) || !got.Start.Equal(run.Track.Start) || got.Rows.Data != len(got.Fixes) {
		t.Fatalf("%d fixes from %v, want %d from %v", len(got.Fixes), got.Start, len(run.Track.Fixes), run.Track.Start)
	}
	for i, f := range got.Fixes {
		want := run.Track.Fixes[i]
		if math.Abs(f.TimeS-want.TimeS) > 1e-9 {
			t.Fatalf("fix %d at %g s, want %g s", i, f.TimeS, want.TimeS)
		}
		f.TimeS = want.TimeS
		if f != want {
			t.Fatalf("fix %d is %+v, want %+v", i, f, want)
		}
	}
}

// The demo tracks read without a caution beyond what they are.
func TestDemoTracksRead(t *testing.T) {
	for name, pieces := range map[string]int{"enduro-run-a.gpx": 1, "enduro-run-b.gpx": 2} {
		data, err := sampledata.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		got, err := gpx.ReadFrom(bytes.NewReader(data), name, gpx.Options{})
		if err != nil {
			t.Fatal(err)
		}
		last := got.Fixes[len(got.Fixes)-1]
		if last.Piece != pieces-1 || last.TimeS < 180 {
			t.Errorf("%s: ends with piece %d at %g s", name, last.Piece, last.TimeS)
		}
		if len(got.Cautions) > 0 {
			t.Errorf("%s: cautions %q", name, got.Cautions)
		}
	}
}
