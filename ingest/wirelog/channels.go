package wirelog

import (
	"strconv"

	"stanchion/firmware-protocol/wire"
	"stanchion/ingest"
)

// TravelChannel is the index of the channel that holds the fork's travel, and whether the device says so: else the first
// channel is taken.
func TravelChannel(channels []wire.Channel) (index int, said bool) {
	for i, c := range channels {
		if c.Kind == wire.KindTravel {
			return i, true
		}
	}
	return 0, false
}

// TravelUnit is the unit of a travel channel, and what its values must be multiplied by to be in it.
func TravelUnit(u wire.Unit) (unit ingest.Unit, scale float64) {
	switch u {
	case wire.UnitCounts:
		return ingest.UnitCounts, 1
	case wire.UnitVolt:
		return ingest.UnitVolts, 1
	case wire.UnitPercent:
		return ingest.UnitPercent, 1
	case wire.UnitMM:
		return ingest.UnitMM, 1
	case wire.UnitMetre:
		return ingest.UnitMM, 1000
	}
	return ingest.UnitUnknown, 1
}

// unitName is the unit as a header of a table would have it.
func unitName(u wire.Unit) string {
	switch u {
	case wire.UnitCounts:
		return "counts"
	case wire.UnitVolt:
		return "V"
	case wire.UnitPercent:
		return "%"
	case wire.UnitMM:
		return "mm"
	case wire.UnitMetre:
		return "m"
	case wire.UnitMetrePerSecond:
		return "m/s"
	case wire.UnitMetrePerSecond2:
		return "m/s^2"
	case wire.UnitCelsius:
		return "°C"
	case wire.UnitKilopascal:
		return "kPa"
	case wire.UnitRadianPerSecond:
		return "rad/s"
	}
	return ""
}

// kindName names a channel that has no name of its own.
func kindName(k wire.Kind) string {
	switch k {
	case wire.KindTravel:
		return "travel"
	case wire.KindTravel2:
		return "second travel"
	case wire.KindSpeed:
		return "speed"
	case wire.KindAcceleration:
		return "acceleration"
	case wire.KindTemperature:
		return "temperature"
	case wire.KindMarkerInput:
		return "marker input"
	case wire.KindPressure:
		return "pressure"
	case wire.KindTurnRate:
		return "turn rate"
	case wire.KindDistance:
		return "distance"
	}
	return ""
}

// labelName is the text of a marker.
func labelName(l wire.Label) string {
	switch l {
	case wire.LabelNone:
		return "mark"
	case wire.LabelButton:
		return "button"
	case wire.LabelGate:
		return "gate"
	case wire.LabelRunStart:
		return "run start"
	case wire.LabelRunEnd:
		return "run end"
	case wire.LabelSagStart:
		return "sag start"
	case wire.LabelSagEnd:
		return "sag end"
	}
	return "mark " + strconv.Itoa(int(l))
}

// CleanEnd is the host note with which a recording ends that was ended in order. A log without it was cut off.
const CleanEnd = "end of recording"
