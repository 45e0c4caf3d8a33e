package wire

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"testing"
)

// play decodes frames of a ride in the given order, and returns a word for each that comes out, and the losses.
func play(r *ride, order ...int) (string, Losses) {
	var d Decoder
	got := ""
	for _, i := range order {
		for p := append(append([]byte{0}, r.frames[i].piece...), 0); len(p) > 0; {
			var f *Frame
			if f, p = d.Next(p); f == nil {
				continue
			}
			got += fmt.Sprintf("%c%d", "FNLH"[f.Place], f.Sequence)
			if g := f.Gap; g != (Gap{}) {
				got += fmt.Sprintf("(%d %d %d)", g.Frames, g.Samples, g.SamplesByTime)
			}
			got += " "
		}
	}
	return got, d.Losses()
}

func TestPlaces(t *testing.T) {
	// Frames 0 to 6: hello, 4 samples frames of 10, one that skips 5 before it, end.
	r := &ride{}
	d := r.start(t, 9)
	for range 4 {
		d.sample(t, 10)
	}
	d.skip(5)
	d.sample(t, 10)
	d.send(t, &End{StampUS: d.us, Samples: d.index})
	for name, c := range map[string]struct {
		order []int
		want  string
		check Losses
	}{
		"all": {[]int{0, 1, 2, 3, 4, 5, 6}, "F0 N1 N2 N3 N4 N5(0 5 5) N6 ",
			Losses{Frames: 7, Samples: 50, SamplesMissing: 5, SamplesSkipped: 5}},
		"first samples lost":    {[]int{0, 2, 3}, "F0 N2(1 10 0) N3 ", Losses{Frames: 3, FramesMissing: 1, Samples: 20, SamplesMissing: 10}},
		"joined late":           {[]int{2, 3}, "F2 N3 ", Losses{Frames: 2, FramesBefore: 2, Samples: 20, SamplesBefore: 10}},
		"lost beside a skip":    {[]int{0, 1, 2, 3, 5}, "F0 N1 N2 N3 N5(1 15 15) ", Losses{Frames: 5, FramesMissing: 1, Samples: 40, SamplesMissing: 15}},
		"late":                  {[]int{0, 1, 3, 2, 4}, "F0 N1 N3(1 10 10) L2 N4 ", Losses{Frames: 5, FramesLate: 1, Samples: 40}},
		"late before the first": {[]int{2, 1, 0, 3}, "F2 L1 L0 N3 ", Losses{Frames: 4, FramesLate: 2, Samples: 30}},
		"twice":                 {[]int{0, 1, 1, 2, 0, 2}, "F0 N1 N2 ", Losses{Frames: 3, Duplicates: 3, Samples: 20}},
		"late and twice":        {[]int{0, 2, 1, 1}, "F0 N2(1 10 0) L1 ", Losses{Frames: 3, FramesLate: 1, Duplicates: 1, Samples: 20}},
		"tail told by the end":  {[]int{0, 1, 6}, "F0 N1 N6(4 0 0) ", Losses{Frames: 3, FramesMissing: 4, Samples: 10, SamplesMissing: 45}},
	} {
		got, l := play(r, c.order...)
		c.check.Sessions, c.check.Bytes, c.check.Damage = 1, l.Bytes, l.Damage
		if got != c.want || l != c.check {
			t.Errorf("%s:\n got %s%+v\nwant %s%+v", name, got, l, c.want, c.check)
		}
	}
}

// A pause takes time and no samples, and is no loss.
func TestPauseIsNoLoss(t *testing.T) {
	r := &ride{}
	d := r.start(t, 9)
	d.sample(t, 10)
	d.send(t, &End{StampUS: d.us, Samples: d.index})
	d.us += 60_000_000
	d.sample(t, 10)
	got, l := play(r, 0, 1, 2, 3)
	if got != "F0 N1 N2 N3 " || l.SamplesMissing != 0 {
		t.Errorf("%s %+v", got, l)
	}
}

// A samples gap is told with the frame after it even where a status came between.
func TestGapAcrossStatus(t *testing.T) {
	r := &ride{}
	d := r.start(t, 9)
	d.sample(t, 10)
	d.sample(t, 10)
	d.send(t, &Status{StampUS: d.us, Samples: d.index})
	d.sample(t, 10)
	var dec Decoder
	var gap Gap
	for _, i := range []int{0, 1, 3, 4} {
		f, _ := dec.Next([]byte(r.frames[i].piece + "\x00"))
		gap = f.Gap
	}
	if want := (Gap{Samples: 10, SamplesByTime: 10, FromUS: 10_000, ToUS: 21_000}); gap != want {
		t.Errorf("gap %+v, want %+v", gap, want)
	}
}

