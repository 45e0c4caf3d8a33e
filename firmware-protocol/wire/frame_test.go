package wire

import (
	"bytes"
	"reflect"
	"testing"

	"pgregory.net/rapid"
)

// drawMessage draws a message of any type but the given ones.
func drawMessage(t *rapid.T) Message {
	u64, u32, u16 := rapid.Uint64(), rapid.Uint32(), rapid.Uint16()
	text := func(most int) string {
		return rapid.StringOfN(rapid.Rune(), -1, -1, most).Draw(t, "text")
	}
	switch rapid.IntRange(0, 14).Draw(t, "type") {
	case 0:
		h := &Hello{StampUS: u64.Draw(t, "stamp"), RateMilliHz: u32.Draw(t, "rate"), Streaming: rapid.Bool().Draw(t, "streaming"),
			Major: VersionMajor, Minor: rapid.Byte().Draw(t, "minor"), Device: text(MaxText), Firmware: text(MaxText)}
		for range rapid.IntRange(1, MaxChannels).Draw(t, "channels") {
			f := rapid.Float32Range(-1e30, 1e30)
			h.Channels = append(h.Channels, Channel{Kind: Kind(rapid.Byte().Draw(t, "kind")), Unit: Unit(rapid.Byte().Draw(t, "unit")),
				Signed: rapid.Bool().Draw(t, "signed"), Sparse: rapid.Bool().Draw(t, "sparse"), ADCBits: rapid.Byte().Draw(t, "bits"),
				FullScale: f.Draw(t, "full"), Scale: f.Draw(t, "scale"), Offset: f.Draw(t, "offset"), Name: text(MaxChannelName)})
		}
		return h
	case 1:
		channels := rapid.IntRange(1, MaxChannels).Draw(t, "channels")
		n := rapid.IntRange(1, min(MaxSamples, MaxValues/channels)).Draw(t, "n")
		return &Samples{Index: u32.Draw(t, "index"), StampUS: u64.Draw(t, "stamp"), SpanUS: u32.Draw(t, "span"), Channels: channels,
			Values: rapid.SliceOfN(u16, n*channels, n*channels).Draw(t, "values")}
	case 2:
		return &Marker{u64.Draw(t, "stamp"), Label(u16.Draw(t, "label"))}
	case 3:
		return &Status{u64.Draw(t, "stamp"), u32.Draw(t, "samples"), u32.Draw(t, "overruns"), u32.Draw(t, "dropped"),
			u16.Draw(t, "battery"), rapid.Int16().Draw(t, "temperature"), u32.Draw(t, "uptime")}
	case 4:
		return &End{u64.Draw(t, "stamp"), u32.Draw(t, "samples"), EndReason(rapid.Byte().Draw(t, "reason"))}
	case 5:
		return &Reply{Type(rapid.Byte().Draw(t, "command")), u32.Draw(t, "sequence"), Result(rapid.Byte().Draw(t, "result")), u32.Draw(t, "rate")}
	case 6:
		return &Identify{}
	case 7:
		return &Start{}
	case 8:
		return &Stop{}
	case 9:
		return &SetRate{u32.Draw(t, "rate")}
	case 10:
		return &Mark{Label(u16.Draw(t, "label"))}
	case 11:
		return &HostTime{rapid.Int64().Draw(t, "unix"), rapid.Int16().Draw(t, "zone")}
	case 12:
		return &HostGap{rapid.Int64().Draw(t, "unix"), u64.Draw(t, "duration"), GapCause(rapid.Byte().Draw(t, "cause"))}
	case 13:
		return &HostNote{NoteKind(rapid.Byte().Draw(t, "kind")), text(MaxNote)}
	}
	return &Other{Type(rapid.ByteRange(0x40, 0x7F).Draw(t, "own")), rapid.SliceOfN(rapid.Byte(), 1, MaxPayload).Draw(t, "payload")}
}

// sessionFor returns a session that the type may have.
func sessionFor(m Message) uint32 {
	if m.Type().FromDevice() {
		return 0xA1B2C3D4
	}
	return 0
}

// feed puts b into d in pieces of the given sizes (the last one repeated) and calls got for each frame, the one of Close included.
func feed(d *Decoder, b []byte, sizes []int, got func(*Frame)) {
	for len(b) > 0 {
		n := len(b)
		if len(sizes) > 0 {
			n = min(n, sizes[0])
		}
		if len(sizes) > 1 {
			sizes = sizes[1:]
		}
		for p := b[:n]; len(p) > 0; {
			var f *Frame
			if f, p = d.Next(p); f != nil {
				got(f)
			}
		}
		b = b[n:]
	}
	if f := d.Close(); f != nil {
		got(f)
	}
}

func TestFrameRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawMessage(t)
		e := NewEncoder(sessionFor(m))
		b, err := e.Append([]byte("kept"), m)
		if err != nil {
			t.Fatal(err)
		}
		b = b[4:]
		if b[0] != 0 || b[len(b)-1] != 0 || bytes.IndexByte(b[1:len(b)-1], 0) >= 0 {
			t.Fatalf("zeros must be at both ends and nowhere else: %X", b)
		}
		var d Decoder
		n := 0
		feed(&d, b, rapid.SliceOfN(rapid.IntRange(1, 300), 1, 10).Draw(t, "split"), func(f *Frame) {
			n++
			if f.Err != nil || !reflect.DeepEqual(f.Message, m) {
				t.Fatalf("got %+v, %v, want %+v", f.Message, f.Err, m)
			}
			if f.Header != (Header{m.Type(), sessionFor(m), 0}) || f.Offset != 1 {
				t.Fatalf("header %+v at %d", f.Header, f.Offset)
			}
		})
		if l := d.Losses(); n != 1 || l.Damage.Pieces != 0 || l.FramesMissing != 0 {
			t.Fatalf("%d frames, %+v", n, l)
		}
	})
}
