package trail

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"stanchion/ingest"
	"stanchion/ingest/csvlog"
)

// columnsTrace is a log of n samples at 100 Hz with the given channels.
func columnsTrace(n int, names []ingest.ChannelInfo, at func(i, channel int) float64) *ingest.Trace {
	seg := ingest.Segment{StartS: 3, TravelMM: make([]float64, n)}
	for c := range names {
		v := make([]float64, n)
		for i := range v {
			v[i] = at(i, c)
		}
		seg.Channels = append(seg.Channels, v)
	}
	return &ingest.Trace{Source: "run.csv", RateHz: 100, Channels: names, Segments: []ingest.Segment{seg}}
}

// A receiver of 5 Hz in a log of 100 Hz gives a fix every 0.2 s, at the sample where it changed, whatever the columns are called and whether
// values are repeated or left out in between.
func TestFromChannels(t *testing.T) {
	type info = []ingest.ChannelInfo
	for _, c := range []struct {
		name    string
		titles  info
		sparse  bool
		perUnit [4]float64 // of the columns in each degree, m/s, m
	}{
		{"repeated", info{{Name: "lat"}, {Name: "lon"}, {Name: "speed", Unit: "m/s"}, {Name: "alt", Unit: "m"}}, false, [4]float64{1, 1, 1, 1}},
		{"left out", info{{Name: "Latitude", Unit: "deg"}, {Name: "Longitude", Unit: "deg"}, {Name: "gpsSpeed", Unit: "km/h"}, {Name: "gpsAltitude"}}, true, [4]float64{1, 1, 3.6, 1}},
		{"whole units", info{{Name: "gps_lat"}, {Name: "gps_lng"}, {Name: "gps_speed_kmh"}, {Name: "elevation", Unit: "ft"}}, false, [4]float64{1e7, 1e7, 3.6, 1 / 0.3048}},
	} {
		t.Run(c.name, func(t *testing.T) {
			// fix k is at sample 20k: 46.5 + 1e-5·k north, 5 m/s, 700 + k m
			value := func(i, channel int) float64 {
				if c.sparse && i%20 != 0 {
					return math.NaN()
				}
				k := float64(i / 20)
				v := [4]float64{46.5 + 1e-5*k, -8.25, 5, 700 + k}[channel] * c.perUnit[channel]
				if c.perUnit[channel] == 1e7 {
					v = math.Round(v)
				}
				return v
			}
			track, ok := FromChannels(columnsTrace(1000, c.titles, value))
			if !ok || !track.OnLogClock || len(track.Fixes) != 50 || track.Rows.Data != 50 {
				t.Fatalf("%v, %d fixes, %+v", ok, len(track.Fixes), track.Rows)
			}
			for k, f := range track.Fixes {
				if math.Abs(f.TimeS-3-0.2*float64(k)) > 1e-9 || math.Abs(f.LatDeg-46.5-1e-5*float64(k)) > 1e-9 || math.Abs(f.LonDeg+8.25) > 1e-9 ||
					math.Abs(f.SpeedMS-5) > 1e-9 || math.Abs(f.EleM-700-float64(k)) > 1e-6 {
					t.Fatalf("fix %d: %+v", k, f)
				}
			}
		})
	}
}

// While the rider stands and the receiver repeats itself, fixes go on; where it was lost while riding they do not.
func TestFromChannelsStandsAndLosses(t *testing.T) {
	titles := []ingest.ChannelInfo{{Name: "lat"}, {Name: "lon"}}
	north := func(moving func(k int) int) *ingest.Trace {
		return columnsTrace(4000, titles, func(i, channel int) float64 {
			return [2]float64{46.5 + 1e-5*float64(moving(i/20)), 8.25}[channel]
		})
	}
	stands, _ := FromChannels(north(func(k int) int { return min(k, 50) + max(0, k-150) })) // still from 10 to 30 s
	for i := 1; i < len(stands.Fixes); i++ {
		if d := stands.Fixes[i].TimeS - stands.Fixes[i-1].TimeS; math.Abs(d-0.2) > 1e-6 {
			t.Fatalf("a step of %g s at %g s", d, stands.Fixes[i].TimeS)
		}
	}
	lost, _ := FromChannels(north(func(k int) int { // frozen from 10 to 30 s, then 100 steps further
		if k > 50 && k < 150 {
			return 50
		}
		return k
	}))
	widest := 0.0
	for i := 1; i < len(lost.Fixes); i++ {
		widest = max(widest, lost.Fixes[i].TimeS-lost.Fixes[i-1].TimeS)
	}
	if math.Abs(widest-20) > 0.3 {
		t.Errorf("the widest step is %g s, want 20", widest)
	}
}

func TestFromChannelsWithoutPositions(t *testing.T) {
	for _, titles := range [][]ingest.ChannelInfo{nil, {{Name: "latency", Unit: "ms"}, {Name: "along", Unit: "m"}}, {{Name: "lat"}, {Name: "temperature"}}, {{Name: "lat", Unit: "mm"}, {Name: "lon", Unit: "mm"}}} {
		if _, ok := FromChannels(columnsTrace(100, titles, func(i, c int) float64 { return float64(i) / 100 })); ok {
			t.Errorf("positions in %v", titles)
		}
	}
	// No fix yet: zeros and nothing else.
	if _, ok := FromChannels(columnsTrace(100, []ingest.ChannelInfo{{Name: "lat"}, {Name: "lon"}}, func(i, c int) float64 { return 0 })); ok {
		t.Error("a position at 0, 0")
	}
}

// A log with positions in its own columns goes through the whole reader: CSV, preparation, track, path. The receiver of 5 Hz repeats its position in the rows
// between, as loggers do.
func TestPositionsFromCSV(t *testing.T) {
	tr := newTour()
	track := tr.track(faults{rateHz: 5, whiteM: 0.4, speedMS: 0.1, seed: 6})
	var csv strings.Builder
	csv.WriteString("time_s,travel_mm,latitude,longitude,gps_speed_kmh\n")
	for i := range len(track.Fixes) * 20 {
		f := track.Fixes[i/20]
		fmt.Fprintf(&csv, "%.2f,%.2f,%.7f,%.7f,%.2f\n", float64(i)/100, 40+10*math.Sin(float64(i)/7), f.LatDeg, f.LonDeg, 3.6*f.SpeedMS)
	}
	rec, err := csvlog.ReadFrom(t.Context(), strings.NewReader(csv.String()), "run.csv", csvlog.Options{})
	if err != nil {
		t.Fatal(err)
	}
	trace, err := ingest.Prepare(rec, ingest.Setup{Fork: ingest.Fork{TravelMM: 160}}, ingest.DefaultPrepareOptions())
	if err != nil {
		t.Fatal(err)
	}
	own, ok := FromChannels(trace)
	if !ok || !own.OnLogClock {
		t.Fatalf("%v, %+v", ok, own.Understood)
	}
	path, err := Smooth(&own, DefaultSmoothOptions())
	if err != nil {
		t.Fatal(err)
	}
	checkPath(t, path)
	way := tr.s[len(tr.s)-1]
	if got := path.AlongM[len(path.AlongM)-1]; !path.HasSpeed || math.Abs(path.RateHz-5) > 0.01 || math.Abs(got/way-1) > 0.005 {
		t.Errorf("speed %v, %g Hz, %.1f of %.1f m, notes %v", path.HasSpeed, path.RateHz, got, way, path.Notes)
	}
	if o := FindOffset(trace, &own, path, OffsetOptions{}); o.Method != MethodSameClock || o.OffsetS.Or(1) != 0 {
		t.Errorf("%+v", o)
	}
}
