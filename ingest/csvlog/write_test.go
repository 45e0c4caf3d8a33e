package csvlog

import (
	"bytes"
	"context"
	"errors"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"stanchion/ingest"
)

// What Write writes, Read reads back: every number bit for bit, names, units and markers.
func TestWriteReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := drawRecording(t)
		var text bytes.Buffer
		if err := Write(&text, want); err != nil {
			t.Fatal(err)
		}
		o := Options{MaxBadShare: 1} // without stamps, rows without a reading stay, and count as bad
		if want.Clock.Kind == ingest.ClockNone {
			o.RateHz = want.Clock.RateHz
		}
		got, err := ReadFrom(context.Background(), bytes.NewReader(text.Bytes()), "log.csv", o)
		if err != nil {
			t.Fatalf("%v\n%s", err, text.String())
		}
		if !slices.Equal(got.Stamps, want.Stamps) || got.Unit != want.Unit || want.Stamps != nil && got.Clock.TickS != want.Clock.TickS {
			t.Fatalf("stamps or units differ: %s, tick %g", got.Unit, got.Clock.TickS)
		}
		sameValues(t, "travel", got.Travel, want.Travel)
		if len(got.Extra) != len(want.Extra) {
			t.Fatalf("%d extra channels, want %d\n%s", len(got.Extra), len(want.Extra), text.String())
		}
		for i, c := range want.Extra {
			if g := got.Extra[i]; g.Name != c.Name || g.Unit != c.Unit {
				t.Fatalf("channel %q [%s], want %q [%s]", g.Name, g.Unit, c.Name, c.Unit)
			}
			sameValues(t, c.Name, got.Extra[i].Values, c.Values)
		}
		if !slices.Equal(got.Markers, want.Markers) {
			t.Fatalf("markers %v, want %v", got.Markers, want.Markers)
		}
	})
}

func sameValues(t *rapid.T, what string, got, want []float64) {
	if !slices.EqualFunc(got, want, func(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) }) {
		t.Fatalf("%s: %v, want %v", what, got, want)
	}
}

// drawRecording draws a recording such as a reader delivers: rising stamps, a travel reading in the first row, values of any size.
func drawRecording(t *rapid.T) *ingest.Recording {
	n := rapid.IntRange(20, 60).Draw(t, "n")
	r := &ingest.Recording{Unit: rapid.SampledFrom([]ingest.Unit{ingest.UnitCounts, ingest.UnitMM, ingest.UnitVolts, ingest.UnitPercent}).Draw(t, "unit")}
	r.Clock = ingest.Clock{Kind: ingest.ClockElapsed, TickS: rapid.SampledFrom([]float64{1, 1e-3, 1e-6, 1e-9}).Draw(t, "tick")}
	if rapid.Bool().Draw(t, "unstamped") {
		r.Clock = ingest.Clock{Kind: ingest.ClockNone, RateHz: 500}
	}
	value := rapid.OneOf(rapid.Float64Range(-1e6, 1e6), rapid.Float64Range(-1e-6, 1e-6), rapid.Just(math.NaN()))
	stamp := rapid.Float64Range(0, 1e4).Draw(t, "start") / 1e-3
	for i := range n {
		if r.Clock.Kind != ingest.ClockNone {
			stamp += rapid.Float64Range(0.9, 1.1).Draw(t, "step") * 1e-3 / r.Clock.TickS
			r.Stamps = append(r.Stamps, stamp)
		}
		v := value.Draw(t, "travel")
		if i < 3 || i == n-1 || r.Stamps != nil && math.IsNaN(v) {
			v = float64(i)
		}
		r.Travel = append(r.Travel, v)
	}
	for k := range rapid.IntRange(0, 3).Draw(t, "extra") {
		c := ingest.Channel{Name: []string{"wheel speed", "a, \"b\"", "front"}[k], Unit: []string{"m/s", "°C", ""}[k]}
		for range n {
			c.Values = append(c.Values, value.Draw(t, "value"))
		}
		c.Values[1] = 1.5
		r.Extra = append(r.Extra, c)
	}
	for i := 3; i < n; i += 7 {
		if rapid.Bool().Draw(t, "mark") {
			r.Markers = append(r.Markers, ingest.Marker{Sample: i, Label: rapid.SampledFrom([]string{"gate", "run, 2", `say "go"`}).Draw(t, "label")})
		}
	}
	return r
}

// A sample without a reading is left out, and its marker moves on.
func TestWriteLeavesOut(t *testing.T) {
	r := &ingest.Recording{Clock: ingest.Clock{Kind: ingest.ClockElapsed, TickS: 1e-3}, Unit: ingest.UnitMM,
		Stamps: []float64{1, 2, 3, 4}, Travel: []float64{5, math.NaN(), math.NaN(), 8},
		Markers: []ingest.Marker{{Sample: 1, Label: "a"}, {Sample: 3, Label: "b"}}}
	var text bytes.Buffer
	if err := Write(&text, r); err != nil {
		t.Fatal(err)
	}
	if want := "time [ms],travel [mm],marker\n1,5,\n4,8,a + b\n"; text.String() != want {
		t.Errorf("%q, want %q", text.String(), want)
	}
}

type fullWriter struct{ room int }

var errFull = errors.New("no room")

func (w *fullWriter) Write(p []byte) (int, error) {
	if len(p) > w.room {
		return 0, errFull
	}
	w.room -= len(p)
	return len(p), nil
}

func TestWriteFails(t *testing.T) {
	r := &ingest.Recording{Clock: ingest.Clock{Kind: ingest.ClockNone, RateHz: 1}, Travel: make([]float64, 100_000)}
	for _, room := range []int{0, 70_000} {
		if err := Write(&fullWriter{room}, r); !errors.Is(err, errFull) {
			t.Errorf("room for %d bytes: error %v, want that there is no room", room, err)
		}
	}
}