func TestResets(t *testing.T) {
	r := &ride{}
	for session := range uint32(3) {
		d := r.start(t, session+1)
		d.sample(t, 10)
		d.sample(t, 10)
	}
	// The last frame of the first session comes after the reset, and the hello of the second is lost.
	got, l := play(r, 0, 1, 4, 2, 5, 6, 7, 8)
	want := Losses{Sessions: 3, Frames: 8, FramesBefore: 1, Samples: 60, Bytes: l.Bytes, Damage: l.Damage}
	if got != "F0 N1 F1 N2 N2 F0 N1 N2 " || l != want {
		t.Errorf("%s\n%+v\n%+v", got, l, want)
	}
}

// A device that keeps its session number over a reset is found out: by a number that comes again with other content, or that lies
// far back.
func TestResetThatKeepsSession(t *testing.T) {
	for _, before := range []int{3, 500, 3000} {
		r := &ride{}
		for range 2 {
			d := r.start(t, 4)
			d.us = uint64(7+len(r.frames)) * 1_000_000 // the second hello is the same, the samples are not
			for range before {
				d.sample(t, 1)
			}
		}
		var dec Decoder
		n := 0
		feed(&dec, r.bytes(), nil, func(*Frame) { n++ })
		l := dec.Losses()
		// Within the window the second hello cannot be told from a duplicate of the first.
		wantDuplicates := int64(1)
		if before > Window {
			wantDuplicates = 0
		}
		if l.Sessions != 2 || l.Samples != int64(2*before) || l.Duplicates != wantDuplicates || n != 2*(before+1)-int(wantDuplicates) || l.FramesMissing != 0 {
			t.Errorf("%d frames: %+v", before, l)
		}
	}
}

// Numbers of frames and samples wrap at 2^32.
func TestNumbersWrap(t *testing.T) {
	r := &ride{}
	d := &device{enc: NewEncoder(6), index: 0xFFFFFFF0, us: 1<<32 - 5, ride: r}
	d.enc.sequence = 0xFFFFFFFE
	for range 6 {
		d.sample(t, 10)
	}
	got, l := play(r, 0, 1, 4, 3, 5)
	if got != "F4294967294 N4294967295 N2(2 20 20) L1 N3 " || l.FramesMissing != 1 || l.SamplesMissing != 10 || l.Samples != 50 {
		t.Errorf("%s\n%+v", got, l)
	}
}

// A frame is late up to 1023 frames behind the newest, and a reset beyond. What was received 1024 and more frames ago does not
// stand in the way of newer numbers.
func TestWindow(t *testing.T) {
	r := &ride{}
	d := r.start(t, 8)
	for range 3*Window - 1 {
		d.sample(t, 1)
	}
	for _, c := range []struct {
		newest, behind int
		late           bool
	}{
		{Window - 1, Window - 1, true}, {Window, Window - 1, true}, {Window, Window, false}, {2*Window + 7, 5, true}, {2*Window + 7, Window - 1, true},
		{2*Window + 7, Window, false},
	} {
		var order []int
		for i := range c.newest + 1 {
			if i != c.newest-c.behind {
				order = append(order, i)
			}
		}
		_, l := play(r, append(order, c.newest-c.behind, c.newest-c.behind)...)
		late, sessions := int64(0), int64(2)
		if c.late {
			late, sessions = 1, 1
		}
		if l.FramesLate != late || l.Sessions != sessions || l.Duplicates != 1 {
			t.Errorf("%d behind %d: %+v", c.behind, c.newest, l)
		}
	}
}

// A hello that happens to have number 0 after the numbers wrapped does not say that no sample came before.
func TestHelloAfterWrap(t *testing.T) {
	r := &ride{}
	d := &device{enc: NewEncoder(6), index: 5000, ride: r}
	d.enc.sequence = 0xFFFFFFFF
	d.sample(t, 10)
	d.send(t, &Hello{Channels: make([]Channel, 1)})
	if _, l := play(r, 0, 1); l.SamplesMissing != 0 || l.SamplesBefore != 5000 {
		t.Errorf("%+v", l)
	}
}

// The gap by time is rounded to whole periods.
func TestGapByTimeRounds(t *testing.T) {
	for _, c := range []struct {
		lateUS uint64 // behind the next tick
		want   int64
	}{{0, 0}, {499, 0}, {500, 1}, {1400, 1}, {1600, 2}, {59_999_700, 60_000}} {
		r := &ride{}
		d := r.start(t, 9)
		d.sample(t, 10)
		d.us += c.lateUS
		d.sample(t, 10)
		var dec Decoder
		var got int64
		feed(&dec, r.bytes(), nil, func(f *Frame) { got = f.Gap.SamplesByTime })
		if got != c.want {
			t.Errorf("%d µs late: %d samples, want %d", c.lateUS, got, c.want)
		}
	}
}

