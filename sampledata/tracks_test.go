package sampledata

import (
	"encoding/xml"
	"math"
	"testing"
	"time"

	"stanchion/sampledata/ridesim"
	"stanchion/sampledata/ridesim/demo"
)

type trackPoint struct {
	Lat  float64   `xml:"lat,attr"`
	Lon  float64   `xml:"lon,attr"`
	Time time.Time `xml:"time"`
}

func trackOf(t *testing.T, name string) (segments [][]trackPoint) {
	t.Helper()
	data, err := ReadFile(name + ".gpx")
	if err != nil {
		t.Fatal(err)
	}
	if len(data) > 150_000 {
		t.Errorf("%s.gpx is %d bytes: keep it under 150 kB", name, len(data))
	}
	var f struct {
		Segments []struct {
			Points []trackPoint `xml:"trkpt"`
		} `xml:"trk>trkseg"`
	}
	if err := xml.Unmarshal(data, &f); err != nil {
		t.Fatal(err)
	}
	for _, s := range f.Segments {
		segments = append(segments, s.Points)
	}
	return segments
}

// Each track goes with its log: at the truth's gate times, put on the receiver's clock by the truth's offset, it shows the gate within four times its stated
// error (the wander is one draw a minute), and it covers standing at both ends of the ride.
func TestTracksGoWithTheirRuns(t *testing.T) {
	ground, err := demo.Ground()
	if err != nil {
		t.Fatal(err)
	}
	for name, pieces := range map[string]int{"enduro-run-a": 1, "enduro-run-b": 2} {
		truth := truthOf(t, name)
		segments := trackOf(t, name)
		if len(segments) != pieces || len(truth.Gates) != len(demo.Gates()) {
			t.Fatalf("%s: %d segments and %d gates, want %d and %d", name, len(segments), len(truth.Gates), pieces, len(demo.Gates()))
		}
		start := segments[0][0].Time
		last := segments[pieces-1][len(segments[pieces-1])-1].Time
		if from, to := truth.Receiver.OffsetS, last.Sub(start).Seconds()+truth.Receiver.OffsetS; from > 0 || to < truth.DurationS {
			t.Errorf("%s: the track covers %.1f to %.1f s of the sensor's time, the log is %.1f s long", name, from, to, truth.DurationS)
		}
		for _, g := range truth.Gates {
			want := start.Add(time.Duration((g.TimeS - truth.Receiver.OffsetS) * float64(time.Second)))
			near := nearestPoint(segments, want)
			if late := near.Time.Sub(want).Abs(); late > 100*time.Millisecond {
				t.Errorf("%s, %s: no fix within 0.1 s, the next is %v off", name, g.Name, late)
			}
			at := ground.At(g.StationM, 0)
			north := (near.Lat - at.LatDeg) * 110_900 // m per degree at 31.5° N
			east := (near.Lon - at.LonDeg) * 111_320 * math.Cos(at.LatDeg*math.Pi/180)
			if off := math.Hypot(north, east); off > 4*truth.Receiver.ErrorM {
				t.Errorf("%s, %s: the track is %.1f m off", name, g.Name, off)
			}
		}
		for _, s := range []ridesim.SectionRun{truth.Sections[0], truth.Sections[len(truth.Sections)-1]} {
			if s.Kind != "stand" && s.Kind != "stop" {
				t.Errorf("%s: begins or ends with %s: the clocks need a stop at both ends", name, s.Kind)
			}
		}
	}
}

func nearestPoint(segments [][]trackPoint, at time.Time) (best trackPoint) {
	for _, s := range segments {
		for _, p := range s {
			if p.Time.Sub(at).Abs() < best.Time.Sub(at).Abs() {
				best = p
			}
		}
	}
	return best
}
