package wire

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"reflect"
	"strconv"
	"strings"
	"testing"
)

// A vector is a frame of vectors/frames.txt: in words, and as bytes.
type vector struct {
	words string
	frame []byte
}

func readVectors(t testing.TB) []vector {
	t.Helper()
	text, err := os.ReadFile("../vectors/frames.txt")
	if err != nil {
		t.Fatal(err)
	}
	var out []vector
	for line := range strings.Lines(string(text)) {
		line = strings.TrimSpace(line)
		switch hex, isFrame := strings.CutPrefix(line, "= "); {
		case line == "" || line[0] == '#':
		case isFrame:
			out[len(out)-1].frame = unhex(t, hex)
		default:
			out = append(out, vector{words: line})
		}
	}
	return out
}

// wordReader takes the words of a line one by one.
type wordReader struct {
	t     testing.TB
	words []string
}

func (r *wordReader) text() string {
	if len(r.words) == 0 {
		r.t.Fatal("line is cut short")
	}
	w := r.words[0]
	r.words = r.words[1:]
	if w == "-" {
		return ""
	}
	return w
}

func (r *wordReader) num(bits int) uint64 {
	v, err := strconv.ParseUint(r.text(), 10, bits)
	if err != nil {
		r.t.Fatal(err)
	}
	return v
}

func (r *wordReader) int(bits int) int64 {
	v, err := strconv.ParseInt(r.text(), 10, bits)
	if err != nil {
		r.t.Fatal(err)
	}
	return v
}

func (r *wordReader) float() float32 {
	v, err := strconv.ParseFloat(r.text(), 32)
	if err != nil {
		r.t.Fatal(err)
	}
	return float32(v)
}

func (r *wordReader) u8() uint8   { return uint8(r.num(8)) }
func (r *wordReader) u16() uint16 { return uint16(r.num(16)) }
func (r *wordReader) u32() uint32 { return uint32(r.num(32)) }
func (r *wordReader) u64() uint64 { return r.num(64) }

func (r *wordReader) hello() *Hello {
	m := &Hello{Major: VersionMajor, StampUS: r.u64(), RateMilliHz: r.u32(), Streaming: r.u8() == 1, Device: r.text(), Firmware: r.text()}
	for range r.u8() {
		c := Channel{Kind: Kind(r.u8()), Unit: Unit(r.u8())}
		flags := r.u8()
		c.Signed, c.Sparse = flags&1 != 0, flags&2 != 0
		c.ADCBits, c.FullScale, c.Scale, c.Offset, c.Name = r.u8(), r.float(), r.float(), r.float(), r.text()
		m.Channels = append(m.Channels, c)
	}
	return m
}

func (r *wordReader) samples() *Samples {
	m := &Samples{Index: r.u32(), StampUS: r.u64(), SpanUS: r.u32()}
	n := int(r.u8())
	m.Channels = int(r.u8())
	for range n * m.Channels {
		m.Values = append(m.Values, r.u16())
	}
	return m
}

// parseWords reads a line of words.
func parseWords(t testing.TB, line string) (h Header, m Message) {
	t.Helper()
	r := &wordReader{t, strings.Fields(line)}
	kind := r.text()
	h = Header{Session: r.u32(), Sequence: r.u32()}
	switch kind {
	case "hello":
		m = r.hello()
	case "samples":
		m = r.samples()
	case "marker":
		m = &Marker{r.u64(), Label(r.u16())}
	case "status":
		m = &Status{r.u64(), r.u32(), r.u32(), r.u32(), r.u16(), int16(r.int(16)), r.u32()}
	case "end":
		m = &End{r.u64(), r.u32(), EndReason(r.u8())}
	case "reply":
		m = &Reply{Type(r.u8()), r.u32(), Result(r.u8()), r.u32()}
	case "identify":
		m = &Identify{}
	case "start":
		m = &Start{}
	case "stop":
		m = &Stop{}
	case "setrate":
		m = &SetRate{r.u32()}
	case "mark":
		m = &Mark{Label(r.u16())}
	case "hosttime":
		m = &HostTime{r.int(64), int16(r.int(16))}
	case "hostgap":
		m = &HostGap{r.int(64), r.u64(), GapCause(r.u8())}
	case "hostnote":
		m = &HostNote{NoteKind(r.u8()), r.text()}
	default:
		t.Fatalf("unknown frame %q", kind)
	}
	if len(r.words) > 0 {
		t.Fatalf("words left over: %q in %q", r.words, line)
	}
	h.Type = m.Type()
	return h, m
}

