package virtual

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"stanchion/firmware-protocol/wire"
	"stanchion/ingest"
)

func shortTrack(n int) *Track {
	t := &Track{RateHz: 1000, Channels: []wire.Channel{{Kind: wire.KindTravel, Unit: wire.UnitCounts, Scale: 1}}}
	for i := range n {
		t.Packed = append(t.Packed, uint16(i))
	}
	return t
}

// read decodes what a device made.
func read(t *testing.T, frames []frame) (out []wire.Type, samples []uint16, l wire.Losses) {
	t.Helper()
	var d wire.Decoder
	for _, f := range frames {
		got, _ := d.Next(f.bytes)
		if got == nil {
			t.Fatalf("frame %v is not whole", f.ID)
		}
		if got.Session != f.Session || got.Sequence != f.Sequence {
			t.Fatalf("frame %d/%d is called %v", got.Session, got.Sequence, f.ID)
		}
		out = append(out, got.Type)
		if m, ok := got.Message.(*wire.Samples); ok {
			samples = append(samples, m.Values...)
		}
	}
	return out, samples, d.Losses()
}

func command(t *testing.T, m wire.Message) []byte {
	t.Helper()
	b, err := wire.NewEncoder(0).Append(nil, m)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// A device follows the table of states and commands in firmware-protocol/spec.md.
func TestDeviceObeys(t *testing.T) {
	d := NewDevice(shortTrack(1000), Config{Session: 7})
	step := func(what string, m wire.Message, ms uint64, want ...wire.Type) []uint16 {
		t.Helper()
		if m != nil {
			d.Command(command(t, m))
		}
		d.Run(d.NowUS() + ms*1000)
		got, samples, _ := read(t, d.take())
		if !slices.Equal(slices.Compact(got), want) {
			t.Errorf("%s: frames %v, want %v", what, got, want)
		}
		return samples
	}
	step("power-up", nil, 10, wire.TypeHello)
	step("identify while idle", &wire.Identify{}, 10, wire.TypeReply, wire.TypeHello)
	step("stop while idle", &wire.Stop{}, 10, wire.TypeReply)
	step("mark while idle", &wire.Mark{Label: 3}, 10, wire.TypeReply, wire.TypeMarker)
	first := step("start", &wire.Start{}, 100, wire.TypeReply, wire.TypeSamples)
	if len(first) != 100 || first[99] != 99 {
		t.Errorf("%d samples in 100 ms at 1 kHz, want 100 from 0", len(first))
	}
	step("start while sampling", &wire.Start{}, 0, wire.TypeSamples, wire.TypeReply)
	half := step("half the rate", &wire.SetRate{RateMilliHz: 490_000}, 100, wire.TypeReply, wire.TypeHello, wire.TypeSamples)
	if len(half) != 50 {
		t.Errorf("%d samples in 100 ms at half of 1 kHz, want 50", len(half))
	}
	step("rate 0", &wire.SetRate{}, 0, wire.TypeSamples, wire.TypeReply)
	step("stop", &wire.Stop{}, 10, wire.TypeReply, wire.TypeEnd)
}

// The end of the track ends sampling; what the sensor missed shows in the index.
func TestDeviceMissesAndEnds(t *testing.T) {
	tr := shortTrack(100)
	tr.Missed = make([]bool, 100)
	tr.Missed[40], tr.Missed[41] = true, true
	tr.Buttons = []int{50}
	d := NewDevice(tr, Config{})
	d.Command(command(t, &wire.Start{}))
	d.Run(1_000_000)
	types, samples, l := read(t, d.take())
	if len(samples) != 98 || l.SamplesSkipped != 2 || l.SamplesMissing != 2 || l.FramesMissing != 0 {
		t.Errorf("%d samples, %d skipped, %d missing, %d frames missing; want 98, 2, 2, 0", len(samples), l.SamplesSkipped, l.SamplesMissing, l.FramesMissing)
	}
	if !slices.Contains(types, wire.TypeMarker) || !slices.Contains(types, wire.TypeEnd) || !d.Done() {
		t.Errorf("frames %v, want a marker and an end", types)
	}
}

func TestTextDevice(t *testing.T) {
	d := NewDevice(shortTrack(5), Config{Text: true})
	d.Run(3000)
	var text strings.Builder
	for _, f := range d.take() {
		text.Write(f.bytes)
	}
	if want := "0,0\n1000,1\n2000,2\n3000,3\n"; text.String() != want {
		t.Errorf("%q, want %q", text.String(), want)
	}
}

// The faults come as often as asked, and the report knows which frames they hit.
func TestFaults(t *testing.T) {
	const frames, size = 20_000, 50
	f := Faults{Seed: 1, BitErrors: 1e-4, Drop: 0.01, Duplicate: 0.02, Swap: 0.03}
	l := newLine(f)
	var out []byte
	for i := range frames {
		b := make([]byte, size)
		for k := range b {
			b[k] = byte(i >> (8 * (k % 2)))
		}
		out = l.pass(out, frame{ID{1, uint32(i)}, b})
	}
	out = l.flush(out)
	// Each count is binomial: five standard deviations.
	within := func(what string, got, n, p float64) {
		t.Helper()
		if d := math.Abs(got - n*p); d > 5*math.Sqrt(n*p*(1-p)) {
			t.Errorf("%s: %g of %g, want %g", what, got, n, n*p)
		}
	}
	copies := float64(len(out)) / size
	within("bits", float64(l.report.Bits), copies*size*8, f.BitErrors)
	hit := 1 - math.Pow(1-f.BitErrors, size*8)
	within("harmed", float64(len(l.report.Harmed)), frames, f.Drop+(1-f.Drop)*((1-f.Duplicate)*hit+f.Duplicate*hit*hit))
	if l.report.Frames != frames {
		t.Errorf("%d frames, want %d", l.report.Frames, frames)
	}
	// No frame that is not called harmed is missing.
	there := map[int]bool{}
	for at := 0; at < len(out); at += size {
		b := out[at : at+size]
		i := int(b[0]) | int(b[1])<<8
		whole := true
		for k := range b {
			whole = whole && b[k] == byte(i>>(8*(k%2)))
		}
		there[i] = there[i] || whole
	}
	harmed := map[int]bool{}
	for _, id := range l.report.Harmed {
		harmed[int(id.Sequence)] = true
	}
	for i := range frames {
		if there[i] == harmed[i] {
			t.Fatalf("frame %d: came whole: %v, called harmed: %v", i, there[i], harmed[i])
		}
	}
}

// A good line changes nothing, and the same seed does the same again.
func TestFaultsAreSeeded(t *testing.T) {
	run := func(f Faults) string {
		l := newLine(f)
		var out []byte
		for i := range 500 {
			out = l.pass(out, frame{ID{1, uint32(i)}, []byte(strings.Repeat(string(rune('a'+i%26)), 30))})
		}
		return string(l.flush(out))
	}
	good := run(Faults{})
	bad := Faults{Seed: 5, BitErrors: 1e-3, Drop: 0.1, Swap: 0.1}
	if a, b := run(bad), run(bad); a != b || a == good {
		t.Error("the same seed must do the same damage")
	}
	if len(good) != 500*30 || run(Faults{Seed: 9}) != good {
		t.Error("a good line changed something")
	}
}

// A recording with jitter, a hole, a wrap of its counter and a lost reading becomes an even track.
func TestTrackFromRecording(t *testing.T) {
	rec := &ingest.Recording{Source: "log", Unit: ingest.UnitMM, Clock: ingest.Clock{Kind: ingest.ClockCounter, TickS: 1e-6},
		Markers: []ingest.Marker{{Sample: 60}}}
	stamp := uint32(1<<32 - 30_000)
	speed := ingest.Channel{Name: "speed", Unit: "m/s"}
	for i := range 100 {
		if i == 50 {
			stamp += 3000 // three samples lost
		}
		rec.Stamps = append(rec.Stamps, float64(stamp+uint32(i*7%5)))
		rec.Travel = append(rec.Travel, float64(i)*1.25-3)
		speed.Values = append(speed.Values, float64(i%4))
		stamp += 1000
	}
	rec.Travel[20] = math.NaN()
	rec.Extra = []ingest.Channel{speed}
	tr, err := FromRecording(rec)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(tr.RateHz-1000) > 1 || tr.Len() != 103 || !slices.Equal(tr.Buttons, []int{63}) {
		t.Errorf("%g Hz, %d samples, buttons %v; want 1000, 103, [63]", tr.RateHz, tr.Len(), tr.Buttons)
	}
	for i := range tr.Len() {
		if lost := i >= 50 && i < 53; tr.Missed[i] != lost {
			t.Errorf("sample %d missed: %v", i, tr.Missed[i])
		} else if lost {
			continue
		}
		from := i
		if i >= 53 {
			from -= 3
		}
		v, ok := tr.Channels[0].Value(tr.Packed[2*i])
		if want := rec.Travel[from]; ok == math.IsNaN(want) || ok && math.Abs(v-want) > 0.002 {
			t.Errorf("sample %d is %g, %v; want %g", i, v, ok, want)
		}
		if s, ok := tr.Channels[1].Value(tr.Packed[2*i+1]); !ok || s != float64(from%4) {
			t.Errorf("speed %d is %g, want %d exactly", i, s, from%4)
		}
	}
	for name, bad := range map[string]*ingest.Recording{
		"one sample": {Clock: ingest.Clock{Kind: ingest.ClockNone, RateHz: 100}, Travel: []float64{1}},
		"no rate":    {Clock: ingest.Clock{Kind: ingest.ClockNone}, Travel: []float64{1, 2}},
		"no steps":   {Clock: ingest.Clock{Kind: ingest.ClockElapsed, TickS: 1}, Travel: []float64{1, 2}, Stamps: []float64{5, 5}},
	} {
		if _, err := FromRecording(bad); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// Stalls and resets come at their times.
func TestStallAndReset(t *testing.T) {
	s := &player{d: NewDevice(shortTrack(100_000), Config{Session: 4}),
		line: newLine(Faults{StallEvery: time.Second, StallFor: 100 * time.Millisecond, ResetEvery: 5 * time.Second})}
	s.plan()
	var d wire.Decoder
	for range 10_000 / 5 {
		if !s.d.streaming {
			s.d.Command(command(t, &wire.Start{}))
		}
		s.live(5 * time.Millisecond)
		for b := s.collect(); len(b) > 0; {
			_, b = d.Next(b)
		}
	}
	l := d.Losses()
	// 10 s with a reset every 5 s, and a stall of 100 samples after each second; the stall under way at a reset is cut short.
	if l.Sessions < 2 || l.Sessions > 3 || l.SamplesSkipped < 600 || l.SamplesSkipped > 1000 {
		t.Errorf("%d sessions, %d samples skipped", l.Sessions, l.SamplesSkipped)
	}
}
