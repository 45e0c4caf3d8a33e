package wire

import "fmt"

// A Type says what a frame holds.
type Type uint8

// The frame types. 01 to 3F are sent by devices, 40 to 7F are free for makers of devices, 80 to BF are commands of the host, C0 to
// FF are written into logs by the host and never sent.
const (
	TypeHello   Type = 0x01
	TypeSamples Type = 0x02
	TypeMarker  Type = 0x03
	TypeStatus  Type = 0x04
	TypeEnd     Type = 0x05
	TypeReply   Type = 0x06

	TypeIdentify Type = 0x81
	TypeStart    Type = 0x82
	TypeStop     Type = 0x83
	TypeSetRate  Type = 0x84
	TypeMark     Type = 0x85

	TypeHostTime Type = 0xC1
	TypeHostGap  Type = 0xC2
	TypeHostNote Type = 0xC3
)

// FromDevice reports whether frames of this type are sent by devices, and so carry a session and a running sequence number.
func (t Type) FromDevice() bool { return t < 0x80 }

// A Header opens every frame.
type Header struct {
	Type Type
	// Session is drawn anew by the device at each power-up or reset, and is 0 in frames of the host.
	Session uint32
	// Sequence counts the frames of the session from 0, whatever their type, and wraps after 2^32.
	Sequence uint32
}

// A Message is the content of a frame: one of the pointer types of this package that has these methods, such as *Samples.
type Message interface {
	// Type returns the frame type of the message.
	Type() Type
	// appendPayload appends the payload to dst, or says why the message cannot be sent.
	appendPayload(dst []byte) ([]byte, error)
	// parsePayload reads the payload; it keeps no part of b.
	parsePayload(b []byte) error
}

// A Frame is a whole frame as the Decoder met it.
type Frame struct {
	Header
	// Offset is where the first byte of the frame lies in the stream, counted from 0, its delimiter left out.
	Offset int64
	// Message is nil where the CRC was right but the payload could not be understood; Err then says why.
	Message Message
	Err     error
	// Place says how the frame follows the ones before it.
	Place Place
	// Gap is what is missing just before this frame. Zero where nothing is.
	Gap Gap
}

// Other holds the payload of a frame of a type that this package does not know: of a later version, or a maker's own.
type Other struct {
	Kind    Type
	Payload []byte
}

// Type returns the frame type.
func (m *Other) Type() Type { return m.Kind }

func (m *Other) appendPayload(dst []byte) ([]byte, error) { return append(dst, m.Payload...), nil }

func (m *Other) parsePayload(b []byte) error {
	m.Payload = append(m.Payload[:0], b...)
	return nil
}

// needPayload reports a payload that is shorter than the fields of version 1. A longer one is of a later version, whose new fields
// come after the known ones.
func needPayload(b []byte, want int, what string) error {
	if len(b) < want {
		return fmt.Errorf("%s: payload of %d bytes, want at least %d", what, len(b), want)
	}
	return nil
}
