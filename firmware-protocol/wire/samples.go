package wire

import (
	"encoding/binary"
	"fmt"
)

// Samples holds consecutive samples: no sampling tick is left out inside a frame.
type Samples struct {
	// Index numbers the first sample. It counts sampling ticks of the session from 0, ticks that the device missed
	// or threw away included, and wraps after 2^32.
	Index   uint32
	StampUS uint64 // device clock at the first sample
	SpanUS  uint32 // from the first sample to the last; 0 where there is one
	// Channels is the number of packed values in a sample, as in the hello of the session.
	Channels int
	// Values are the packed values, sample after sample: value c of sample i is Values[i*Channels+c].
	Values []uint16
}

const samplesFixed = 4 + 8 + 4 + 1 + 1

// Type returns TypeSamples.
func (m *Samples) Type() Type { return TypeSamples }

// Len returns the number of samples.
func (m *Samples) Len() int {
	if m.Channels < 1 {
		return 0
	}
	return len(m.Values) / m.Channels
}

// StampAt returns the device clock, in µs, at sample i: the samples of a frame are evenly spaced.
func (m *Samples) StampAt(i int) float64 {
	if i == 0 {
		return float64(m.StampUS)
	}
	return float64(m.StampUS) + float64(m.SpanUS)*float64(i)/float64(m.Len()-1)
}

func (m *Samples) check() error {
	n := m.Len()
	if m.Channels < 1 || m.Channels > MaxChannels || n < 1 || n > MaxSamples || n*m.Channels != len(m.Values) || len(m.Values) > MaxValues {
		return fmt.Errorf("samples: %d values in %d channels, want 1 to %d channels and 1 to %d whole samples, at most %d values",
			len(m.Values), m.Channels, MaxChannels, MaxSamples, MaxValues)
	}
	return nil
}

func (m *Samples) appendPayload(dst []byte) ([]byte, error) {
	if err := m.check(); err != nil {
		return dst, err
	}
	dst = binary.LittleEndian.AppendUint32(dst, m.Index)
	dst = binary.LittleEndian.AppendUint64(dst, m.StampUS)
	dst = binary.LittleEndian.AppendUint32(dst, m.SpanUS)
	dst = append(dst, byte(m.Len()), byte(m.Channels))
	for _, v := range m.Values {
		dst = append(dst, byte(v), byte(v>>8))
	}
	return dst, nil
}

func (m *Samples) parsePayload(b []byte) error {
	if err := needPayload(b, samplesFixed, "samples"); err != nil {
		return err
	}
	m.Index = binary.LittleEndian.Uint32(b)
	m.StampUS = binary.LittleEndian.Uint64(b[4:])
	m.SpanUS = binary.LittleEndian.Uint32(b[12:])
	n, channels := int(b[16]), int(b[17])
	data := b[samplesFixed:]
	if n < 1 || channels < 1 || channels > MaxChannels || len(data) != 2*n*channels {
		return fmt.Errorf("samples: %d samples of %d channels in %d bytes", n, channels, len(data))
	}
	m.Channels = channels
	if cap(m.Values) < MaxValues {
		m.Values = make([]uint16, MaxValues)
	}
	m.Values = m.Values[:n*channels]
	for i := range m.Values {
		m.Values[i] = uint16(data[2*i]) | uint16(data[2*i+1])<<8
	}
	return nil
}
