package wire

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"unicode/utf8"
)

// A Kind says what a channel measures.
type Kind uint8

// The kinds of channel.
const (
	KindOther        Kind = 0
	KindTravel       Kind = 1 // travel of the fork
	KindTravel2      Kind = 2 // a second travel sensor, on the fork or elsewhere
	KindSpeed        Kind = 3 // of the bicycle
	KindAcceleration Kind = 4 // one axis; the name says which
	KindTemperature  Kind = 5
	KindMarkerInput  Kind = 6 // a switch or gate, sampled: 0 open, anything else closed
	KindPressure     Kind = 7
	KindTurnRate     Kind = 8 // one axis; the name says which
	KindDistance     Kind = 9 // along the ground
)

// A Unit is the unit of a channel's values after scale and offset.
type Unit uint8

// The units.
const (
	UnitNone            Unit = 0
	UnitCounts          Unit = 1 // ADC codes
	UnitVolt            Unit = 2
	UnitPercent         Unit = 3
	UnitMM              Unit = 4
	UnitMetre           Unit = 5
	UnitMetrePerSecond  Unit = 6
	UnitMetrePerSecond2 Unit = 7
	UnitCelsius         Unit = 8
	UnitKilopascal      Unit = 9
	UnitRadianPerSecond Unit = 10
)

// A Channel describes one column of the samples.
type Channel struct {
	Kind   Kind
	Unit   Unit
	Signed bool // packed values are two's complement
	// Sparse channels use one packed value for "no reading": FFFF where unsigned, 8000 where signed.
	Sparse  bool
	ADCBits uint8 // width of the converter's codes, 0 where unknown or not from a converter
	// FullScale is the largest size of value, in Unit, that the sensor can give; 0 where unknown.
	FullScale float32
	Scale     float32 // value in Unit = Scale*packed + Offset
	Offset    float32
	Name      string
}

// Value returns the value in c.Unit of a packed value, and false where the packed value means "no reading".
func (c *Channel) Value(packed uint16) (v float64, ok bool) {
	v = float64(packed)
	none := uint16(0xFFFF)
	if c.Signed {
		v = float64(int16(packed))
		none = 0x8000
	}
	if c.Sparse && packed == none {
		return 0, false
	}
	return float64(c.Scale)*v + float64(c.Offset), true
}

// Hello describes the device. It is sent at power-up or reset, when asked, after each change of rate, and now and then by a device
// that cannot hear.
type Hello struct {
	Major, Minor uint8  // protocol version; an Encoder fills them in where both are 0
	StampUS      uint64 // device clock at sending
	RateMilliHz  uint32 // nominal sample rate
	Streaming    bool   // samples are being sent
	Device       string // id of this one device, such as a serial number
	Firmware     string
	Channels     []Channel
}

const (
	helloFixed   = 2 + 8 + 4 + 1
	channelFixed = 4 + 12

	flagStreaming = 1

	flagSigned = 1
	flagSparse = 2
)

// Type returns TypeHello.
func (m *Hello) Type() Type { return TypeHello }

func (m *Hello) appendPayload(dst []byte) ([]byte, error) {
	major, minor := m.Major, m.Minor
	if major == 0 && minor == 0 {
		major, minor = VersionMajor, VersionMinor
	}
	if n := len(m.Channels); n < 1 || n > MaxChannels {
		return dst, fmt.Errorf("hello: %d channels, want 1 to %d", n, MaxChannels)
	}
	dst = append(dst, major, minor)
	dst = binary.LittleEndian.AppendUint64(dst, m.StampUS)
	dst = binary.LittleEndian.AppendUint32(dst, m.RateMilliHz)
	dst = append(dst, flag(m.Streaming, flagStreaming))
	dst, err := appendText(dst, m.Device, MaxText, "device id")
	if err != nil {
		return dst, err
	}
	if dst, err = appendText(dst, m.Firmware, MaxText, "firmware version"); err != nil {
		return dst, err
	}
	dst = append(dst, byte(len(m.Channels)))
	for i := range m.Channels {
		if dst, err = m.Channels[i].append(dst); err != nil {
			return dst, fmt.Errorf("hello: channel %d: %w", i, err)
		}
	}
	return dst, nil
}

