package wire

import (
	"encoding/binary"
	"fmt"
	"unicode/utf8"
)

// Identify asks the device for a hello.
type Identify struct{}

// Start asks the device to send samples.
type Start struct{}

// Stop asks the device to send what it has, then an end.
type Stop struct{}

// SetRate asks for a sample rate. The reply tells the rate that the device took, the nearest that it can.
type SetRate struct{ RateMilliHz uint32 }

// Mark asks the device to send a marker with its own clock.
type Mark struct{ Label Label }

// Type returns TypeIdentify.
func (m *Identify) Type() Type { return TypeIdentify }

// Type returns TypeStart.
func (m *Start) Type() Type { return TypeStart }

// Type returns TypeStop.
func (m *Stop) Type() Type { return TypeStop }

// Type returns TypeSetRate.
func (m *SetRate) Type() Type { return TypeSetRate }

// Type returns TypeMark.
func (m *Mark) Type() Type { return TypeMark }

func (m *Identify) appendPayload(dst []byte) ([]byte, error) { return dst, nil }
func (m *Start) appendPayload(dst []byte) ([]byte, error)    { return dst, nil }
func (m *Stop) appendPayload(dst []byte) ([]byte, error)     { return dst, nil }

func (m *Identify) parsePayload([]byte) error { return nil }
func (m *Start) parsePayload([]byte) error    { return nil }
func (m *Stop) parsePayload([]byte) error     { return nil }

func (m *SetRate) appendPayload(dst []byte) ([]byte, error) {
	return binary.LittleEndian.AppendUint32(dst, m.RateMilliHz), nil
}

func (m *SetRate) parsePayload(b []byte) error {
	if err := needPayload(b, 4, "set rate"); err != nil {
		return err
	}
	m.RateMilliHz = binary.LittleEndian.Uint32(b)
	return nil
}

func (m *Mark) appendPayload(dst []byte) ([]byte, error) {
	return binary.LittleEndian.AppendUint16(dst, uint16(m.Label)), nil
}

func (m *Mark) parsePayload(b []byte) error {
	if err := needPayload(b, 2, "mark"); err != nil {
		return err
	}
	m.Label = Label(binary.LittleEndian.Uint16(b))
	return nil
}

// HostTime is written into a log by the host: the wall time at which it received the frame just before.
type HostTime struct {
	UnixUS  int64 // µs since 1970-01-01T00:00:00 UTC
	ZoneMin int16 // local time minus UTC, minutes
}

// A GapCause says why the host received nothing for a while.
type GapCause uint8

// The causes.
const (
	GapUnknown   GapCause = 0
	GapUnplugged GapCause = 1 // the port went away
	GapHostBusy  GapCause = 2 // the host did not read in time
	GapPaused    GapCause = 3 // the user paused the capture
	GapRestarted GapCause = 4 // the capture program was stopped, and started again on the same log
)

// HostGap is written into a log by the host where it knows that it was not listening.
type HostGap struct {
	UnixUS     int64 // wall time at which it began
	DurationUS uint64
	Cause      GapCause
}

// A NoteKind says what a note is about.
type NoteKind uint8

// The kinds of note.
const (
	NoteComment     NoteKind = 0 // free text
	NoteTool        NoteKind = 1 // name and version of the program that writes the log
	NoteCalibration NoteKind = 2 // which calibration belongs to the log
	NotePort        NoteKind = 3 // port and settings that the stream came through
)

// HostNote is text written into a log by the host.
type HostNote struct {
	Kind NoteKind
	Text string // UTF-8, at most MaxNote bytes
}

const (
	hostTimeFixed = 8 + 2
	hostGapFixed  = 8 + 8 + 1
	hostNoteFixed = 1 + 2
)

// Type returns TypeHostTime.
func (m *HostTime) Type() Type { return TypeHostTime }

func (m *HostTime) appendPayload(dst []byte) ([]byte, error) {
	dst = binary.LittleEndian.AppendUint64(dst, uint64(m.UnixUS))
	return binary.LittleEndian.AppendUint16(dst, uint16(m.ZoneMin)), nil
}

func (m *HostTime) parsePayload(b []byte) error {
	if err := needPayload(b, hostTimeFixed, "host time"); err != nil {
		return err
	}
	m.UnixUS, m.ZoneMin = int64(binary.LittleEndian.Uint64(b)), int16(binary.LittleEndian.Uint16(b[8:]))
	return nil
}

// Type returns TypeHostGap.
func (m *HostGap) Type() Type { return TypeHostGap }

func (m *HostGap) appendPayload(dst []byte) ([]byte, error) {
	dst = binary.LittleEndian.AppendUint64(dst, uint64(m.UnixUS))
	dst = binary.LittleEndian.AppendUint64(dst, m.DurationUS)
	return append(dst, byte(m.Cause)), nil
}

func (m *HostGap) parsePayload(b []byte) error {
	if err := needPayload(b, hostGapFixed, "host gap"); err != nil {
		return err
	}
	*m = HostGap{int64(binary.LittleEndian.Uint64(b)), binary.LittleEndian.Uint64(b[8:]), GapCause(b[16])}
	return nil
}

// Type returns TypeHostNote.
func (m *HostNote) Type() Type { return TypeHostNote }

func (m *HostNote) appendPayload(dst []byte) ([]byte, error) {
	if len(m.Text) > MaxNote || !utf8.ValidString(m.Text) {
		return dst, fmt.Errorf("host note of %d bytes: want UTF-8 of at most %d bytes", len(m.Text), MaxNote)
	}
	dst = append(dst, byte(m.Kind))
	dst = binary.LittleEndian.AppendUint16(dst, uint16(len(m.Text)))
	return append(dst, m.Text...), nil
}

func (m *HostNote) parsePayload(b []byte) error {
	if err := needPayload(b, hostNoteFixed, "host note"); err != nil {
		return err
	}
	n := int(binary.LittleEndian.Uint16(b[1:]))
	text := b[hostNoteFixed:]
	if n > MaxNote || n > len(text) || !utf8.Valid(text[:n]) {
		return fmt.Errorf("host note: text of %d bytes in %d, want UTF-8 of at most %d bytes", n, len(text), MaxNote)
	}
	m.Kind, m.Text = NoteKind(b[0]), string(text[:n])
	return nil
}
