package wirelog

import (
	"bytes"
	"context"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"stanchion/firmware-protocol/wire"
	"stanchion/ingest"
	"stanchion/ingest/csvlog"
)

// A logMaker puts a log together, frame by frame.
type logMaker struct {
	t       testing.TB
	b       []byte
	dev     *wire.Encoder
	host    *wire.Encoder
	index   uint32
	stampUS uint64
	value   uint16
}

func newLog(t testing.TB) *logMaker { return &logMaker{t: t, host: wire.NewEncoder(0)} }

var testChannels = []wire.Channel{
	{Kind: wire.KindTravel, Unit: wire.UnitCounts, ADCBits: 12, Scale: 1, Name: "fork"},
	{Kind: wire.KindSpeed, Unit: wire.UnitMetrePerSecond, Scale: 0.25, Sparse: true},
	{Kind: wire.KindMarkerInput, Scale: 1, Name: "gate"},
}

// session starts a device anew.
func (l *logMaker) session(id uint32) {
	l.dev = wire.NewEncoder(id)
	l.index, l.stampUS = 0, 1000
	l.send(&wire.Hello{RateMilliHz: 1_000_000, Device: "test", Firmware: "1.0", Channels: testChannels})
}

func (l *logMaker) send(m wire.Message) {
	enc := l.host
	if m.Type().FromDevice() {
		enc = l.dev
	}
	b, err := enc.Append(l.b, m)
	if err != nil {
		l.t.Fatal(err)
	}
	l.b = b
}

// samples sends frames of 10 samples at 1 kHz; travel counts up through the whole log.
func (l *logMaker) samples(frames int) {
	for range frames {
		m := &wire.Samples{Index: l.index, StampUS: l.stampUS, SpanUS: 9000, Channels: 3}
		for range 10 {
			m.Values = append(m.Values, l.value, 8, 0)
			l.value++
		}
		l.send(m)
		l.index += 10
		l.stampUS += 10_000
	}
}

func (l *logMaker) read() *ingest.Recording {
	l.t.Helper()
	rec, err := readBytes(l.b)
	if err != nil {
		l.t.Fatal(err)
	}
	return rec
}

func readBytes(b []byte) (*ingest.Recording, error) {
	return read(context.Background(), "log", Options{}, func() (io.ReadCloser, error) {
		return io.NopCloser(bytes.NewReader(b)), nil
	})
}

func wantText(t *testing.T, lines []string, want string) {
	t.Helper()
	if !strings.Contains(strings.Join(lines, "\n"), want) {
		t.Errorf("%q is not said in %q", want, lines)
	}
}

func TestWholeLog(t *testing.T) {
	l := newLog(t)
	l.send(&wire.HostNote{Kind: wire.NoteTool, Text: "test"})
	l.session(4)
	l.samples(20)
	l.send(&wire.HostTime{UnixUS: 1_700_000_000_000_000})
	l.send(&wire.Marker{StampUS: 51_500, Label: wire.LabelButton})
	l.samples(20)
	l.send(&wire.HostNote{Kind: wire.NoteComment, Text: CleanEnd})
	rec := l.read()
	if len(rec.Cautions) != 0 {
		t.Errorf("cautions %q, want none", rec.Cautions)
	}
	for i, v := range rec.Travel {
		if v != float64(i) || rec.Stamps[i] != float64(1000+1000*i) {
			t.Fatalf("sample %d is %g at %g µs, want %d at %d", i, v, rec.Stamps[i], i, 1000+1000*i)
		}
	}
	if len(rec.Travel) != 400 || rec.Unit != ingest.UnitCounts || rec.ADCBits != 12 {
		t.Errorf("%d samples in %s of %d bits, want 400 in counts of 12 bits", len(rec.Travel), rec.Unit, rec.ADCBits)
	}
	if want := []ingest.Marker{{Sample: 51, Label: "button"}}; !slices.Equal(rec.Markers, want) {
		t.Errorf("markers %v, want %v", rec.Markers, want)
	}
	if len(rec.Extra) != 1 || rec.Extra[0].Name != "speed" || rec.Extra[0].Unit != "m/s" || rec.Extra[0].Values[7] != 2 {
		t.Errorf("extra channels %+v, want speed of 2 m/s", rec.Extra)
	}
	// The last sample of the first 200, at 200 ms of the device, was received at that wall time.
	if want := time.UnixMicro(1_700_000_000_000_000 - 199_000).UTC(); !rec.Clock.Start.Equal(want) {
		t.Errorf("the log starts at %v, want %v", rec.Clock.Start, want)
	}
}

