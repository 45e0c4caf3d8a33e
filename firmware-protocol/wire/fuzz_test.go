package wire

import (
	"bytes"
	"reflect"
	"testing"
	"unsafe"
)

func addSeeds(f *testing.F) {
	for _, v := range readVectors(f) {
		f.Add(v.frame)
	}
	r := &ride{}
	d := r.start(f, 3)
	for n := range 5 {
		d.sample(f, n+1)
		d.send(f, &Status{Samples: d.index})
	}
	b := r.bytes()
	f.Add(b)
	f.Add(append(b[:100:100], b[50:]...)) // a torn frame, and repeats
	f.Add(bytes.Repeat([]byte{0xFF}, 3*MaxEncoded))
	f.Add(bytes.Repeat([]byte{1}, MaxEncoded))
	f.Add([]byte("1000,2048\n2000,2049\n3000,2050\n"))
}

// Whatever comes first, a clean frame after it comes out, the counts add up, and the split of the bytes makes no difference.
func FuzzDecode(f *testing.F) {
	addSeeds(f)
	probe := &Marker{StampUS: 42, Label: LabelGate}
	tail, err := NewEncoder(0xDEADBEEF).Append(nil, probe)
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		var whole, split Decoder
		var frames []Frame
		stream := append(bytes.Clone(b), tail...)
		feed(&whole, stream, nil, func(f *Frame) {
			frames = append(frames, Frame{Header: f.Header, Offset: f.Offset, Place: f.Place, Gap: f.Gap})
			if (f.Message == nil) != (f.Err != nil) {
				t.Fatalf("message %v with error %v", f.Message, f.Err)
			}
			if f.Message != nil {
				checkAgain(t, f)
			}
		})
		last := frames[len(frames)-1]
		if last.Session != 0xDEADBEEF || last.Type != TypeMarker || last.Offset != int64(len(b)+1) {
			t.Errorf("the clean frame at the end was lost: %+v", last)
		}
		n := 0
		feed(&split, stream, []int{1, 2, 3, 5, 1000, 1}, func(f *Frame) {
			if n >= len(frames) || f.Header != frames[n].Header || f.Offset != frames[n].Offset || f.Place != frames[n].Place || f.Gap != frames[n].Gap {
				t.Fatalf("split at other places, frame %d is %+v", n, f)
			}
			n++
		})
		l := whole.Losses()
		if n != len(frames) || l != split.Losses() {
			t.Errorf("split: %d frames, %+v; whole: %d frames, %+v", n, split.Losses(), len(frames), l)
		}
		if d := l.Damage; l.Bytes != int64(len(stream)) || l.Bytes != d.FrameBytes+d.DelimiterBytes+d.PieceBytes+d.TornBytes {
			t.Errorf("%d bytes do not add up: %+v", len(stream), l)
		}
		if l.FramesMissing < 0 || l.SamplesMissing < 0 || l.SamplesSkipped < 0 || l.FramesBefore < 0 || l.SamplesBefore < 0 ||
			l.Frames+l.HostFrames != int64(len(frames)) {
			t.Errorf("impossible losses: %+v", l)
		}
	})
}

// checkAgain encodes the frame's message and decodes that: it must be the same message.
func checkAgain(t *testing.T, f *Frame) {
	if f.Type.FromDevice() == (f.Session == 0) {
		return // decoded, but not to be sent like that
	}
	e := NewEncoder(f.Session)
	b, err := e.Append(nil, f.Message)
	if err != nil {
		t.Fatalf("a decoded message cannot be encoded: %+v: %v", f.Message, err)
	}
	var d Decoder
	feed(&d, b, nil, func(again *Frame) {
		if !reflect.DeepEqual(again.Message, f.Message) {
			t.Fatalf("%+v became %+v", f.Message, again.Message)
		}
	})
}

// Payloads behind a right CRC, which FuzzDecode cannot find.
func FuzzPayload(f *testing.F) {
	for _, v := range readVectors(f) {
		raw, err := AppendUnstuffed(nil, v.frame[1:len(v.frame)-1])
		if err != nil {
			f.Fatal(err)
		}
		f.Add(raw[0], raw[headerSize:len(raw)-sumSize])
	}
	f.Fuzz(func(t *testing.T, kind uint8, payload []byte) {
		if len(payload) > MaxPayload {
			return
		}
		session := uint32(7)
		if !Type(kind).FromDevice() {
			session = 0
		}
		b, err := NewEncoder(session).Append(nil, &Other{Type(kind), payload})
		if err != nil {
			t.Fatal(err)
		}
		var d Decoder
		n := 0
		feed(&d, b, nil, func(f *Frame) {
			n++
			if f.Message != nil {
				checkAgain(t, f)
			}
		})
		if n != 1 {
			t.Errorf("%d frames", n)
		}
	})
}