// words is the inverse of parseWords, for the frames of devices.
func words(h Header, m Message) string {
	var b strings.Builder
	out := func(v ...any) {
		for _, x := range v {
			if x == "" {
				x = "-"
			}
			fmt.Fprintf(&b, " %v", x)
		}
	}
	name := ""
	switch m := m.(type) {
	case *Hello:
		name = "hello"
		streaming := 0
		if m.Streaming {
			streaming = 1
		}
		out(m.StampUS, m.RateMilliHz, streaming, m.Device, m.Firmware, len(m.Channels))
		for _, c := range m.Channels {
			out(uint8(c.Kind), uint8(c.Unit), flag(c.Signed, flagSigned)|flag(c.Sparse, flagSparse), c.ADCBits, c.FullScale, c.Scale, c.Offset, c.Name)
		}
	case *Samples:
		name = "samples"
		out(m.Index, m.StampUS, m.SpanUS, m.Len(), m.Channels)
		for _, v := range m.Values {
			out(v)
		}
	case *Marker:
		name = "marker"
		out(m.StampUS, uint16(m.Label))
	case *Status:
		name = "status"
		out(m.StampUS, m.Samples, m.Overruns, m.Dropped, m.BatteryMV, m.TemperatureDeciC, m.UptimeS)
	case *End:
		name = "end"
		out(m.StampUS, m.Samples, uint8(m.Reason))
	case *Reply:
		name = "reply"
		out(uint8(m.Command), m.Sequence, uint8(m.Result), m.RateMilliHz)
	}
	return fmt.Sprintf("%s %d %d%s", name, h.Session, h.Sequence, b.String())
}

func TestVectors(t *testing.T) {
	seen := map[Type]bool{}
	for _, v := range readVectors(t) {
		h, m := parseWords(t, v.words)
		seen[h.Type] = true
		e := NewEncoder(h.Session)
		e.sequence = h.Sequence
		if got, err := e.Append(nil, m); err != nil || !bytes.Equal(got, v.frame) {
			t.Errorf("%.80s:\n got %X, %v\nwant %X", v.words, got, err, v.frame)
		}
		var d Decoder
		n := 0
		feed(&d, v.frame, nil, func(f *Frame) {
			n++
			if f.Header != h || f.Err != nil || !reflect.DeepEqual(f.Message, m) {
				t.Errorf("%.80s: decoded as %+v %+v, %v", v.words, f.Header, f.Message, f.Err)
			}
		})
		if n != 1 {
			t.Errorf("%.80s: %d frames decoded", v.words, n)
		}
	}
	for _, m := range []Message{&Hello{}, &Samples{}, &Marker{}, &Status{}, &End{}, &Reply{}, &Identify{}, &Start{}, &Stop{}, &SetRate{}, &Mark{},
		&HostTime{}, &HostGap{}, &HostNote{}} {
		if !seen[m.Type()] {
			t.Errorf("no vector of type %02X", uint8(m.Type()))
		}
	}
}

func TestEncoderRefuses(t *testing.T) {
	long := strings.Repeat("x", 33)
	hello := func(c Channel) *Hello { return &Hello{Channels: []Channel{c}} }
	for name, m := range map[string]Message{
		"no channels":       &Hello{},
		"17 channels":       &Hello{Channels: make([]Channel, 17)},
		"long id":           &Hello{Device: long, Channels: make([]Channel, 1)},
		"long firmware":     &Hello{Firmware: long, Channels: make([]Channel, 1)},
		"long name":         hello(Channel{Name: long[:25]}),
		"name not UTF-8":    hello(Channel{Name: "\xff"}),
		"scale NaN":         hello(Channel{Scale: float32(math.NaN())}),
		"offset infinite":   hello(Channel{Offset: float32(math.Inf(1))}),
		"no samples":        &Samples{Channels: 1},
		"no sample channel": &Samples{Values: []uint16{1}},
		"part of a sample":  &Samples{Channels: 2, Values: make([]uint16, 5)},
		"256 samples":       &Samples{Channels: 1, Values: make([]uint16, 256)},
		"too many values":   &Samples{Channels: 2, Values: make([]uint16, 498)},
		"too many channels": &Samples{Channels: 17, Values: make([]uint16, 17)},
		"long own frame":    &Other{0x40, make([]byte, MaxPayload+1)},
		"host frame":        &Start{},
	} {
		e := NewEncoder(1)
		got, err := e.Append([]byte("kept"), m)
		if err == nil || string(got) != "kept" || e.Sequence() != 0 {
			t.Errorf("%s: %q, %v, sequence %d; want an error and nothing else", name, got, err, e.Sequence())
		}
	}
	for name, m := range map[string]Message{"long note": &HostNote{Text: strings.Repeat("x", MaxNote+1)}, "device frame": &Marker{}} {
		if got, err := NewEncoder(0).Append(nil, m); err == nil || got != nil {
			t.Errorf("%s: %q, %v; want an error", name, got, err)
		}
	}
}