// Lost frames become holes in the stamps; late ones are put in their place.
func TestLostAndLateFrames(t *testing.T) {
	l := newLog(t)
	l.session(4)
	l.samples(10)
	keep := len(l.b)
	l.samples(3)
	l.b = l.b[:keep] // three frames lost
	l.samples(2)
	from := len(l.b)
	l.samples(1)
	late := slices.Clone(l.b[from:])
	l.b = l.b[:from]
	l.samples(4)
	l.b = append(l.b, late...)
	l.samples(1)
	rec := l.read()
	if len(rec.Travel) != 180 {
		t.Fatalf("%d samples, want 180", len(rec.Travel))
	}
	for i, v := range rec.Travel {
		want := float64(i)
		if i >= 100 {
			want += 30
		}
		if v != want || rec.Stamps[i] != 1000+1000*want {
			t.Fatalf("sample %d is %g at %g, want %g at %g", i, v, rec.Stamps[i], want, 1000+1000*want)
		}
	}
	wantText(t, rec.Cautions, "lost on the way: 3 of 22 frames, 30 samples")
}

// A reset starts the clock anew: the wall times tell where the new section belongs.
func TestReset(t *testing.T) {
	l := newLog(t)
	l.session(4)
	l.samples(10) // to 100 ms
	l.send(&wire.HostTime{UnixUS: 1_000_000_000 + 100_000})
	torn := len(l.b) + 20
	l.samples(1)
	l.b = l.b[:torn]
	l.session(5)
	l.samples(10)
	l.send(&wire.HostTime{UnixUS: 1_000_000_000 + 5_100_000}) // 5 s later
	rec := l.read()
	if len(rec.Stamps) != 200 {
		t.Fatalf("%d samples, want 200", len(rec.Stamps))
	}
	if got := rec.Stamps[100] - rec.Stamps[99]; got != 4_901_000 {
		t.Errorf("the break is %g µs, want 4901000", got)
	}
	wantText(t, rec.Cautions, "began again (1 ×)")

	// Without wall times the break is a guess, and is called one.
	l = newLog(t)
	l.session(4)
	l.samples(10)
	l.session(5)
	l.samples(10)
	rec = l.read()
	if got := rec.Stamps[100] - rec.Stamps[99]; got != guessedBreakUS {
		t.Errorf("the break is %g µs, want %d", got, guessedBreakUS)
	}
	wantText(t, rec.Cautions, "does not tell how long the break was")
	tr, err := ingest.Prepare(rec, ingest.Setup{Fork: ingest.Fork{TravelMM: 160}, Sensor: ingest.Sensor{
		Points: []ingest.CalibrationPoint{{Reading: 0, TravelMM: 0}, {Reading: 200, TravelMM: 160}}}},
		func() ingest.PrepareOptions { o := ingest.DefaultPrepareOptions(); o.MinSegmentS = 0.05; return o }())
	if err != nil {
		t.Fatal(err)
	}
	if len(tr.Segments) != 2 {
		t.Errorf("%d segments, want the log split at the reset", len(tr.Segments))
	}
}

// A mark of the host counts only where the device did not answer it.
func TestHostMarks(t *testing.T) {
	l := newLog(t)
	l.session(4)
	l.samples(10)
	l.send(&wire.Mark{Label: wire.LabelGate})
	l.samples(10)
	l.send(&wire.Marker{StampUS: 105_000, Label: wire.LabelGate})
	l.samples(200)
	l.send(&wire.Mark{Label: wire.LabelGate})
	l.samples(10)
	rec := l.read()
	want := []ingest.Marker{{Sample: 104, Label: "gate"}, {Sample: 2199, Label: "gate"}}
	if !slices.Equal(rec.Markers, want) {
		t.Errorf("markers %v, want %v", rec.Markers, want)
	}
}

