package ridesim

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
)

// A Passage is one ride along a trail: where the rider really was, at any time of the sensor's clock (s from its first sample).
type Passage struct {
	Trail *Trail
	Truth *Truth
	Line  Line
}

// A Line is the rider's own line beside the middle of the trail. Riding beside it changes neither station nor speed.
type Line struct {
	Seed uint64
	RMSM float64 // of the distance from the middle of the trail
}

// lineWavesM are the wavelengths in m of a line's weaving, common practice, no source.
var lineWavesM = [4]float64{13, 19, 31, 47}

// rightM is how far the line lies to the right of the middle at a station.
func (l Line) rightM(stationM float64) float64 {
	if l.RMSM == 0 {
		return 0
	}
	rng := rand.New(rand.NewPCG(l.Seed, 0x6c696e65))
	out := 0.0
	for _, wave := range lineWavesM {
		out += math.Sin(2 * math.Pi * (stationM/wave + rng.Float64()))
	}
	return out * l.RMSM * math.Sqrt(2/float64(len(lineWavesM)))
}

// StationM is the rider's distance along the trail at a time. Before and after the ride the rider stands where it began and ended.
func (p Passage) StationM(timeS float64) float64 { return p.Truth.at(p.Truth.DistanceM, timeS) }

// SpeedMS is the true speed over ground; 0 before and after the ride.
func (p Passage) SpeedMS(timeS float64) float64 {
	if last := float64(len(p.Truth.SpeedMS)-1) / p.Truth.RateHz; timeS < 0 || timeS > last {
		return 0
	}
	return p.Truth.at(p.Truth.SpeedMS, timeS)
}

// At is where the rider was at a time.
func (p Passage) At(timeS float64) Place {
	s := p.StationM(timeS)
	return p.Trail.At(s, p.Line.rightM(s))
}

// TimeAt is when the rider first reached a station: the last moment of standing there, where the ride began at it. It is an error where the
// ride did not get that far.
func (p Passage) TimeAt(stationM float64) (float64, error) {
	d := p.Truth.DistanceM
	i := sort.Search(len(d), func(i int) bool { return d[i] > stationM })
	switch {
	case !(stationM >= 0 && stationM <= d[len(d)-1]):
		return 0, fmt.Errorf("gate at %g m: the ride covers 0 to %.1f m", stationM, d[len(d)-1])
	case i == 0:
		return 0, nil
	case i == len(d): // exactly where the rider came to rest
		i = sort.SearchFloat64s(d, stationM)
		return float64(i) / p.Truth.RateHz, nil
	}
	u := (stationM - d[i-1]) / (d[i] - d[i-1])
	return (float64(i-1) + u) / p.Truth.RateHz, nil
}

// A Gate is a place where time is taken.
type Gate struct {
	Name     string  `json:"name"`
	StationM float64 `json:"station_m"` // distance along the trail from the start
}

// A GatePass is when a ride truly passed a gate, on the sensor's clock.
type GatePass struct {
	Gate
	TimeS float64 `json:"time_s"`
}

// Gates is when the ride passed each gate.
func (p Passage) Gates(gates []Gate) ([]GatePass, error) {
	out := make([]GatePass, 0, len(gates))
	for _, g := range gates {
		t, err := p.TimeAt(g.StationM)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", g.Name, err)
		}
		out = append(out, GatePass{g, t})
	}
	return out, nil
}

// at is the value of a channel at a time, straight between samples and held beyond the ends.
func (t *Truth) at(values []float64, timeS float64) float64 {
	x := max(0, timeS*t.RateHz)
	i := int(x)
	if i >= len(values)-1 {
		return values[len(values)-1]
	}
	return values[i] + (x-float64(i))*(values[i+1]-values[i])
}
