package wire_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"

	"stanchion/firmware-protocol/wire"
)

// Reads a log whose second samples frame was damaged.
func ExampleReader() {
	device := wire.NewEncoder(0x51A7)
	var log []byte
	put := func(m wire.Message) int {
		start := len(log)
		var err error
		if log, err = device.Append(log, m); err != nil {
			fmt.Println(err)
		}
		return start
	}
	put(&wire.Hello{Device: "fork-7", RateMilliHz: 1_000_000, Channels: []wire.Channel{
		{Kind: wire.KindTravel, Unit: wire.UnitMM, Scale: 0.05, FullScale: 200, Name: "travel"}}})
	put(&wire.Samples{Index: 0, StampUS: 10_000, SpanUS: 1000, Channels: 1, Values: []uint16{400, 410}})
	damaged := put(&wire.Samples{Index: 2, StampUS: 12_000, SpanUS: 1000, Channels: 1, Values: []uint16{420, 440}})
	put(&wire.Samples{Index: 4, StampUS: 14_000, SpanUS: 1000, Channels: 1, Values: []uint16{470, 500}})
	log[damaged+20] ^= 4

	r := wire.NewReader(bytes.NewReader(log))
	var channel wire.Channel
	for {
		f, err := r.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			fmt.Println(err)
			return
		}
		switch m := f.Message.(type) {
		case *wire.Hello:
			channel = m.Channels[0]
			fmt.Println(m.Device, channel.Name)
		case *wire.Samples:
			if f.Gap.Samples > 0 {
				fmt.Printf("%d samples missing from %d to %d µs\n", f.Gap.Samples, f.Gap.FromUS, f.Gap.ToUS)
			}
			for i, packed := range m.Values {
				if mm, ok := channel.Value(packed); ok {
					fmt.Printf("%.0f µs: %.1f mm\n", m.StampAt(i), mm)
				}
			}
		}
	}
	l := r.Losses()
	fmt.Printf("%d frames, %d missing, %d damaged piece\n", l.Frames, l.FramesMissing, l.Damage.Pieces)
	// Output:
	// fork-7 travel
	// 10000 µs: 20.0 mm
	// 11000 µs: 20.5 mm
	// 2 samples missing from 11000 to 14000 µs
	// 14000 µs: 23.5 mm
	// 15000 µs: 25.0 mm
	// 3 frames, 1 missing, 1 damaged piece
}
