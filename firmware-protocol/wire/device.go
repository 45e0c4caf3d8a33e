package wire

import "encoding/binary"

// A Label is the code of a marker. Codes from 8000 are free for the user.
type Label uint16

// The labels.
const (
	LabelNone     Label = 0 // a mark without a meaning of its own
	LabelButton   Label = 1 // the rider pressed the button
	LabelGate     Label = 2 // a timing gate was passed
	LabelRunStart Label = 3
	LabelRunEnd   Label = 4
	LabelSagStart Label = 5 // the rider sits still from here
	LabelSagEnd   Label = 6
)

// Marker marks a moment.
type Marker struct {
	StampUS uint64 // device clock
	Label   Label
}

// NoTemperature is the Status.TemperatureDeciC of a device that does not measure it.
const NoTemperature = -32768

// Status tells how the device does. Counts are since the session began.
type Status struct {
	StampUS          uint64
	Samples          uint32 // index of the first sample that is neither sent nor skipped
	Overruns         uint32 // sampling ticks that were missed
	Dropped          uint32 // samples thrown away because the link was too slow
	BatteryMV        uint16 // 0 where not measured
	TemperatureDeciC int16  // of the device, 0.1 °C; NoTemperature where not measured
	UptimeS          uint32
}

// An EndReason says why sampling ended.
type EndReason uint8

// The reasons.
const (
	EndCommand EndReason = 0
	EndButton  EndReason = 1
	EndBattery EndReason = 2 // battery is low
	EndSensor  EndReason = 3 // sensor has failed
	EndOther   EndReason = 4
)

// End is the last frame before sampling pauses; all samples up to it were sent.
type End struct {
	StampUS uint64
	Samples uint32 // as in Status
	Reason  EndReason
}

// A Result says what became of a command.
type Result uint8

// The results.
const (
	ResultDone    Result = 0
	ResultNotNow  Result = 1 // not possible in this state
	ResultRefused Result = 2 // value is not possible
	ResultUnknown Result = 3 // the device does not know the command
)

// Reply answers a command.
type Reply struct {
	Command     Type
	Sequence    uint32 // of the command
	Result      Result
	RateMilliHz uint32 // nominal sample rate now in force
}

const (
	markerFixed = 8 + 2
	statusFixed = 8 + 4 + 4 + 4 + 2 + 2 + 4
	endFixed    = 8 + 4 + 1
	replyFixed  = 1 + 4 + 1 + 4
)

// Type returns TypeMarker.
func (m *Marker) Type() Type { return TypeMarker }

func (m *Marker) appendPayload(dst []byte) ([]byte, error) {
	dst = binary.LittleEndian.AppendUint64(dst, m.StampUS)
	return binary.LittleEndian.AppendUint16(dst, uint16(m.Label)), nil
}

func (m *Marker) parsePayload(b []byte) error {
	if err := needPayload(b, markerFixed, "marker"); err != nil {
		return err
	}
	m.StampUS, m.Label = binary.LittleEndian.Uint64(b), Label(binary.LittleEndian.Uint16(b[8:]))
	return nil
}

// Type returns TypeStatus.
func (m *Status) Type() Type { return TypeStatus }

func (m *Status) appendPayload(dst []byte) ([]byte, error) {
	dst = binary.LittleEndian.AppendUint64(dst, m.StampUS)
	dst = binary.LittleEndian.AppendUint32(dst, m.Samples)
	dst = binary.LittleEndian.AppendUint32(dst, m.Overruns)
	dst = binary.LittleEndian.AppendUint32(dst, m.Dropped)
	dst = binary.LittleEndian.AppendUint16(dst, m.BatteryMV)
	dst = binary.LittleEndian.AppendUint16(dst, uint16(m.TemperatureDeciC))
	return binary.LittleEndian.AppendUint32(dst, m.UptimeS), nil
}

func (m *Status) parsePayload(b []byte) error {
	if err := needPayload(b, statusFixed, "status"); err != nil {
		return err
	}
	*m = Status{
		StampUS:          binary.LittleEndian.Uint64(b),
		Samples:          binary.LittleEndian.Uint32(b[8:]),
		Overruns:         binary.LittleEndian.Uint32(b[12:]),
		Dropped:          binary.LittleEndian.Uint32(b[16:]),
		BatteryMV:        binary.LittleEndian.Uint16(b[20:]),
		TemperatureDeciC: int16(binary.LittleEndian.Uint16(b[22:])),
		UptimeS:          binary.LittleEndian.Uint32(b[24:]),
	}
	return nil
}

// Type returns TypeEnd.
func (m *End) Type() Type { return TypeEnd }

func (m *End) appendPayload(dst []byte) ([]byte, error) {
	dst = binary.LittleEndian.AppendUint64(dst, m.StampUS)
	dst = binary.LittleEndian.AppendUint32(dst, m.Samples)
	return append(dst, byte(m.Reason)), nil
}

func (m *End) parsePayload(b []byte) error {
	if err := needPayload(b, endFixed, "end"); err != nil {
		return err
	}
	*m = End{binary.LittleEndian.Uint64(b), binary.LittleEndian.Uint32(b[8:]), EndReason(b[12])}
	return nil
}

// Type returns TypeReply.
func (m *Reply) Type() Type { return TypeReply }

func (m *Reply) appendPayload(dst []byte) ([]byte, error) {
	dst = append(dst, byte(m.Command))
	dst = binary.LittleEndian.AppendUint32(dst, m.Sequence)
	dst = append(dst, byte(m.Result))
	return binary.LittleEndian.AppendUint32(dst, m.RateMilliHz), nil
}

func (m *Reply) parsePayload(b []byte) error {
	if err := needPayload(b, replyFixed, "reply"); err != nil {
		return err
	}
	*m = Reply{Type(b[0]), binary.LittleEndian.Uint32(b[1:]), Result(b[5]), binary.LittleEndian.Uint32(b[6:])}
	return nil
}
