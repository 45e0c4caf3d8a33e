package virtual

import (
	"fmt"
	"math"
	"slices"

	"stanchion/firmware-protocol/wire"
	"stanchion/ingest"
)

// A Track is what the device measures.
type Track struct {
	RateHz   float64
	Channels []wire.Channel
	// Packed holds the samples, one after the other, as sent. A sample that the sensor missed is marked in Missed.
	Packed []uint16
	Missed []bool // nil: none
	// Buttons are the samples at which the rider presses the button.
	Buttons []int
}

// Len is the number of samples.
func (t *Track) Len() int { return len(t.Packed) / max(len(t.Channels), 1) }

// FromRecording makes a track of a recording: its samples in order, on an even grid of their mean rate; samples that the grid has
// and the recording has not are missed ones.
func FromRecording(rec *ingest.Recording) (*Track, error) {
	n := len(rec.Travel)
	if n < 2 {
		return nil, fmt.Errorf("%s: a track needs two samples or more", rec.Source)
	}
	rate, at := grid(rec)
	if !(rate > 0) || math.IsInf(rate, 0) {
		return nil, fmt.Errorf("%s: its stamps give no sample rate", rec.Source)
	}
	total := at[n-1] + 1
	if total > maxTrack || total > 50*n {
		return nil, fmt.Errorf("%s: its stamps span %d samples, but it holds %d", rec.Source, total, n)
	}
	columns := []column{newColumn(wire.KindTravel, travelUnit(rec.Unit), "travel", rec.Travel)}
	for _, c := range rec.Extra {
		if len(columns) < wire.MaxChannels {
			columns = append(columns, newColumn(kindOf(c), extraUnit(c.Unit), c.Name, c.Values))
		}
	}
	t := &Track{RateHz: rate, Packed: make([]uint16, total*len(columns)), Missed: make([]bool, total)}
	for i := range t.Missed {
		t.Missed[i] = true
	}
	for _, c := range columns {
		t.Channels = append(t.Channels, c.Channel)
	}
	for i, k := range at {
		t.Missed[k] = false
		for j, c := range columns {
			t.Packed[k*len(columns)+j] = c.pack(c.values[i])
		}
	}
	for _, m := range rec.Markers {
		if m.Sample >= 0 && m.Sample < n {
			t.Buttons = append(t.Buttons, at[m.Sample])
		}
	}
	slices.Sort(t.Buttons)
	return t, nil
}

// maxTrack bounds a track: a day at 1 kHz.
const maxTrack = 86_400_000

// grid finds the rate of a recording and the place of each sample on it; places rise.
func grid(rec *ingest.Recording) (rateHz float64, at []int) {
	n := len(rec.Travel)
	at = make([]int, n)
	if rec.Clock.Kind == ingest.ClockNone {
		for i := range at {
			at[i] = i
		}
		return rec.Clock.RateHz, at
	}
	steps := make([]float64, 0, n)
	for i := 1; i < n; i++ {
		if d := rec.Stamps[i] - rec.Stamps[i-1]; d > 0 {
			steps = append(steps, d)
		}
	}
	if len(steps) == 0 {
		return 0, at
	}
	period := meanPeriod(steps)
	for i := 1; i < n; i++ {
		// Step by step, so that a wrap of the counter or a slow drift of the clock leaves no hole.
		step := math.Round((rec.Stamps[i] - rec.Stamps[i-1]) / period)
		at[i] = at[i-1] + int(max(1, min(step, 60/(period*rec.Clock.TickS))))
	}
	return 1 / (period * rec.Clock.TickS), at
}

// meanPeriod is the mean of the steps about their median, in ticks: jitter makes a median alone a little wrong.
func meanPeriod(steps []float64) float64 {
	slices.Sort(steps)
	median := steps[len(steps)/2]
	sum, n := 0.0, 0
	for _, d := range steps {
		if d > median/2 && d < median*3/2 {
			sum, n = sum+d, n+1
		}
	}
	return sum / float64(n)
}

// A column is a channel with its values.
type column struct {
	wire.Channel
	values []float64
}

// newColumn finds the scale that lets the values fit 16 bits. Whole numbers that fit are sent as they are.
func newColumn(kind wire.Kind, unit wire.Unit, name string, values []float64) column {
	lo, hi, whole := math.Inf(1), math.Inf(-1), true
	for _, v := range values {
		if math.IsNaN(v) {
			continue
		}
		lo, hi = min(lo, v), max(hi, v)
		whole = whole && v == math.Trunc(v)
	}
	if len(name) > wire.MaxChannelName {
		name = name[:wire.MaxChannelName]
	}
	c := column{Channel: wire.Channel{Kind: kind, Unit: unit, Sparse: true, Scale: 1, Name: name}, values: values}
	switch {
	case lo > hi || whole && lo >= 0 && hi < 0xFFFF:
	default:
		c.Scale, c.Offset = float32((hi-lo)/65000), float32(lo)
		if c.Scale == 0 {
			c.Scale = 1
		}
	}
	return c
}

// noReading is the packed value of a sample without a reading.
const noReading = 0xFFFF

func (c *column) pack(v float64) uint16 {
	if math.IsNaN(v) {
		return noReading
	}
	return uint16(min(max(math.Round((v-float64(c.Offset))/float64(c.Scale)), 0), noReading-1))
}

func travelUnit(u ingest.Unit) wire.Unit {
	switch u {
	case ingest.UnitVolts:
		return wire.UnitVolt
	case ingest.UnitPercent:
		return wire.UnitPercent
	case ingest.UnitMM:
		return wire.UnitMM
	}
	return wire.UnitCounts
}

func extraUnit(name string) wire.Unit {
	switch name {
	case "m/s":
		return wire.UnitMetrePerSecond
	case "m/s^2", "m/s²":
		return wire.UnitMetrePerSecond2
	case "V":
		return wire.UnitVolt
	case "mm":
		return wire.UnitMM
	case "m":
		return wire.UnitMetre
	case "°C":
		return wire.UnitCelsius
	case "kPa":
		return wire.UnitKilopascal
	}
	return wire.UnitNone
}

func kindOf(c ingest.Channel) wire.Kind {
	switch c.Unit {
	case "m/s", "km/h":
		return wire.KindSpeed
	case "m/s^2", "m/s²":
		return wire.KindAcceleration
	case "°C":
		return wire.KindTemperature
	}
	return wire.KindOther
}
