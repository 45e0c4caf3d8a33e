package trail

import (
	"encoding/json"
	"math"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"stanchion/sampledata/ridesim"
)

// shortTrail is ridden once for all tests of this file: smooth, rocks, a jump, hard braking. It is 165 m long.
var shortTrail = sync.OnceValue(func() (out struct {
	runs  [2]RunOnTrail
	truth [2]ridesim.Truth
}) {
	c := ridesim.Course{StartHoldS: 2, EndHoldS: 1, EnvelopeM: 0.16, SwayN: 20, Sections: []ridesim.Section{
		{Kind: "smooth", LengthM: 45, GdN0: 700e-6, SpeedMS: 7},
		{Kind: "rocks", LengthM: 30, GdN0: 11000e-6, SpeedMS: 6},
		{Kind: "jump", LengthM: 45, GdN0: 400e-6, SpeedMS: 8, Features: []ridesim.Feature{
			{Kind: ridesim.Jump, AtM: 22, HeightM: 0.6, LengthM: 4, GapM: 2.5, LandingM: 5, DropM: 0.5}}},
		{Kind: "braking", LengthM: 15, GdN0: 300e-6, SpeedMS: 3, BrakeMS2: 3},
		{Kind: "smooth", LengthM: 30, GdN0: 700e-6, SpeedMS: 5},
	}}
	base := ridesim.Params{Seed: 3, Fork: ridesim.DefaultFork(), Course: c}
	for k := range out.runs {
		out.runs[k], out.truth[k] = rode(&testing.B{}, base.Again(uint64(k+1), ridesim.DefaultVariation()), 500, 0.02)
		out.runs[k].Name = string(rune('a' + k))
		out.runs[k].Placed = place(&out.truth[k], uint64(k), 0)
	}
	return out
})

