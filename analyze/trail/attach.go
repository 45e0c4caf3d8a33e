package trail

import (
	"math"
	"slices"
	"sort"
	"strings"

	"stanchion/ingest"
)

// The channels that Attach adds.
const (
	DistanceChannel = "gps distance" // m since the first fix
	SpeedChannel    = "gps speed"    // m/s over ground
)

// Attach returns a copy of trace with the distance ridden and the speed of path as channels, so that everything that is said by distance or speed
// can be. A channel is added only where the log has none of its kind itself. Where reception was lost, and before and after the track, its values are
// NaN. An offset that could not be found changes nothing. The samples are shared with trace.
func Attach(trace *ingest.Trace, path *Path, offset Offset) *ingest.Trace {
	at, ok := offset.OffsetS.Get()
	if !ok || path == nil || len(path.TimeS) < 2 {
		return trace
	}
	out := *trace
	out.Channels = slices.Clone(trace.Channels)
	out.Segments = slices.Clone(trace.Segments)
	for i := range out.Segments {
		out.Segments[i].Channels = slices.Clone(trace.Segments[i].Channels)
	}
	for _, c := range []struct {
		name, unit string
		kinds      []string
		values     []float64
	}{
		{DistanceChannel, "m", []string{"distance", "odometer"}, path.AlongM},
		{SpeedChannel, "m/s", []string{"speed"}, path.SpeedMS},
	} {
		if has(trace.Channels, c.kinds) {
			continue
		}
		out.Channels = append(out.Channels, ingest.ChannelInfo{Name: c.name, Unit: c.unit})
		for i := range out.Segments {
			seg := &out.Segments[i]
			seg.Channels = append(seg.Channels, path.sample(c.values, seg.StartS-at, out.RateHz, len(seg.TravelMM)))
		}
	}
	return &out
}

// has tells whether one of the words is in the name of a channel.
func has(channels []ingest.ChannelInfo, kinds []string) bool {
	return slices.ContainsFunc(channels, func(c ingest.ChannelInfo) bool {
		name := strings.ToLower(c.Name)
		return slices.ContainsFunc(kinds, func(k string) bool { return strings.Contains(name, k) })
	})
}

// sample interpolates values of the path at n times from fromS on, NaN where there is no path.
func (p *Path) sample(values []float64, fromS, rateHz float64, n int) []float64 {
	out := make([]float64, n)
	j := max(0, sort.SearchFloat64s(p.TimeS, fromS)-1)
	last := len(p.TimeS) - 1
	for i := range out {
		t := fromS + float64(i)/rateHz
		for j+1 < last && p.TimeS[j+1] < t {
			j++
		}
		if t < p.TimeS[0] || t > p.TimeS[last] || p.Piece[j] != p.Piece[j+1] {
			out[i] = math.NaN()
			continue
		}
		f := (t - p.TimeS[j]) / (p.TimeS[j+1] - p.TimeS[j])
		out[i] = values[j] + f*(values[j+1]-values[j])
	}
	return out
}
