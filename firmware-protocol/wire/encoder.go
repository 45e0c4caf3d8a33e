package wire

import (
	"encoding/binary"
	"errors"
	"fmt"
)

// An Encoder makes the frames of one sender. It is not safe for use by several goroutines at once.
type Encoder struct {
	session  uint32
	sequence uint32
	raw      [MaxFrame]byte
}

// NewEncoder returns an Encoder whose frames bear the given session and count from sequence 0. A device draws a session other than
// 0 at each power-up; a host uses 0.
func NewEncoder(session uint32) *Encoder { return &Encoder{session: session} }

// Sequence returns the sequence number that the next frame will have.
func (e *Encoder) Sequence() uint32 { return e.sequence }

// Append appends m as a whole frame, with a zero byte before and after it, to dst and returns the longer slice. Where m cannot
// be sent it returns dst as it was, and why; no sequence number is used up. It allocates only where dst has to grow.
func (e *Encoder) Append(dst []byte, m Message) ([]byte, error) {
	if m.Type().FromDevice() != (e.session != 0) {
		return dst, fmt.Errorf("frame type %02X with session %d: devices use a session other than 0, hosts use 0", uint8(m.Type()), e.session)
	}
	raw := append(e.raw[:0], byte(m.Type()))
	raw = binary.LittleEndian.AppendUint32(raw, e.session)
	raw = binary.LittleEndian.AppendUint32(raw, e.sequence)
	raw, err := m.appendPayload(raw)
	if err != nil {
		return dst, err
	}
	if len(raw) > headerSize+MaxPayload {
		return dst, errors.New("payload is too long for a frame")
	}
	raw = binary.LittleEndian.AppendUint32(raw, Checksum(raw))
	e.sequence++
	return append(AppendStuffed(append(dst, 0), raw), 0), nil
}
