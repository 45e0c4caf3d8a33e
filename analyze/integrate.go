package analyze

import (
	"math"

	"stanchion/ingest"
)

// How the distance along the trail is known.
const (
	DistanceLogged    = "distance channel"
	DistanceFromSpeed = "integrated from the speed channel"
)

// noDistance is why there is no distance.
const noDistance = "no distance channel and no speed channel"

// maxSpeedMS is the largest speed that is believed: more is a broken reading.
const maxSpeedMS = 60

// distance is how far along the trail each sample was: a distance channel, or the integral of a speed channel.
type distance struct {
	sideChannel
	from string      // "" where it is not known
	m    [][]float64 // by segment of the trace, where it was integrated, m
	// gapsS is the time without samples that was taken as ridden at the speed at its edges, s.
	gapsS float64
}

// distanceOf finds the distance of a trace.
func distanceOf(trace *ingest.Trace) distance {
	if c, ok := distanceChannel(trace.Channels); ok {
		return distance{sideChannel: c, from: DistanceLogged}
	}
	if c, ok := speedChannel(trace.Channels); ok {
		if d := integrate(trace, c); d.m != nil {
			return d
		}
	}
	return distance{}
}

func (d *distance) known() bool { return d.from != "" }

// values is the distance in a segment, in units of scale; nil where it is not known.
func (d *distance) values(trace *ingest.Trace, s *segment) []float64 {
	switch {
	case d.m != nil:
		return d.m[s.source]
	case d.known():
		return d.sideChannel.values(trace, s)
	}
	return nil
}

// integrate sums speed over time by the trapezoidal rule. A reading that is missing, negative or over maxSpeedMS counts as the last one
// before it, at the start as the first after it. A gap counts as its duration times the mean of the speeds at its edges. m is nil where
// no speed can be read.
func integrate(trace *ingest.Trace, c sideChannel) distance {
	d := distance{sideChannel: sideChannel{scale: 1}, from: DistanceFromSpeed}
	last, place, end := firstSpeed(trace, c), 0.0, 0.0
	if math.IsNaN(last) || !(trace.RateHz > 0) {
		return d
	}
	m := make([][]float64, len(trace.Segments))
	started := false
	for i := range trace.Segments {
		s := &trace.Segments[i]
		m[i] = make([]float64, len(s.TravelMM))
		speeds := c.of(s)
		for k := range m[i] {
			v := last
			if k < len(speeds) {
				if x := speeds[k] * c.scale; x >= 0 && x <= maxSpeedMS {
					v = x
				}
			}
			step := 1 / trace.RateHz
			switch {
			case !started:
				step, started = 0, true
			case k == 0:
				step = max(0, s.StartS-end)
				d.gapsS += step
			}
			place += step * (last + v) / 2
			m[i][k], last = place, v
		}
		if n := len(s.TravelMM); n > 0 {
			end = s.StartS + float64(n-1)/trace.RateHz
		}
	}
	d.m = m
	return d
}

// of is the channel in s, nil where it has none.
func (c sideChannel) of(s *ingest.Segment) []float64 {
	if c.index < len(s.Channels) {
		return s.Channels[c.index]
	}
	return nil
}

// firstSpeed is the first speed that can be read, in m/s, or NaN.
func firstSpeed(trace *ingest.Trace, c sideChannel) float64 {
	for i := range trace.Segments {
		for _, x := range c.of(&trace.Segments[i]) {
			if v := x * c.scale; v >= 0 && v <= maxSpeedMS {
				return v
			}
		}
	}
	return math.NaN()
}

// distanceCaveats tell how far an integrated distance can be trusted.
func (r *ride) distanceCaveats() []Caveat {
	if r.distance.from != DistanceFromSpeed {
		return nil
	}
	out := caveatIf(true, Note, "distance",
		"Distances are the integral of the speed channel: a wheel or receiver that reads 2 % wrong puts every place 2 % off.")
	return append(out, caveatIf(r.distance.gapsS > 0, Note, "distance",
		"Gaps of %.1f s in all count as ridden at the speed at their edges: distances after them may be off.", r.distance.gapsS)...)
}
