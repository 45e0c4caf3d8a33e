package wire

import (
	"bytes"
	"fmt"
	"math"
	"testing"
)

// benchSamples are frames of 12-bit travel counts that move as a fork does, with a little noise.
func benchSamples(channels, perFrame, frames int) []*Samples {
	var out []*Samples
	for k := range frames {
		m := &Samples{Index: uint32(k * perFrame), StampUS: uint64(k*perFrame) * 1000, SpanUS: uint32(perFrame-1) * 1000, Channels: channels}
		for i := range perFrame {
			at := float64(k*perFrame + i)
			for c := range channels {
				m.Values = append(m.Values, uint16(1500+900*math.Sin(at/40+float64(c))+20*math.Sin(at*1.7)))
			}
		}
		out = append(out, m)
	}
	return out
}

func encodeAll(b testing.TB, ms []*Samples) []byte {
	e := NewEncoder(1)
	var stream []byte
	var err error
	for _, m := range ms {
		if stream, err = e.Append(stream, m); err != nil {
			b.Fatal(err)
		}
	}
	return stream
}

var benchSizes = []struct{ channels, perFrame int }{{1, 32}, {2, 32}, {2, 100}, {4, 32}}

func BenchmarkEncode(b *testing.B) {
	for _, size := range benchSizes {
		b.Run(fmt.Sprintf("%dch_%dperframe", size.channels, size.perFrame), func(b *testing.B) {
			ms := benchSamples(size.channels, size.perFrame, 1000)
			buf := encodeAll(b, ms)
			e := NewEncoder(1)
			b.SetBytes(int64(len(buf)))
			b.ReportAllocs()
			for b.Loop() {
				buf = buf[:0]
				for _, m := range ms {
					var err error
					if buf, err = e.Append(buf, m); err != nil {
						b.Fatal(err)
					}
				}
			}
			reportRate(b, len(ms)*size.perFrame)
		})
	}
}

func BenchmarkDecode(b *testing.B) {
	for _, size := range benchSizes {
		b.Run(fmt.Sprintf("%dch_%dperframe", size.channels, size.perFrame), func(b *testing.B) {
			stream := encodeAll(b, benchSamples(size.channels, size.perFrame, 1000))
			b.SetBytes(int64(len(stream)))
			b.ReportAllocs()
			var d Decoder
			for b.Loop() {
				d = Decoder{}
				n := 0
				for p := stream; len(p) > 0; {
					var f *Frame
					if f, p = d.Next(p); f != nil {
						n += f.Message.(*Samples).Len()
					}
				}
				if n != 1000*size.perFrame {
					b.Fatal(n)
				}
			}
			reportRate(b, 1000*size.perFrame)
		})
	}
}

func reportRate(b *testing.B, samples int) {
	b.ReportMetric(float64(samples)*float64(b.N)/b.Elapsed().Seconds()/1e6, "Msamples/s")
}

// An hour of two channels at 1 kHz, through an io.Reader, as a log is opened.
func BenchmarkOpenHour(b *testing.B) {
	stream := encodeAll(b, benchSamples(2, 40, 3600*1000/40))
	b.SetBytes(int64(len(stream)))
	b.ReportAllocs()
	for b.Loop() {
		r := NewReader(bytes.NewReader(stream))
		n := 0
		for {
			f, err := r.Next()
			if err != nil {
				break
			}
			n += f.Message.(*Samples).Len()
		}
		if n != 3600*1000 {
			b.Fatal(n)
		}
	}
}

func BenchmarkText(b *testing.B) {
	var text []byte
	for i := range 100_000 {
		text = fmt.Appendf(text, "%d,%d\n", i*1000, 2000+i%97)
	}
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		d := NewLineDecoder(false)
		for p := text; len(p) > 0; {
			_, p = d.Next(p)
		}
		if rows, bad := d.Rows(); rows != 100_000 || bad != 0 {
			b.Fatal(rows, bad)
		}
	}
	reportRate(b, 100_000)
}