// The host's note of a mark may stand behind the answer to it. Each answer is that of one mark only.
func TestHostMarkBehindItsAnswer(t *testing.T) {
	l := newLog(t)
	l.session(4)
	l.samples(10)
	l.send(&wire.Marker{StampUS: 105_000, Label: wire.LabelNone})
	l.send(&wire.Mark{Label: wire.LabelNone})
	l.samples(20)
	l.send(&wire.Mark{Label: wire.LabelNone}) // 0.2 s later; the next answer stands after it
	l.samples(10)
	l.send(&wire.Marker{StampUS: 310_000, Label: wire.LabelNone})
	l.samples(10)
	l.send(&wire.Mark{Label: wire.LabelNone}) // never answered
	rec := l.read()
	want := []ingest.Marker{{Sample: 104, Label: "mark"}, {Sample: 309, Label: "mark"}, {Sample: 499, Label: "mark"}}
	if !slices.Equal(rec.Markers, want) {
		t.Errorf("markers %v, want %v", rec.Markers, want)
	}
}

func TestCounted(t *testing.T) {
	for n, want := range map[int64]string{0: "0 samples", 1: "1 sample", 2: "2 samples"} {
		if got := counted(n, "sample"); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// A marker input that closes is a marker.
func TestMarkerInput(t *testing.T) {
	l := newLog(t)
	l.session(4)
	l.samples(1)
	m := &wire.Samples{Index: 10, StampUS: 11_000, SpanUS: 2000, Channels: 3, Values: []uint16{1, 0xFFFF, 0, 2, 0, 1, 3, 0, 1}}
	l.send(m)
	rec := l.read()
	if want := []ingest.Marker{{Sample: 11, Label: "gate"}}; !slices.Equal(rec.Markers, want) {
		t.Errorf("markers %v, want %v", rec.Markers, want)
	}
	if !math.IsNaN(rec.Extra[0].Values[10]) {
		t.Errorf("no reading is %g, want NaN", rec.Extra[0].Values[10])
	}
}

func TestCutOff(t *testing.T) {
	l := newLog(t)
	l.send(&wire.HostNote{Kind: wire.NoteTool, Text: "test"})
	l.session(4)
	l.samples(10)
	wantText(t, l.read().Cautions, "was cut off")
}

func TestWithoutHello(t *testing.T) {
	l := newLog(t)
	l.session(4)
	l.b = nil
	l.samples(10)
	rec := l.read()
	wantText(t, rec.Cautions, "no description of the sensor")
	if len(rec.Travel) != 100 || len(rec.Extra) != 2 {
		t.Errorf("%d samples and %d extra channels, want 100 and 2", len(rec.Travel), len(rec.Extra))
	}
}

// Text lines with host frames between and within them.
func TestTextLog(t *testing.T) {
	host := wire.NewEncoder(0)
	frame := func(m wire.Message) string {
		b, err := host.Append(nil, m)
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	text := frame(&wire.HostNote{Kind: wire.NotePort, Text: "x"}) +
		"99,5\n1000,10,0.5\n2000,1" + frame(&wire.HostTime{UnixUS: 5_001_000}) + "1,0.5\n3000,12,0.5\nrubbish\n" +
		frame(&wire.Mark{Label: wire.LabelNone}) + "4000,13,0.5\n5000,1" +
		frame(&wire.HostGap{UnixUS: 5_005_000, DurationUS: 2_000_000, Cause: wire.GapUnplugged}) +
		"00,77,0.5\n100,20,0.5\n" + frame(&wire.HostTime{UnixUS: 8_000_100}) + "1100,21,0.5\n"
	rec, err := readBytes([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	if want := []float64{10, 11, 12, 13, 20, 21}; !slices.Equal(rec.Travel, want) {
		t.Errorf("travel %v, want %v", rec.Travel, want)
	}
	// Stamp 1000 came at 5.001 s or earlier, and 100 at 8.0001 s.
	if want := []float64{1000, 2000, 3000, 4000, 3_000_100, 3_001_100}; !slices.Equal(rec.Stamps, want) {
		t.Errorf("stamps %v, want %v", rec.Stamps, want)
	}
	if want := []ingest.Marker{{Sample: 2, Label: "mark"}}; !slices.Equal(rec.Markers, want) {
		t.Errorf("markers %v, want %v", rec.Markers, want)
	}
	if rec.Rows.Bad != 3 {
		t.Errorf("%d bad lines, want 3: the first of each piece and the rubbish", rec.Rows.Bad)
	}
	wantText(t, rec.Cautions, "went away while recording (1 ×)")
}

func TestNothingInIt(t *testing.T) {
	l := newLog(t)
	l.session(4)
	for name, c := range map[string]struct{ b, want string }{
		"empty":   {"", "holds no samples"},
		"garbage": {strings.Repeat("\x80\xf8\x1e\x00", 100), "can be understood"},
		"hello":   {string(l.b), "but no samples"},
	} {
		if _, err := readBytes([]byte(c.b)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want %q", name, err, c.want)
		}
	}
}

func TestDetect(t *testing.T) {
	l := newLog(t)
	l.session(4)
	l.samples(3)
	dir := t.TempDir()
	for name, c := range map[string]struct {
		b    string
		want bool
	}{
		"a.bin":  {string(l.b), true},
		"b.slog": {"nonsense", true},
		"c.csv":  {"t_us,travel [mm]\n1000,10\n2000,11\n3000,12\n4000,12\n", false},
		"d":      {"", false},
	} {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(c.b), 0o644); err != nil {
			t.Fatal(err)
		}
		if got, err := Detect(path); err != nil || got != c.want {
			t.Errorf("%s: %v, %v, want %v", name, got, err, c.want)
		}
	}
	if _, err := Detect(filepath.Join(dir, "missing")); err == nil {
		t.Error("a missing file is no error")
	}
}

// A log written as CSV reads back with the same samples.
func TestExportReadsBack(t *testing.T) {
	l := newLog(t)
	l.session(4)
	l.samples(30)
	l.send(&wire.Marker{StampUS: 51_500, Label: wire.LabelButton})
	l.send(&wire.Marker{StampUS: 91_500, Label: wire.Label(9000)})
	l.send(&wire.Samples{Index: 300, StampUS: l.stampUS, SpanUS: 3001, Channels: 3, Values: []uint16{900, 0xFFFF, 0, 901, 3, 0, 902, 5, 0, 903, 7, 0}})
	l.session(5)
	l.samples(100)
	want := l.read()
	var text bytes.Buffer
	if err := csvlog.Write(&text, want); err != nil {
		t.Fatal(err)
	}
	got, err := csvlog.ReadFrom(context.Background(), &text, "log.csv", csvlog.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(got.Stamps, want.Stamps) || !slices.Equal(got.Travel, want.Travel) || got.Unit != want.Unit || got.Clock.TickS != want.Clock.TickS {
		t.Errorf("stamps, travel or units differ: %s, tick %g s", got.Unit, got.Clock.TickS)
	}
	if !slices.Equal(got.Markers, want.Markers) {
		t.Errorf("markers %v, want %v", got.Markers, want.Markers)
	}
	if len(got.Extra) != 1 || got.Extra[0].Name != want.Extra[0].Name || got.Extra[0].Unit != want.Extra[0].Unit {
		t.Fatalf("extra %v, want %v", got.Extra, want.Extra)
	}
	for i, v := range want.Extra[0].Values {
		if g := got.Extra[0].Values[i]; g != v && !(math.IsNaN(g) && math.IsNaN(v)) {
			t.Fatalf("speed %d is %g, want %g", i, g, v)
		}
	}
}