func FuzzLines(f *testing.F) {
	f.Add([]byte("micros,count\n0,1\n1000,2\r\n2000,3.5\n"), false)
	f.Add([]byte("# board\n4294967000,1,-2\n296,1,+.5\n5,1,1\n"), true)
	f.Add([]byte("1,2\n1,2,3\n1\n,\n1,x\n\xff,1\n"+string(bytes.Repeat([]byte("9"), 400))+",1\n"), false)
	f.Fuzz(func(t *testing.T, b []byte, joined bool) {
		whole, split := NewLineDecoder(joined), NewLineDecoder(joined)
		var lines []Line
		var values [][]float64
		for p := b; len(p) > 0; {
			var l *Line
			if l, p = whole.Next(p); l != nil {
				lines, values = append(lines, *l), append(values, append([]float64(nil), l.Values...))
				if (l.Kind == LineBad) != (l.Err != nil) || (l.Kind == LineRow) != (len(l.Values) > 0) {
					t.Fatalf("%+v", l)
				}
			}
		}
		n := 0
		for i := range b {
			l, _ := split.Next(b[i : i+1])
			if l == nil {
				continue
			}
			w := lines[n]
			if l.Kind != w.Kind || l.StampUS != w.StampUS || l.Number != w.Number || l.Err != w.Err || !reflect.DeepEqual(append([]float64(nil), l.Values...), values[n]) {
				t.Fatalf("byte by byte, line %d is %+v, want %+v", n, l, w)
			}
			n++
		}
		if n != len(lines) || !reflect.DeepEqual(whole.Close(), split.Close()) {
			t.Errorf("%d lines, want %d", n, len(lines))
		}
	})
}

// The bounds that the package comment states.
func TestMemory(t *testing.T) {
	const samplesAndOther = 2*MaxValues + 1024 // the buffers that messages grow to
	if got := unsafe.Sizeof(Decoder{}) + samplesAndOther; got > 16<<10 {
		t.Errorf("a Decoder takes %d bytes, want at most 16 KiB", got)
	}
	if got := unsafe.Sizeof(LineDecoder{}); got > 1<<10 {
		t.Errorf("a LineDecoder takes %d bytes, want at most 1 KiB", got)
	}
	// The largest frames there can be, over and over: what is taken for good stays within the bound.
	var d Decoder
	big, err := NewEncoder(1).Append(nil, &Other{0x40, bytes.Repeat([]byte{1}, MaxPayload)})
	if err != nil {
		t.Fatal(err)
	}
	for range 10 {
		d.Next(big)
	}
	if n := cap(d.known.other.Payload) + 2*cap(d.known.samples.Values); n > samplesAndOther {
		t.Errorf("messages hold %d bytes, want at most %d", n, samplesAndOther)
	}
}

// Neither decoder allocates for a frame of samples, a row, or damage.
func TestNoAllocation(t *testing.T) {
	stream := encodeAll(t, benchSamples(2, 32, 50))
	noise := bytes.Repeat([]byte{9, 0, 0xFF, 3, 7, 7}, 1000)
	noise = append(noise, bytes.Repeat([]byte{5}, 10*MaxEncoded)...)
	var d Decoder
	e := NewEncoder(1)
	m := benchSamples(2, 32, 1)[0]
	buf := make([]byte, 0, 2*MaxEncoded)
	lines := NewLineDecoder(false)
	text := []byte("0,1,2.25\n1000,5,-3.5\nbad\n2000,1\n")
	long := bytes.Repeat([]byte("7"), 5000)
	for name, run := range map[string]func(){
		"decode": func() {
			for p := stream; len(p) > 0; {
				_, p = d.Next(p)
			}
		},
		"noise": func() {
			for p := noise; len(p) > 0; {
				_, p = d.Next(p)
			}
		},
		"encode": func() { buf, _ = e.Append(buf[:0], m) },
		"text": func() {
			for p := text; len(p) > 0; {
				_, p = lines.Next(p)
			}
			lines.Next(long)
		},
	} {
		if got := testing.AllocsPerRun(50, run); got != 0 {
			t.Errorf("%s: %v allocations a run, want none", name, got)
		}
	}
}