// A frame over the limit is damage, even where its CRC is right, and however the bytes are split.
func TestOverlong(t *testing.T) {
	frame := func(size int, fill byte) []byte { // of that size before stuffing, without delimiters
		for number := uint32(0x01010101); ; number++ {
			raw := binary.LittleEndian.AppendUint32([]byte{0x40, 1, 1, 1, 1}, number)
			raw = append(raw, bytes.Repeat([]byte{fill}, size-headerSize-sumSize)...)
			raw = binary.LittleEndian.AppendUint32(raw, Checksum(raw))
			if fill == 0 || bytes.IndexByte(raw, 0) < 0 {
				return AppendStuffed(nil, raw)
			}
		}
	}
	longest := frame(MaxFrame, 7)
	if len(longest) != MaxEncoded {
		t.Fatalf("longest frame has %d bytes, want %d", len(longest), MaxEncoded)
	}
	for name, c := range map[string]struct {
		piece  []byte
		frames int64
	}{
		"longest":             {longest, 1},
		"longest, zeros":      {frame(MaxFrame, 0), 1},
		"one byte more":       {frame(MaxFrame+1, 7), 0},
		"one more, zeros":     {frame(MaxFrame+1, 0), 0},
		"longest and a byte":  {append(bytes.Clone(longest), 7), 0},
		"longest and a frame": {append(bytes.Clone(longest), longest...), 0},
	} {
		for _, split := range [][]int{nil, {1}, {MaxEncoded}, {MaxEncoded - 1, 1}, {MaxEncoded + 1}} {
			var d Decoder
			feed(&d, append(bytes.Clone(c.piece), 0), split, func(*Frame) {})
			if l := d.Losses(); l.Frames != c.frames || l.Damage.Pieces != 1-c.frames {
				t.Errorf("%s, split at %v: %+v", name, split, l)
			}
		}
	}
}

// Frames whose payload is not understood still count as received.
func TestUnusableFrames(t *testing.T) {
	e := NewEncoder(3)
	var b []byte
	for _, m := range []Message{
		&Other{TypeHello, []byte{2, 0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14}}, // a later major version
		&Other{TypeSamples, append(make([]byte, 17), 1)},                               // no samples
		&Other{TypeMarker, make([]byte, 9)},                                            // too short
		&Other{TypeMarker, make([]byte, 30)},                                           // of a later minor version
		&Other{0x3F, nil},
		&Other{0x7F, []byte{1}},
	} {
		var err error
		if b, err = e.Append(b, m); err != nil {
			t.Fatal(err)
		}
	}
	var d Decoder
	var errs []bool
	feed(&d, b, nil, func(f *Frame) { errs = append(errs, f.Err != nil) })
	l := d.Losses()
	if fmt.Sprint(errs) != "[true true true false false false]" || l.Frames != 6 || l.FramesBad != 3 || l.FramesUnknown != 2 || l.FramesMissing != 0 {
		t.Errorf("%v, %+v", errs, l)
	}
}

func TestChannelValue(t *testing.T) {
	plain := Channel{Scale: 0.5, Offset: -1}
	signed := Channel{Scale: 0.5, Signed: true, Sparse: true}
	for _, c := range []struct {
		channel *Channel
		packed  uint16
		want    float64
		ok      bool
	}{
		{&plain, 0xFFFF, 32766.5, true},
		{&plain, 0x8000, 16383, true},
		{&signed, 0xFFFF, -0.5, true},
		{&signed, 0x8001, -16383.5, true},
		{&signed, 0x8000, 0, false},
		{&Channel{Scale: 1, Sparse: true}, 0xFFFF, 0, false},
		{&Channel{Scale: 1, Sparse: true}, 0xFFFE, 65534, true},
	} {
		if v, ok := c.channel.Value(c.packed); v != c.want || ok != c.ok {
			t.Errorf("%+v of %04X: %v, %v, want %v, %v", *c.channel, c.packed, v, ok, c.want, c.ok)
		}
	}
}

func TestStampAt(t *testing.T) {
	m := &Samples{StampUS: 1000, SpanUS: 3001, Channels: 1, Values: make([]uint16, 3)}
	if m.StampAt(0) != 1000 || m.StampAt(1) != 2500.5 || m.StampAt(2) != 4001 {
		t.Errorf("%v %v %v", m.StampAt(0), m.StampAt(1), m.StampAt(2))
	}
	one := &Samples{StampUS: 7, Channels: 2, Values: make([]uint16, 2)}
	if one.StampAt(0) != 7 {
		t.Error(one.StampAt(0))
	}
}
