package virtual

import (
	"math"
	"slices"
	"strconv"

	"stanchion/firmware-protocol/wire"
)

// Config is the device around the track.
type Config struct {
	ID       string
	Session  uint32 // of the first power-up; later ones count on. Not 0.
	PerFrame int    // samples in a frame, 0: as many as 20 ms give, within the format's limits
	Text     bool   // send text lines instead of frames: no commands, no markers
	Loop     bool   // begin again at the end of the track; else sampling ends there, as if by the button
	Battery  uint16 // mV
}

// A Device turns time and commands into frames. It is not safe for use by several goroutines at once.
type Device struct {
	cfg      Config
	track    *Track
	session  uint32
	enc      *wire.Encoder
	commands wire.Decoder
	out      []frame

	nowUS     uint64 // device clock
	streaming bool
	every     int // of the track's samples one is sent
	// next is the track's sample that is due next, at dueUS: the number of samples since sampling began tells the time exactly.
	next       int
	index      uint32
	sinceStart int64
	startUS    uint64
	statusUS   uint64
	overruns   uint32
	lines      uint32
	held       wire.Samples
	stalled    bool
}

// A frame is what the device sends in one go: a frame of the protocol, or a line of text.
type frame struct {
	ID
	bytes []byte
}

// An ID tells frames apart. Lines of text are numbered from 0 in each session.
type ID struct {
	Session, Sequence uint32
}

// statusEveryUS is the time between two status frames.
const statusEveryUS = 1_000_000

// NewDevice returns a device that has just been powered up.
func NewDevice(t *Track, cfg Config) *Device {
	if cfg.Session == 0 {
		cfg.Session = 1
	}
	if cfg.ID == "" {
		cfg.ID = "virtual"
	}
	d := &Device{cfg: cfg, track: t, session: cfg.Session - 1}
	d.Reset()
	return d
}

// Reset restarts the device, as a dip of its supply does: a new session, the clock at 0, and sampling waits for a start.
// A device in text mode runs on by itself.
func (d *Device) Reset() {
	d.session++
	d.enc = wire.NewEncoder(d.session)
	d.nowUS, d.statusUS, d.index, d.overruns, d.lines = 0, 0, 0, 0, 0
	d.held.Values = d.held.Values[:0]
	d.streaming, d.every = false, 1
	if d.cfg.Text {
		d.start()
		return
	}
	d.hello()
}

// take returns the frames or lines made since the last call.
func (d *Device) take() []frame {
	out := d.out
	d.out = nil
	return out
}

// Stall makes the device miss samples from now on, or no more.
func (d *Device) Stall(on bool) {
	if on {
		d.send()
	}
	d.stalled = on
}

// Done tells whether the track was played to its end.
func (d *Device) Done() bool { return d.next >= d.track.Len() && !d.cfg.Loop }

// Command takes bytes of the host.
func (d *Device) Command(p []byte) {
	if d.cfg.Text {
		return
	}
	for len(p) > 0 {
		var f *wire.Frame
		if f, p = d.commands.Next(p); f != nil && f.Err == nil {
			d.obey(f)
		}
	}
}

// obey replies first, then does what it is told.
func (d *Device) obey(f *wire.Frame) {
	reply := wire.Reply{Command: f.Type, Sequence: f.Sequence}
	act := func() {}
	switch m := f.Message.(type) {
	case *wire.Identify:
		act = d.hello
	case *wire.Start:
		act = d.start
	case *wire.Stop:
		act = func() { d.stop(wire.EndCommand) }
	case *wire.SetRate:
		if m.RateMilliHz == 0 {
			reply.Result = wire.ResultRefused
			break
		}
		d.send()
		d.every = max(1, int(math.Round(d.track.RateHz*1000/float64(m.RateMilliHz))))
		d.restartClock()
		act = d.hello
	case *wire.Mark:
		marker := wire.Marker{StampUS: d.nowUS, Label: m.Label}
		act = func() { d.append(&marker) }
	default:
		if f.Type < wire.TypeIdentify || f.Type >= wire.TypeHostTime-1 {
			return // not a command
		}
		reply.Result = wire.ResultUnknown
	}
	d.send()
	reply.RateMilliHz = d.rateMilliHz()
	d.append(&reply)
	act()
}

func (d *Device) rateMilliHz() uint32 {
	return uint32(math.Round(d.track.RateHz * 1000 / float64(d.every)))
}

