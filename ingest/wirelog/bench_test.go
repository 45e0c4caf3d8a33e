package wirelog

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"stanchion/firmware-protocol/wire"
)

// BenchmarkReadHour reads a log of one hour.
func BenchmarkReadHour(b *testing.B) {
	for _, c := range []struct {
		name     string
		channels int
		rateHz   int
	}{{"2ch-1kHz", 2, 1000}, {"4ch-4kHz", 4, 4000}} {
		b.Run(c.name, func(b *testing.B) {
			path := filepath.Join(b.TempDir(), "hour.slog")
			writeHour(b, path, c.channels, c.rateHz)
			info, err := os.Stat(path)
			if err != nil {
				b.Fatal(err)
			}
			b.SetBytes(info.Size())
			b.ReportAllocs()
			for b.Loop() {
				rec, err := Read(context.Background(), path, Options{})
				if err != nil {
					b.Fatal(err)
				}
				if len(rec.Travel) != 3600*c.rateHz {
					b.Fatalf("%d samples", len(rec.Travel))
				}
			}
		})
	}
}

// writeHour writes a log in frames of 20 ms.
func writeHour(b *testing.B, path string, channels, rateHz int) {
	enc := wire.NewEncoder(9)
	hello := &wire.Hello{RateMilliHz: uint32(rateHz * 1000)}
	for i := range channels {
		kind := wire.KindOther
		if i == 0 {
			kind = wire.KindTravel
		}
		hello.Channels = append(hello.Channels, wire.Channel{Kind: kind, Unit: wire.UnitCounts, Scale: 1})
	}
	out, err := enc.Append(nil, hello)
	if err != nil {
		b.Fatal(err)
	}
	per := rateHz / 50
	m := &wire.Samples{Channels: channels, SpanUS: uint32((per - 1) * 1_000_000 / rateHz), Values: make([]uint16, per*channels)}
	for range 3600 * 50 {
		for i := range m.Values {
			m.Values[i] = uint16(int(m.Index)+i*7) & 0xFFF
		}
		if out, err = enc.Append(out, m); err != nil {
			b.Fatal(err)
		}
		m.Index += uint32(per)
		m.StampUS += 20_000
	}
	if err := os.WriteFile(path, out, 0o644); err != nil {
		b.Fatal(err)
	}
}
