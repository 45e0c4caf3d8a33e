package trail

import (
	"math"
	"testing"

	"stanchion/analyze"
	"stanchion/ingest"
)

// straight is a path due north at speed v from t = 0 to n s, in two pieces that part at 10 s.
func straight(v float64, n int) *Path {
	p := &Path{}
	for i := 0; i <= n; i++ {
		piece := 0
		if i > 10 {
			piece = 1
		}
		p.TimeS = append(p.TimeS, float64(i))
		p.AlongM, p.SpeedMS = append(p.AlongM, v*float64(i)), append(p.SpeedMS, v)
		p.Piece = append(p.Piece, piece)
	}
	return p
}

func TestAttach(t *testing.T) {
	trace := &ingest.Trace{RateHz: 10, Channels: []ingest.ChannelInfo{{Name: "temperature", Unit: "°C"}},
		Segments: []ingest.Segment{{StartS: 0, TravelMM: make([]float64, 100), Channels: [][]float64{make([]float64, 100)}},
			{StartS: 12, TravelMM: make([]float64, 50), Channels: [][]float64{make([]float64, 50)}}}}
	out := Attach(trace, straight(4, 30), Offset{OffsetS: analyze.Value(2.5, 1)})
	if len(trace.Channels) != 1 || len(trace.Segments[0].Channels) != 1 {
		t.Fatal("the trace itself was changed")
	}
	if len(out.Channels) != 3 || out.Channels[1] != (ingest.ChannelInfo{Name: DistanceChannel, Unit: "m"}) || out.Channels[2] != (ingest.ChannelInfo{Name: SpeedChannel, Unit: "m/s"}) {
		t.Fatalf("%+v", out.Channels)
	}
	// Sensor time t is receiver time t − 2.5, where the rider is 4·(t − 2.5) m along.
	for s, seg := range out.Segments {
		for i := range seg.TravelMM {
			at := seg.StartS + float64(i)/10 - 2.5
			want := 4 * at
			if at < -1e-9 || at > 10+1e-9 && at < 11-1e-9 {
				want = math.NaN()
			}
			if math.Abs(at-10) < 1e-6 || math.Abs(at-11) < 1e-6 { // at the rim of the hole either will do
				continue
			}
			if got := seg.Channels[1][i]; math.Abs(got-want) > 1e-9 || math.IsNaN(got) != math.IsNaN(want) {
				t.Fatalf("segment %d sample %d: %v m, want %v", s, i, got, want)
			}
			if got := seg.Channels[2][i]; !math.IsNaN(want) && math.Abs(got-4) > 1e-9 {
				t.Fatalf("segment %d sample %d: %v m/s", s, i, got)
			}
		}
	}
	// What the log has itself goes before.
	trace.Channels[0] = ingest.ChannelInfo{Name: "wheel_speed", Unit: "km/h"}
	if out = Attach(trace, straight(4, 30), Offset{OffsetS: analyze.Value(0, 1)}); len(out.Channels) != 2 || out.Channels[1].Name != DistanceChannel {
		t.Errorf("%+v", out.Channels)
	}
	if out = Attach(trace, straight(4, 30), Offset{OffsetS: analyze.Absent("not found")}); out != trace {
		t.Error("an offset that was not found changed the trace")
	}
}

// A trace with a track attached gives distances everywhere that the analysis knows them.
func TestAttachedDistanceReachesTheFigures(t *testing.T) {
	ride := descent()
	if out, _, err := analyze.Run(ride.trace, simOptions()); err != nil || len(out.Rough.PerTenMetres) != 0 || out.Rough.Sections[0].StartM.OK() {
		t.Fatal("distances without a track", err)
	}
	path := &Path{}
	truth := ride.passage.Truth
	for i := 0; i < len(truth.DistanceM); i += 50 {
		path.TimeS = append(path.TimeS, float64(i)/truth.RateHz)
		path.AlongM, path.SpeedMS = append(path.AlongM, truth.DistanceM[i]), append(path.SpeedMS, truth.SpeedMS[i])
		path.Piece = append(path.Piece, 0)
	}
	out, _, err := analyze.Run(Attach(ride.trace, path, Offset{OffsetS: analyze.Value(0, 1)}), simOptions())
	if err != nil {
		t.Fatal(err)
	}
	if n := len(out.Rough.PerTenMetres); math.Abs(float64(n)-ride.passage.Trail.LengthM()/10) > 8 {
		t.Errorf("%d cells of 10 m on %.0f m", n, ride.passage.Trail.LengthM())
	}
	h := out.Rough.Sections[0]
	if got, ok := h.StartM.Get(); !ok || math.Abs(got-ride.passage.StationM(h.StartS)) > 1 {
		t.Errorf("the harshest section starts at %v m, want %.1f", h.StartM, ride.passage.StationM(h.StartS))
	}
}