func (d *Device) hello() {
	d.send()
	d.append(&wire.Hello{StampUS: d.nowUS, RateMilliHz: d.rateMilliHz(), Streaming: d.streaming,
		Device: d.cfg.ID, Firmware: "virtual 1", Channels: d.track.Channels})
}

func (d *Device) start() {
	if d.streaming || d.Done() {
		return
	}
	d.streaming = true
	d.restartClock()
}

// restartClock lets the even grid of samples begin now.
func (d *Device) restartClock() { d.startUS, d.sinceStart = d.nowUS, 0 }

func (d *Device) stop(why wire.EndReason) {
	if !d.streaming {
		return
	}
	d.send()
	d.streaming = false
	d.append(&wire.End{StampUS: d.nowUS, Samples: d.index, Reason: why})
}

// dueUS is the device time of the next sample.
func (d *Device) dueUS() uint64 {
	return d.startUS + uint64(math.Round(float64(d.sinceStart)*1e6*float64(d.every)/d.track.RateHz))
}

// Run lets the device live until its clock shows toUS.
func (d *Device) Run(toUS uint64) {
	for d.streaming && d.dueUS() <= toUS {
		d.nowUS = d.dueUS()
		d.sample()
	}
	d.nowUS = max(d.nowUS, toUS)
	if d.nowUS-d.statusUS >= statusEveryUS && !d.cfg.Text {
		d.statusUS = d.nowUS
		d.send()
		d.append(&wire.Status{StampUS: d.nowUS, Samples: d.index, Overruns: d.overruns, BatteryMV: d.cfg.Battery,
			TemperatureDeciC: wire.NoTemperature, UptimeS: uint32(d.nowUS / 1_000_000)})
	}
}

// NowUS is the device clock.
func (d *Device) NowUS() uint64 { return d.nowUS }

// sample takes the sample that is due.
func (d *Device) sample() {
	i := d.next
	d.next += d.every
	d.sinceStart++
	missed := d.stalled || d.track.Missed != nil && d.track.Missed[i]
	switch {
	case missed:
		d.send()
		d.index++
		d.overruns++
	case d.cfg.Text:
		d.line(i)
	default:
		d.keep(i)
	}
	if !d.cfg.Text && d.pressed(i) {
		d.send()
		d.append(&wire.Marker{StampUS: d.nowUS, Label: wire.LabelButton})
	}
	if d.next >= d.track.Len() {
		if d.cfg.Loop {
			d.next = 0
		} else if d.cfg.Text {
			d.streaming = false
		} else {
			d.stop(wire.EndButton)
		}
	}
}

// pressed tells whether the button was pressed since the sample sent before sample i.
func (d *Device) pressed(i int) bool {
	at, _ := slices.BinarySearch(d.track.Buttons, i-d.every+1)
	return at < len(d.track.Buttons) && d.track.Buttons[at] <= i
}

// keep puts sample i into the frame under way, and sends it when it is full.
func (d *Device) keep(i int) {
	c := len(d.track.Channels)
	if len(d.held.Values) == 0 {
		d.held.Index, d.held.StampUS, d.held.Channels = d.index, d.nowUS, c
	}
	d.held.SpanUS = uint32(d.nowUS - d.held.StampUS)
	d.held.Values = append(d.held.Values, d.track.Packed[i*c:(i+1)*c]...)
	d.index++
	per := d.cfg.PerFrame
	if per == 0 {
		per = int(d.track.RateHz / float64(d.every) / 50)
	}
	if d.held.Len() >= max(1, min(per, wire.MaxSamples, wire.MaxValues/c)) {
		d.send()
	}
}

// send sends the frame under way.
func (d *Device) send() {
	if len(d.held.Values) > 0 {
		d.append(&d.held)
		d.held.Values = d.held.Values[:0]
	}
}

func (d *Device) append(m wire.Message) {
	id := ID{d.session, d.enc.Sequence()}
	b, err := d.enc.Append(nil, m)
	if err != nil {
		panic("virtual device made an impossible frame: " + err.Error())
	}
	d.out = append(d.out, frame{id, b})
}

// line sends sample i as text.
func (d *Device) line(i int) {
	c := len(d.track.Channels)
	b := strconv.AppendUint(nil, d.nowUS, 10)
	for k := range d.track.Channels {
		b = append(b, ',')
		if v, ok := d.track.Channels[k].Value(d.track.Packed[i*c+k]); ok {
			b = strconv.AppendFloat(b, v, 'f', -1, 32)
		}
	}
	d.out = append(d.out, frame{ID{d.session, d.lines}, append(b, '\n')})
	d.lines++
}