func (c *Channel) append(dst []byte) ([]byte, error) {
	for _, f := range []float32{c.FullScale, c.Scale, c.Offset} {
		if f64 := float64(f); math.IsNaN(f64) || math.IsInf(f64, 0) {
			return dst, errors.New("full scale, scale and offset must be finite")
		}
	}
	lengthAt := len(dst)
	dst = append(dst, 0, byte(c.Kind), byte(c.Unit), flag(c.Signed, flagSigned)|flag(c.Sparse, flagSparse), c.ADCBits)
	for _, f := range []float32{c.FullScale, c.Scale, c.Offset} {
		dst = binary.LittleEndian.AppendUint32(dst, math.Float32bits(f))
	}
	dst, err := appendText(dst, c.Name, MaxChannelName, "name")
	dst[lengthAt] = byte(len(dst) - lengthAt - 1)
	return dst, err
}

func (m *Hello) parsePayload(b []byte) error {
	if err := needPayload(b, helloFixed, "hello"); err != nil {
		return err
	}
	m.Major, m.Minor = b[0], b[1]
	if m.Major != VersionMajor {
		return fmt.Errorf("hello: protocol version %d.%d, this program reads %d.x; use a newer program", m.Major, m.Minor, VersionMajor)
	}
	m.StampUS = binary.LittleEndian.Uint64(b[2:])
	m.RateMilliHz = binary.LittleEndian.Uint32(b[10:])
	m.Streaming = b[14]&flagStreaming != 0
	var err error
	if m.Device, b, err = cutText(b[helloFixed:], MaxText, "device id"); err != nil {
		return err
	}
	if m.Firmware, b, err = cutText(b, MaxText, "firmware version"); err != nil {
		return err
	}
	if len(b) == 0 || b[0] < 1 || b[0] > MaxChannels {
		return fmt.Errorf("hello: number of channels is missing or not 1 to %d", MaxChannels)
	}
	// A fresh slice: a caller may keep the hello's channels after the next frame.
	m.Channels = make([]Channel, b[0])
	b = b[1:]
	for i := range m.Channels {
		if len(b) == 0 || len(b) <= int(b[0]) {
			return fmt.Errorf("hello: cut short in channel %d", i)
		}
		entry := b[1 : 1+int(b[0])]
		b = b[1+len(entry):]
		if err := m.Channels[i].parse(entry); err != nil {
			return fmt.Errorf("hello: channel %d: %w", i, err)
		}
	}
	return nil
}

func (c *Channel) parse(b []byte) error {
	if err := needPayload(b, channelFixed, "entry"); err != nil {
		return err
	}
	c.Kind, c.Unit, c.ADCBits = Kind(b[0]), Unit(b[1]), b[3]
	c.Signed, c.Sparse = b[2]&flagSigned != 0, b[2]&flagSparse != 0
	for i, f := range []*float32{&c.FullScale, &c.Scale, &c.Offset} {
		*f = math.Float32frombits(binary.LittleEndian.Uint32(b[4+4*i:]))
		if f64 := float64(*f); math.IsNaN(f64) || math.IsInf(f64, 0) {
			return errors.New("full scale, scale or offset is not finite")
		}
	}
	var err error
	c.Name, _, err = cutText(b[channelFixed:], MaxChannelName, "name")
	return err
}

func flag(on bool, bit byte) byte {
	if on {
		return bit
	}
	return 0
}

// appendText appends a length byte and the text.
func appendText(dst []byte, s string, most int, what string) ([]byte, error) {
	if len(s) > most || !utf8.ValidString(s) {
		return dst, fmt.Errorf("%s %q: want UTF-8 of at most %d bytes", what, s, most)
	}
	return append(append(dst, byte(len(s))), s...), nil
}

// cutText reads a length byte and the text, and returns what follows.
func cutText(b []byte, most int, what string) (s string, rest []byte, err error) {
	if len(b) == 0 || int(b[0]) > len(b)-1 {
		return "", nil, fmt.Errorf("%s: cut short", what)
	}
	text, rest := b[1:1+int(b[0])], b[1+int(b[0]):]
	if len(text) > most || !utf8.Valid(text) {
		return "", nil, fmt.Errorf("%s: not UTF-8 of at most %d bytes", what, most)
	}
	return string(text), rest, nil
}