func mustRead(t *testing.T, runs []RunOnTrail, gates []Gate) *Reading {
	t.Helper()
	r, err := Read(runs, gates, DefaultReadingOptions())
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Braking is found where the simulated rider slows down by over 1.5 m/s², with the fork standing deeper.
func TestBrakingAgainstTruth(t *testing.T) {
	s := shortTrail()
	read := mustRead(t, s.runs[:], nil)
	if len(read.Braking) != 1 || read.Braking[0].FoundIn != 2 {
		t.Fatalf("%d braking zones", len(read.Braking))
	}
	for _, b := range read.Braking[0].Runs {
		v := s.truth[b.Run].SpeedMS
		at := func(t float64) float64 { return v[int(t*500)] }
		if from, to := b.StartM.Or(0), b.EndM.Or(0); from < 115 || to > 140 || b.ToMS > 4.5 {
			t.Errorf("run %d brakes from %.0f to %.0f m, down to %.1f m/s", b.Run, from, to, b.ToMS)
		}
		if d := (at(b.StartS) - at(b.EndS)) / (b.EndS - b.StartS); math.Abs(d-b.MeanMS2) > 0.3 || b.MeanMS2 < 1.5 {
			t.Errorf("run %d: deceleration %.2f, truly %.2f m/s²", b.Run, b.MeanMS2, d)
		}
		if b.DivePct.Or(0) < 3 {
			t.Errorf("run %d: a dive of %.1f %%", b.Run, b.DivePct.Or(0))
		}
	}
}

// Both runs find the rocks, the jump with its landing, and the coach's list names them.
func TestReadShortTrail(t *testing.T) {
	s := shortTrail()
	read := mustRead(t, s.runs[:], []Gate{{"start", 5}, {"middle", 75}, {"finish", 150}})
	if len(read.Places) == 0 || read.Places[0].Agreement != AgreeAll || math.Abs(read.Places[0].StartM-45) > 5 || math.Abs(read.Places[0].EndM-75) > 5 {
		t.Errorf("places: %+v", read.Places)
	}
	if len(read.Coach) == 0 || read.Coach[0].Place != 0 || len(read.Coach[0].Riding) == 0 || len(read.Coach[0].Setup) == 0 {
		t.Errorf("coach: %+v", read.Coach)
	}
	if len(read.Jumps) == 0 || read.Jumps[0].FoundIn != 2 || math.Abs(read.Jumps[0].TakeOffM.Median.Or(0)-101) > 2 {
		t.Errorf("jumps: %+v", read.Jumps)
	}
	if len(read.Sections) != 2 || read.Sections[1].Name != "middle – finish" {
		t.Fatalf("sections: %+v", read.Sections)
	}
	for _, s := range mustRead(t, s.runs[:], nil).Sections {
		if f := s.Figure(KeyTime); f.Over.Median.N() != 2 {
			t.Errorf("%s: %s", s.Name, f.Over.Median.Reason())
		}
	}
	// The time of a section is the truth's; roughness is the truth's to 3 % (the filter).
	for k := range s.runs {
		tr := &s.truth[k]
		var from, to int
		for i, m := range tr.DistanceM {
			if m < 75 {
				from = i
			}
			if m < 150 {
				to = i
			}
		}
		sum := 0.0
		for _, v := range tr.VelocityMMS[from:to] {
			sum += v * v
		}
		rms := math.Sqrt(sum / float64(to-from))
		if got := read.Sections[1].Figure(KeyTime).Runs[k].Or(0); math.Abs(got-float64(to-from)/500) > 0.05 {
			t.Errorf("run %d: %.3f s, truly %.3f", k, got, float64(to-from)/500)
		}
		if got := read.Sections[1].Figure(KeyRMS).Runs[k].Or(0); math.Abs(got/rms-1) > 0.03 {
			t.Errorf("run %d: RMS %.0f mm/s, truly %.0f", k, got, rms)
		}
	}
}

// Without positions a run is read in time: its jumps are found, its places are not, and a note says so. A speed under 2 m/s makes no jump.
func TestReadInTimeAlone(t *testing.T) {
	run := shortTrail().runs[0]
	run.Placed = nil
	if read := mustRead(t, []RunOnTrail{run}, nil); read.Runs[0].Basis != BasisSpeed || len(read.Places) == 0 || math.Abs(read.Places[0].StartM-45) > 5 {
		t.Errorf("by integrated speed: %s, places %v", read.Runs[0].Basis, agreedPlaces(read))
	}
	timed := *run.Signals
	timed.Segments = slices.Clone(timed.Segments)
	timed.Segments[0].DistanceM = nil
	run.Signals = &timed
	read := mustRead(t, []RunOnTrail{run}, nil)
	r := &read.Runs[0]
	if r.Basis != BasisNone || len(read.Places) != 0 || len(read.Sections) != 0 || len(read.Notes) == 0 {
		t.Errorf("basis %s, %d places, %d sections, notes %q", r.Basis, len(read.Places), len(read.Sections), read.Notes)
	}
	if len(r.Jumps) == 0 || r.Jumps[0].TakeOffM.OK() || !r.Jumps[0].SpeedMS.OK() || len(r.Braking) == 0 {
		t.Errorf("jumps %+v, braking %+v", r.Jumps, r.Braking)
	}
	slow := *run.Signals
	slow.Segments = slices.Clone(slow.Segments)
	slow.Segments[0].SpeedMS = make([]float64, len(slow.Segments[0].RMSMMS))
	run.Signals = &slow
	if read := mustRead(t, []RunOnTrail{run}, nil); len(read.Runs[0].Jumps) != 0 {
		t.Error("a jump at no speed")
	}
}

// The order of the runs changes nothing but their numbers, and the same runs give the same bytes.
func TestReadIsDeterministic(t *testing.T) {
	s := shortTrail()
	text := func(r *Reading) string {
		b, err := json.Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(string(b), "NaN") {
			t.Error("NaN in the JSON")
		}
		return string(b)
	}
	one := mustRead(t, s.runs[:], nil)
	if text(one) != text(mustRead(t, s.runs[:], nil)) {
		t.Error("two readings of the same runs differ")
	}
	other := mustRead(t, []RunOnTrail{s.runs[1], s.runs[0]}, nil)
	if !reflect.DeepEqual(one.Profile.RMSMMS, other.Profile.RMSMMS) || one.Places[0].StartM != other.Places[0].StartM ||
		one.Speed.K.Or(0) != other.Speed.K.Or(0) {
		t.Error("the order of the runs changes the reading")
	}
	var back Reading
	if err := json.Unmarshal([]byte(text(one)), &back); err != nil || len(back.Places) != len(one.Places) {
		t.Errorf("the JSON does not read back: %v", err)
	}
}

// Positions of any sort, with holes, jumps and values that are no numbers, make no reading panic and no JSON fail.
func TestReadAnyPositions(t *testing.T) {
	s := shortTrail()
	value := rapid.OneOf(rapid.Float64Range(-50, 400), rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), -1e9, 1e300, 0}))
	rapid.Check(t, func(t *rapid.T) {
		runs := []RunOnTrail{s.runs[0], s.runs[1]}
		for k := range runs {
			n := rapid.IntRange(0, 30).Draw(t, "n")
			list := func(name string, n int) []float64 { return rapid.SliceOfN(value, n, n).Draw(t, name) }
			p := &Placed{TimeS: list("time", n), StationM: list("station", n), CrossM: make([]float64, n), SpeedMS: list("speed", n)}
			if rapid.Bool().Draw(t, "off") {
				p.OffLine = [][2]float64{{rapid.Float64Range(0, 40).Draw(t, "from"), rapid.Float64Range(0, 40).Draw(t, "to")}}
			}
			runs[k].Placed = p
		}
		opt := DefaultReadingOptions()
		r, err := Read(runs, []Gate{{"a", rapid.Float64Range(-10, 200).Draw(t, "a")}, {"b", rapid.Float64Range(-10, 200).Draw(t, "b")}}, opt)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := json.Marshal(r); err != nil {
			t.Fatal(err)
		}
	})
}

// What cannot be read together is refused with what is wrong.
func TestReadRefuses(t *testing.T) {
	s := shortTrail()
	other := *s.runs[1].Result
	other.Fork.TravelMM = 140
	bad := DefaultReadingOptions()
	bad.StepM = 0
	for want, f := range map[string]func() error{
		"no run given":  func() error { _, err := Read(nil, nil, DefaultReadingOptions()); return err },
		"has no result": func() error { _, err := Read([]RunOnTrail{{}}, nil, DefaultReadingOptions()); return err },
		"the forks differ": func() error {
			_, err := Read([]RunOnTrail{s.runs[0], {Result: &other}}, nil, DefaultReadingOptions())
			return err
		},
		"option harsh_step_m": func() error { _, err := Read(s.runs[:1], nil, bad); return err },
	} {
		if err := f(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}
