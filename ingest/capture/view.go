package capture

import (
	"math"
	"time"

	"stanchion/firmware-protocol/wire"
	"stanchion/ingest"
	"stanchion/ingest/wirelog"
)

// A Status is how a recording does.
type Status struct {
	Elapsed   time.Duration
	Connected bool
	Mode      wire.Mode
	RateHz    float64 // of the last few seconds, 0 where there is nothing to tell
	NominalHz float64 // as the device says, 0 where not known
	// Reading is the newest travel reading and Unit its unit; HasReading is false before the first.
	HasReading bool
	Reading    float64
	Unit       ingest.Unit
	// TravelMM and MaxMM, the largest so far, are set where HasTravel says that the calibration is known.
	HasTravel       bool
	TravelMM, MaxMM float64
	Losses          wire.Losses // frames only
	Rows, BadLines  int64       // text only
	Markers         int
	BatteryMV       int // 0: not known
	Bytes           int64
}

// A view follows the stream for people and tells the recorder what the device does. It keeps no samples.
type view struct {
	frames wire.Decoder
	text   *wire.LineDecoder
	head   []byte // what came before the mode was clear
	// Rows and bad lines of the text before the stream last broke off.
	rowsThen, badThen int64
	status            Status
	setup             *ingest.Setup

	channel    int     // of travel
	scale      float64 // of its values
	hello      wire.Hello
	haveHello  bool
	channels   []wire.Channel
	convert    func(float64) float64
	lo, hi     float64
	port       int64 // bytes from the device
	whole      int64 // frames of the device
	gained     []gain
	on         handler
	lastSample time.Time
}

// A handler is told what matters to the recorder.
type handler interface {
	firstOfSession(f *wire.Frame)
	hello(m *wire.Hello)
	ended(m *wire.End)
	replied(m *wire.Reply)
	marked(m *wire.Marker)
	modeFound(m wire.Mode)
	restarted()
}

// A gain is how many samples had come at a time.
type gain struct {
	at      time.Time
	samples int64
}

// rateSpan is the time over which the sample rate is measured.
const rateSpan = 3 * time.Second

func newView(on handler, setup *ingest.Setup) *view {
	return &view{on: on, setup: setup, text: wire.NewLineDecoder(true), lo: math.Inf(1), hi: math.Inf(-1)}
}

// device takes bytes of the device.
func (v *view) device(data []byte, at time.Time) {
	v.port += int64(len(data))
	v.feedFrames(data, at)
	if v.whole > 0 {
		return
	}
	switch v.status.Mode {
	case wire.ModeUnknown:
		v.sniff(data, at)
	case wire.ModeText:
		v.feedText(data, at)
	}
}

// broken says that the stream broke off and begins anew: what was under way is not continued.
func (v *view) broken() {
	v.frames.Next([]byte{0})
	rows, bad := v.text.Rows()
	v.rowsThen, v.badThen = v.rowsThen+rows, v.badThen+bad
	v.text = wire.NewLineDecoder(true)
	v.head = nil
}

// sniff looks for text in what came so far.
func (v *view) sniff(data []byte, at time.Time) {
	v.head = append(v.head, data...)
	if wire.Sniff(v.head) == wire.ModeText {
		v.setMode(wire.ModeText)
		v.feedText(v.head, at)
		v.head = nil
	} else if len(v.head) > wire.SniffBytes {
		v.head = v.head[:0]
	}
}

func (v *view) setMode(m wire.Mode) {
	if v.status.Mode != m {
		v.status.Mode = m
		v.on.modeFound(m)
	}
}

func (v *view) feedText(data []byte, at time.Time) {
	for len(data) > 0 {
		var l *wire.Line
		if l, data = v.text.Next(data); l == nil || l.Kind != wire.LineRow {
			continue
		}
		if l.Restart {
			v.on.restarted()
		}
		if v.convert == nil {
			v.setUnit(ingest.UnitCounts)
		}
		v.lastSample = at
		v.reading(l.Values[0])
	}
	rows, bad := v.text.Rows()
	v.status.Rows, v.status.BadLines = v.rowsThen+rows, v.badThen+bad
}

func (v *view) feedFrames(data []byte, at time.Time) {
	for len(data) > 0 {
		var f *wire.Frame
		if f, data = v.frames.Next(data); f == nil || !f.Type.FromDevice() {
			continue
		}
		v.whole++
		v.setMode(wire.ModeFrames)
		v.frame(f, at)
	}
}

func (v *view) frame(f *wire.Frame, at time.Time) {
	if f.Place == wire.PlaceFirst {
		v.on.firstOfSession(f)
	}
	switch m := f.Message.(type) {
	case *wire.Hello:
		v.haveHello = true
		v.hello, v.channels = *m, m.Channels
		v.status.NominalHz = float64(m.RateMilliHz) / 1000
		v.chooseChannel()
		v.on.hello(m)
	case *wire.Samples:
		v.lastSample = at
		v.samples(m)
	case *wire.Status:
		v.status.BatteryMV = int(m.BatteryMV)
	case *wire.Marker:
		v.on.marked(m)
	case *wire.End:
		v.on.ended(m)
	case *wire.Reply:
		v.on.replied(m)
	}
}

// chooseChannel finds the travel channel of the hello.
func (v *view) chooseChannel() {
	v.channel, _ = wirelog.TravelChannel(v.channels)
	unit, scale := wirelog.TravelUnit(v.channels[v.channel].Unit)
	v.scale = scale
	v.setUnit(unit)
}

// setUnit finds how readings become travel.
func (v *view) setUnit(unit ingest.Unit) {
	v.status.Unit = unit
	v.convert = func(float64) float64 { return math.NaN() }
	if v.setup != nil {
		if f, err := ingest.TravelOf(unit, *v.setup); err == nil {
			v.convert, v.status.HasTravel = f, true
		}
	}
}

func (v *view) samples(m *wire.Samples) {
	if !v.haveHello || v.channel >= m.Channels {
		return
	}
	c := &v.channels[v.channel]
	for i := v.channel; i < len(m.Values); i += m.Channels {
		if r, ok := c.Value(m.Values[i]); ok {
			v.reading(r * v.scale)
		}
	}
}

func (v *view) reading(r float64) {
	s := &v.status
	s.HasReading, s.Reading = true, r
	v.lo, v.hi = min(v.lo, r), max(v.hi, r)
}

// now completes the status.
func (v *view) now(at time.Time) Status {
	s := v.status
	s.Losses = v.frames.Losses()
	total := s.Losses.Samples + s.Rows
	v.gained = append(v.gained, gain{at, total})
	for len(v.gained) > 2 && at.Sub(v.gained[1].at) >= rateSpan {
		v.gained = v.gained[1:]
	}
	if d := at.Sub(v.gained[0].at).Seconds(); d > 0.5 {
		s.RateHz = float64(total-v.gained[0].samples) / d
	}
	if s.HasTravel = s.HasTravel && s.HasReading; s.HasTravel {
		// Calibrations rise or fall throughout.
		s.TravelMM, s.MaxMM = v.convert(s.Reading), max(v.convert(v.lo), v.convert(v.hi))
	}
	return s
}