// payloadOf returns the payload of a vector.
func payloadOf(t testing.TB, v vector) []byte {
	t.Helper()
	raw, err := AppendUnstuffed(nil, v.frame[1:len(v.frame)-1])
	if err != nil {
		t.Fatal(err)
	}
	return raw[headerSize : len(raw)-sumSize]
}

// A payload that is cut short anywhere is refused; one with more at its end is of a later version and is read, save samples.
func TestPayloadLength(t *testing.T) {
	for _, v := range readVectors(t) {
		h, want := parseWords(t, v.words)
		payload := payloadOf(t, v)
		var known messages
		m := known.of(h.Type)
		for n := range payload {
			if err := m.parsePayload(payload[:n]); err == nil {
				t.Errorf("%.60s: %d of %d bytes were taken", v.words, n, len(payload))
			}
		}
		err := m.parsePayload(append(bytes.Clone(payload), 1, 2, 3))
		if (err != nil) != (h.Type == TypeSamples) {
			t.Errorf("%.60s: with more at its end: %v", v.words, err)
		}
		if err == nil && !reflect.DeepEqual(m, want) {
			t.Errorf("%.60s: with more at its end: %+v", v.words, m)
		}
	}
}

func TestHelloParse(t *testing.T) {
	// Bytes of a hello with one channel named "a", its entry at 18.
	payload := func(change func(b []byte) []byte) []byte {
		b, err := (&Hello{Channels: []Channel{{Kind: KindTravel, Scale: 1, Name: "a"}}}).appendPayload(nil)
		if err != nil {
			t.Fatal(err)
		}
		return change(b)
	}
	const entry = helloFixed + 3
	for name, c := range map[string]struct {
		b  []byte
		ok bool
	}{
		"as it is":              {payload(func(b []byte) []byte { return b }), true},
		"longer entry":          {payload(func(b []byte) []byte { b[entry] += 2; return append(b, 8, 9) }), true},
		"later minor version":   {payload(func(b []byte) []byte { b[1] = 9; return b }), true},
		"later major version":   {payload(func(b []byte) []byte { b[0] = 2; return b }), false},
		"no channels":           {payload(func(b []byte) []byte { b[entry-1] = 0; return b }), false},
		"17 channels":           {payload(func(b []byte) []byte { b[entry-1] = 17; return append(b, make([]byte, 900)...) }), false},
		"entry too short":       {payload(func(b []byte) []byte { b[entry] = 15; return b }), false},
		"entry past the end":    {payload(func(b []byte) []byte { b[entry]++; return b }), false},
		"name past the entry":   {payload(func(b []byte) []byte { b[entry+1+channelFixed] = 2; return append(b, 1) }), false},
		"name not UTF-8":        {payload(func(b []byte) []byte { b[len(b)-1] = 0xFF; return b }), false},
		"scale is not a number": {payload(func(b []byte) []byte { copy(b[entry+9:], "\xff\xff\xff\xff"); return b }), false},
		"long id": {payload(func(b []byte) []byte {
			return append(b[:helloFixed], join([]byte{33}, make([]byte, 33), b[helloFixed+1:])...)
		}), false},
	} {
		var m Hello
		if err := m.parsePayload(c.b); (err == nil) != c.ok {
			t.Errorf("%s: %v", name, err)
		}
	}
}
