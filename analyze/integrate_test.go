package analyze

import (
	"math"
	"slices"
	"strings"
	"testing"

	"stanchion/ingest"

	"pgregory.net/rapid"
)

// spedTrace is a trace with a speed channel alone: one piece of samples for each list of speeds.
func spedTrace(unit string, rate float64, starts []float64, speeds ...[]float64) *ingest.Trace {
	tr := &ingest.Trace{RateHz: rate, Fork: ingest.Fork{TravelMM: 160}, Channels: []ingest.ChannelInfo{{Name: "wheel_speed", Unit: unit}}}
	for i, v := range speeds {
		tr.Segments = append(tr.Segments, ingest.Segment{StartS: starts[i], TravelMM: make([]float64, len(v)), Channels: [][]float64{v}})
	}
	return tr
}

// Closed forms: constant speed gives v·t, an even acceleration a·t²/2 exactly (the trapezoidal rule is exact for lines), a gap its
// duration times the mean of the speeds at its edges.
func TestIntegrateSpeed(t *testing.T) {
	ramp := make([]float64, 1001)
	for i := range ramp {
		ramp[i] = 0.02 * float64(i) // 2 m/s² at 100 Hz
	}
	d := distanceOf(spedTrace("m/s", 100, []float64{0}, ramp))
	for _, i := range []int{0, 1, 500, 1000} {
		at := float64(i) / 100
		if got := d.m[0][i]; math.Abs(got-at*at) > 1e-9 || d.from != DistanceFromSpeed {
			t.Errorf("%g m after %g s, want %g", got, at, at*at)
		}
	}
	flat := slices.Repeat([]float64{36}, 101) // km/h
	fast := slices.Repeat([]float64{72}, 101)
	d = distanceOf(spedTrace("km/h", 100, []float64{0, 3}, flat, fast))
	for _, c := range []struct {
		segment, i int
		want       float64
	}{{0, 100, 10}, {1, 0, 10 + 2*15}, {1, 100, 40 + 20}} {
		if got := d.m[c.segment][c.i]; math.Abs(got-c.want) > 1e-9 {
			t.Errorf("segment %d, sample %d: %g m, want %g", c.segment, c.i, got, c.want)
		}
	}
	if math.Abs(d.gapsS-2) > 1e-9 {
		t.Errorf("gaps of %g s, want 2", d.gapsS)
	}
	nan := math.NaN()
	d = distanceOf(spedTrace("m/s", 1, []float64{0}, []float64{nan, 4, nan, nan, -3, 1e9, 4}))
	if got := d.m[0][6]; math.Abs(got-24) > 1e-9 {
		t.Errorf("broken readings: %g m, want 24", got)
	}
	for name, tr := range map[string]*ingest.Trace{
		"nothing to read": spedTrace("m/s", 1, []float64{0}, []float64{nan, nan}), "no unit": spedTrace("", 1, []float64{0}, []float64{4, 4}), "no channels": {RateHz: 1, Segments: []ingest.Segment{{TravelMM: []float64{1}}}},
	} {
		if d = distanceOf(tr); d.known() || d.values(tr, &segment{}) != nil {
			t.Errorf("%s: distance from %q", name, d.from)
		}
	}
}

// Distance never goes back, whatever the channel holds, and goes on from piece to piece.
func TestIntegratedDistanceRises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		speed := rapid.SliceOfN(rapid.OneOf(rapid.Float64(), rapid.Float64Range(0, 20), rapid.Just(math.NaN())), 0, 50)
		tr := spedTrace("m/s", rapid.Float64Range(1, 1e4).Draw(t, "rate"), []float64{0, rapid.Float64Range(-1, 100).Draw(t, "start")}, speed.Draw(t, "one"), speed.Draw(t, "two"))
		d := distanceOf(tr)
		last := 0.0
		for _, m := range d.m {
			for _, x := range m {
				if !(x >= last) || math.IsInf(x, 0) {
					t.Fatalf("%g m after %g m", x, last)
				}
				last = x
			}
		}
	})
}

// A log with a speed channel alone gets distances, the roughness of every 10 m, and is told how they were come by.
func TestSpeedGivesPlaces(t *testing.T) {
	tr := traceOf(200, sine(200, 20, 60, 20, 3))
	n := len(tr.Segments[0].TravelMM)
	tr.Channels = []ingest.ChannelInfo{{Name: "speed_m_s"}}
	tr.Segments[0].Channels = [][]float64{slices.Repeat([]float64{5}, n)}
	res, signals, err := Run(tr, DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	if signals.DistanceFrom != DistanceFromSpeed || res.Rough.DistanceFrom != DistanceFromSpeed || len(res.Rough.PerTenMetres) < 9 {
		t.Errorf("distance from %q, %d cells of 10 m", signals.DistanceFrom, len(res.Rough.PerTenMetres))
	}
	s := signals.Segments[0]
	for k, m := range s.DistanceM {
		if want := 5 * (float64(k) + 0.5) * res.Options.CellS; math.Abs(m-want) > 0.05 {
			t.Fatalf("cell %d: %g m, want %g", k, m, want)
		}
	}
	if !slices.ContainsFunc(res.Caveats, func(c Caveat) bool { return c.Topic == "distance" && strings.Contains(c.Text, "reads 2 % wrong") }) {
		t.Errorf("caveats: %v", res.Caveats)
	}
}
