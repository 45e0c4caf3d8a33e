package wirelog

import (
	"fmt"
	"math"

	"stanchion/firmware-protocol/wire"
	"stanchion/ingest"
)

// Bounds on what is kept.
const (
	maxValues  = 1 << 27
	maxMarkers = 10000
	maxFirst   = 5 // bad lines kept with their reason
)

// A section is a stretch of the log on one run of the device's clock.
type section struct {
	session  uint32
	channels []wire.Channel // of the hello, nil where none came
	first    float64        // stamps of its samples, µs
	last     float64
	samples  int
	hostUS   float64 // wall time at stamp 0; +Inf where not known
}

// A block is the samples of one frame, or one row of text.
type block struct {
	section  int
	n        int
	channels int
	at       int // of its first value in packed (frames) or values (text)
	stampUS  float64
	spanUS   float64
}

// A mark is a marker on the clock of its section.
type mark struct {
	section int
	stampUS float64
	label   wire.Label
	host    bool // from the host: the stamp is that of the last frame before it
	answers bool // from the device, and a mark of the host was this one
}

// answerUS is how long a device may take to answer a mark of the host with a marker of its own, which then stands for it.
const answerUS = 1_000_000

// A builder gathers what the log holds.
type builder struct {
	name     string
	dec      wire.Decoder
	lines    *wire.LineDecoder
	piece    []byte // text: bytes since the last zero byte
	isText   bool
	sections []section
	bySess   map[uint32]int
	blocks   []block
	packed   []uint16
	values   []float64
	late     bool
	marks    []mark
	names    []string // of a text header

	lastSection int     // of the last frame of the device
	lastStamp   float64 // its device time; NaN before the first
	rows, bad   int64
	firstBad    []ingest.BadRow
	tool        string
	clean       bool
	unplugged   int
	hello       *wire.Hello
	devices     int
}

func newBuilder(name string) *builder {
	return &builder{name: name, bySess: map[uint32]int{}, lastStamp: math.NaN(), lines: wire.NewLineDecoder(true)}
}

func (b *builder) losses() wire.Losses { return b.dec.Losses() }

// frames takes bytes of a log of frames; nil ends it.
func (b *builder) frames(p []byte) error {
	if p == nil {
		if f := b.dec.Close(); f != nil {
			return b.frame(f)
		}
		return nil
	}
	for len(p) > 0 {
		var f *wire.Frame
		if f, p = b.dec.Next(p); f != nil {
			if err := b.frame(f); err != nil {
				return err
			}
		}
	}
	return nil
}

func (b *builder) frame(f *wire.Frame) error {
	if !f.Type.FromDevice() {
		b.host(f)
		return nil
	}
	at, ok := b.bySess[f.Session]
	if !ok || f.Place == wire.PlaceFirst {
		at = b.open(f.Session)
	}
	s := &b.sections[at]
	switch m := f.Message.(type) {
	case *wire.Hello:
		b.heard(at, float64(m.StampUS))
		if s.channels == nil {
			s.channels = m.Channels
		}
		if b.hello == nil {
			hello := *m
			b.hello = &hello
		}
	case *wire.Samples:
		b.heard(at, float64(m.StampUS)+float64(m.SpanUS))
		b.late = b.late || f.Place == wire.PlaceLate
		return b.samples(at, m)
	case *wire.Marker:
		b.heard(at, float64(m.StampUS))
		b.marker(mark{section: at, stampUS: float64(m.StampUS), label: m.Label})
	case *wire.Status:
		b.heard(at, float64(m.StampUS))
	case *wire.End:
		b.heard(at, float64(m.StampUS))
	}
	return nil
}

// open begins a section.
func (b *builder) open(session uint32) int {
	b.sections = append(b.sections, section{session: session, hostUS: math.Inf(1)})
	b.bySess[session] = len(b.sections) - 1
	return len(b.sections) - 1
}

// heard notes the device time of the newest frame.
func (b *builder) heard(section int, stampUS float64) {
	b.lastSection, b.lastStamp = section, stampUS
}

func (b *builder) samples(at int, m *wire.Samples) error {
	if len(b.packed)+len(m.Values) > maxValues {
		return errTooMuch()
	}
	b.blocks = append(b.blocks, block{section: at, n: m.Len(), channels: m.Channels, at: len(b.packed),
		stampUS: float64(m.StampUS), spanUS: float64(m.SpanUS)})
	b.packed = append(b.packed, m.Values...)
	b.span(at, float64(m.StampUS), float64(m.StampUS)+float64(m.SpanUS), m.Len())
	return nil
}

func errTooMuch() error {
	return ingest.Hinted{Err: fmt.Errorf("the log holds more than %d values", maxValues), Hint: "record single runs, or at a lower rate"}
}

// span widens a section.
func (b *builder) span(at int, first, last float64, n int) {
	s := &b.sections[at]
	if s.samples == 0 {
		s.first, s.last = first, last
	}
	s.first, s.last = min(s.first, first), max(s.last, last)
	s.samples += n
}

// marker keeps a marker. One of the device stands for the wish of the host that it answers, whichever is first in the
// log: a wish is put between two frames, and the answer may be one of them. It answers one wish at the most.
func (b *builder) marker(m mark) {
	if len(b.marks) >= maxMarkers {
		return
	}
	for i := len(b.marks) - 1; i >= max(0, len(b.marks)-8); i-- {
		was := &b.marks[i]
		if was.host == m.host || was.answers || was.section != m.section || was.label != m.label ||
			math.Abs(m.stampUS-was.stampUS) > answerUS {
			continue
		}
		if was.host {
			*was = m
		}
		was.answers = true
		return
	}
	b.marks = append(b.marks, m)
}

// host takes a frame that the host wrote.
func (b *builder) host(f *wire.Frame) {
	known := !math.IsNaN(b.lastStamp)
	switch m := f.Message.(type) {
	case *wire.Mark:
		if known {
			b.marker(mark{section: b.lastSection, stampUS: b.lastStamp, label: m.Label, host: true})
		}
	case *wire.HostTime:
		if known {
			s := &b.sections[b.lastSection]
			s.hostUS = min(s.hostUS, float64(m.UnixUS)-b.lastStamp)
		}
	case *wire.HostGap:
		if m.Cause == wire.GapUnplugged {
			b.unplugged++
		}
		b.clean = false
		if b.isText {
			b.broken()
		}
	case *wire.HostNote:
		switch m.Kind {
		case wire.NoteTool:
			b.tool, b.clean = m.Text, false
		case wire.NoteComment:
			b.clean = b.clean || m.Text == CleanEnd
		}
	}
}
