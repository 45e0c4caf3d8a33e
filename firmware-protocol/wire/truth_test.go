package wire

import (
	"bytes"
	"slices"

	"pgregory.net/rapid"
)

// A sentFrame is a frame of a made-up device, as sent.
type sentFrame struct {
	Header
	piece   string // stuffed, without delimiters
	message Message
}

// A ride is all that a device sent.
type ride struct {
	frames  []sentFrame
	skipped int64 // samples that the device left out by itself
}

// device makes up a stream: a hello, samples frames with a status or marker now and then, and an end.
type device struct {
	enc   *Encoder
	index uint32
	us    uint64
	ride  *ride
	value uint16
}

// start puts a new session with its hello into r.
func (r *ride) start(t rapid.TB, session uint32) *device {
	d := &device{enc: NewEncoder(session), us: 1000, ride: r}
	d.send(t, &Hello{Major: VersionMajor, Device: "made up", RateMilliHz: 1_000_000,
		Channels: []Channel{{Kind: KindTravel, Unit: UnitCounts, Scale: 1, ADCBits: 12}, {Kind: KindTemperature, Unit: UnitCelsius, Scale: 0.1, Signed: true}}})
	return d
}

func (d *device) send(t rapid.TB, m Message) {
	h := Header{m.Type(), d.enc.session, d.enc.Sequence()}
	b, err := d.enc.Append(nil, m)
	if err != nil {
		t.Fatal(err)
	}
	d.ride.frames = append(d.ride.frames, sentFrame{h, string(b[1 : len(b)-1]), m})
}

// sample sends a frame of n samples of 2 channels, 1000 µs apart.
func (d *device) sample(t rapid.TB, n int) {
	m := &Samples{Index: d.index, StampUS: d.us, SpanUS: uint32(n-1) * 1000, Channels: 2}
	for range n {
		d.value = d.value*25173 + 13849
		m.Values = append(m.Values, d.value>>4, d.value>>12)
	}
	d.send(t, m)
	d.index += uint32(n)
	d.us += uint64(n) * 1000
}

// skip leaves out n samples, as a device does that cannot keep up.
func (d *device) skip(n uint32) {
	d.index += n
	d.us += uint64(n) * 1000
	d.ride.skipped += int64(n)
}

// bytes returns the stream as sent.
func (r *ride) bytes() []byte {
	var b []byte
	for _, f := range r.frames {
		b = append(append(append(b, 0), f.piece...), 0)
	}
	return b
}

// truth finds out what a receiver of stream must say, without CRC or COBS: by looking up the pieces between zero bytes among those
// that were sent. It returns the frames that must come out, in order.
func (r *ride) truth(stream []byte) (frames []sentFrame, l Losses) {
	sent := map[string]int{}
	for i, f := range r.frames {
		sent[f.piece] = i
	}
	l.Bytes = int64(len(stream))
	pieces := bytes.Split(stream, []byte{0})
	l.Damage.DelimiterBytes = int64(len(pieces) - 1)
	got := map[int]bool{}
	highest := map[uint32]int64{}
	for k, p := range pieces {
		i, ok := sent[string(p)]
		switch {
		case len(p) == 0:
			continue
		case !ok && k == len(pieces)-1:
			l.Damage.TornBytes += int64(len(p))
			continue
		case !ok:
			l.Damage.Pieces++
			l.Damage.PieceBytes += int64(len(p))
			continue
		}
		l.Damage.FrameBytes += int64(len(p))
		if got[i] {
			l.Duplicates++
			continue
		}
		got[i] = true
		f := r.frames[i]
		frames = append(frames, f)
		if top, ok := highest[f.Session]; ok && int64(f.Sequence) < top {
			l.FramesLate++
		} else {
			highest[f.Session] = int64(f.Sequence)
		}
	}
	l.Frames = int64(len(frames))
	l.Sessions = int64(len(highest))
	for session := range highest {
		r.missing(session, got, &l)
	}
	return frames, l
}

// missing counts, for one session, what was sent between the first and the last thing received and not received.
func (r *ride) missing(session uint32, got map[int]bool, l *Losses) {
	var numbers []int64
	var taken [][2]int64 // from, to
	var told []int64
	for i, f := range r.frames {
		if f.Session != session || !got[i] {
			continue
		}
		numbers = append(numbers, int64(f.Sequence))
		switch m := f.message.(type) {
		case *Hello:
			told = append(told, int64(0))
		case *Samples:
			taken = append(taken, [2]int64{int64(m.Index), int64(m.Index) + int64(m.Len())})
		case *Status:
			told = append(told, int64(m.Samples))
		case *End:
			told = append(told, int64(m.Samples))
		}
	}
	l.FramesBefore += numbers[0]
	l.FramesMissing += numbers[len(numbers)-1] - numbers[0] + 1 - int64(len(numbers))
	if len(told)+len(taken) == 0 {
		return
	}
	low, high, samples := int64(1)<<40, int64(0), int64(0)
	for _, v := range taken {
		samples += v[1] - v[0]
		low, high = min(low, v[0]), max(high, v[1])
	}
	if len(told) > 0 {
		low, high = min(low, slices.Min(told)), max(high, slices.Max(told))
	}
	l.SamplesBefore += low
	l.SamplesMissing += high - low - samples
	l.Samples += samples
}
