package analyze

import (
	"math"
	"strings"
	"unicode"

	"stanchion/ingest"
)

// A sideChannel is an extra channel of the trace in base units: its values times scale are m/s or m.
type sideChannel struct {
	index int // in Trace.Channels and Segment.Channels
	scale float64
}

// speedChannel finds the speed of the bike: the first channel whose name holds the word "speed" and whose unit is m/s
// or km/h. Where there is no unit, it may end the name ("speed_kmh", "gps_speed_m_s"). A speed without a unit is not used.
func speedChannel(channels []ingest.ChannelInfo) (sideChannel, bool) {
	return findChannel(channels, []string{"speed"},
		map[string]float64{"ms": 1, "mps": 1, "kmh": 1 / 3.6, "kph": 1 / 3.6})
}

// distanceChannel finds the distance along the trail in the same way: "distance" or "odometer" in m or km. Other
// lengths (altitude, position accuracy) are told apart by the name.
func distanceChannel(channels []ingest.ChannelInfo) (sideChannel, bool) {
	return findChannel(channels, []string{"distance", "odometer"}, map[string]float64{"m": 1, "km": 1000})
}

func findChannel(channels []ingest.ChannelInfo, words []string, units map[string]float64) (sideChannel, bool) {
	for i, c := range channels {
		name := lettersOf(c.Name)
		for _, w := range words {
			_, after, found := strings.Cut(name, w)
			if !found {
				continue
			}
			unit := lettersOf(c.Unit)
			if unit == "" {
				unit = after
			}
			if scale, known := units[unit]; known {
				return sideChannel{index: i, scale: scale}, true
			}
		}
	}
	return sideChannel{}, false
}

// lettersOf is s in lower case without anything but letters, so that "km/h", "km_h" and "(km/h)" read the same.
func lettersOf(s string) string {
	return strings.Map(func(c rune) rune {
		if unicode.IsLetter(c) {
			return unicode.ToLower(c)
		}
		return -1
	}, s)
}

// values is the channel in segment s, nil where it has no such channel.
func (c sideChannel) values(trace *ingest.Trace, from *segment) []float64 {
	if s := trace.Segments[from.source]; c.index < len(s.Channels) {
		return s.Channels[c.index]
	}
	return nil
}

// at is the finite value of values nearest to sample i, in base units.
func (c sideChannel) at(values []float64, i int) (float64, bool) {
	for d := 0; d <= len(values); d++ {
		for _, k := range [2]int{i - d, i + d} {
			if k >= 0 && k < len(values) && !math.IsNaN(values[k]) && !math.IsInf(values[k], 0) {
				return values[k] * c.scale, true
			}
		}
	}
	return 0, false
}
