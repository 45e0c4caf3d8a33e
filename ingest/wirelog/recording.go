package wirelog

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"stanchion/firmware-protocol/wire"
	"stanchion/ingest"
)

const (
	// leastBreakUS is the least time between two sections: enough to split them.
	leastBreakUS = 100_000
	// guessedBreakUS stands between two sections where no wall time tells.
	guessedBreakUS = 1_000_000
)

// recording makes the recording of what was gathered.
func (b *builder) recording(ctx context.Context) (*ingest.Recording, error) {
	if len(b.blocks) == 0 {
		return nil, b.nothing()
	}
	if b.late {
		slices.SortStableFunc(b.blocks, func(x, y block) int {
			return cmp.Or(cmp.Compare(x.section, y.section), cmp.Compare(x.stampUS, y.stampUS))
		})
	}
	rec := &ingest.Recording{Source: b.name, Clock: ingest.Clock{Kind: ingest.ClockElapsed, TickS: 1e-6}}
	channels := b.layout(rec)
	shift := b.shifts(rec)
	b.stamps(rec, shift)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	b.columns(rec, channels)
	b.markers(rec, shift)
	b.describe(rec)
	return rec, nil
}

// nothing explains a log without samples.
func (b *builder) nothing() error {
	l := b.losses()
	switch {
	case l.Frames > 0:
		return ingest.Hinted{Err: fmt.Errorf("there are %d frames of the sensor in the log, but no samples", l.Frames), Hint: "was sampling started? See what the sensor does with 'stanchion record'"}
	case l.Damage.PieceBytes+l.Damage.TornBytes > 100:
		return ingest.Hinted{Err: fmt.Errorf("none of the %d bytes in the log can be understood", l.Damage.PieceBytes+l.Damage.TornBytes),
			Hint: "it was most likely recorded at a wrong baud rate: see --baud of 'stanchion record'"}
	}
	return ingest.Hinted{Err: fmt.Errorf("the log holds no samples"), Hint: "was the sensor switched on while recording?"}
}

// layout finds the channels of the log, and says what it took for travel.
func (b *builder) layout(rec *ingest.Recording) []wire.Channel {
	var channels []wire.Channel
	switch {
	case b.isText:
		channels = b.textChannels()
	default:
		if channels = b.known(); channels == nil {
			channels = undescribed(b.blocks[0].channels)
			rec.Cautions = append(rec.Cautions, "the log holds no description of the sensor: channel 1 was taken for travel in counts")
		}
	}
	travel, said := TravelChannel(channels)
	if !said {
		rec.Cautions = append(rec.Cautions, fmt.Sprintf("the sensor does not say which channel is travel: channel 1 (%s) was taken", channels[0].Name))
		channels = slices.Clone(channels)
		channels[0].Kind = wire.KindTravel
	}
	c := channels[travel]
	rec.Unit, _ = TravelUnit(c.Unit)
	if rec.Unit == ingest.UnitCounts && c.Scale == 1 && c.Offset == 0 {
		rec.ADCBits = int(c.ADCBits)
	}
	unit := string(rec.Unit)
	if unit == "" {
		unit = "unit not known"
	}
	text := fmt.Sprintf("travel: channel %d", travel+1)
	if c.Name != "" {
		text += fmt.Sprintf(" %q", c.Name)
	}
	text += ", " + unit
	if c.ADCBits > 0 {
		text += fmt.Sprintf(", %d-bit converter", c.ADCBits)
	}
	rec.Understood = append(rec.Understood, text)
	return channels
}

// undescribed makes up a description of n channels.
func undescribed(n int) []wire.Channel {
	channels := make([]wire.Channel, n)
	for i := range channels {
		channels[i] = wire.Channel{Scale: 1, Name: fmt.Sprintf("channel %d", i+1)}
	}
	channels[0].Kind, channels[0].Unit = wire.KindTravel, wire.UnitCounts
	return channels
}

// known returns the channels of the first section with samples whose hello fits them.
func (b *builder) known() []wire.Channel {
	for _, k := range b.blocks {
		if c := b.sections[k.section].channels; len(c) == k.channels {
			return c
		}
	}
	for _, s := range b.sections {
		if len(s.channels) == b.blocks[0].channels {
			return s.channels
		}
	}
	return nil
}

// shifts finds what must be added to the stamps of each section so that they rise through the log.
func (b *builder) shifts(rec *ingest.Recording) []float64 {
	out := make([]float64, len(b.sections))
	before := -1
	guessed := false
	for i, s := range b.sections {
		if s.samples == 0 {
			continue
		}
		if before < 0 {
			if !math.IsInf(s.hostUS, 1) && math.Abs(s.hostUS+s.first) < 1<<55 {
				rec.Clock.Start = time.UnixMicro(int64(s.hostUS + s.first)).UTC()
			}
			before = i
			continue
		}
		p := b.sections[before]
		pause := (s.hostUS + s.first) - (p.hostUS + p.last)
		if math.IsInf(s.hostUS, 1) || math.IsInf(p.hostUS, 1) || !(math.Abs(pause) < 1e14) {
			pause, guessed = guessedBreakUS, true
		}
		out[i] = p.last + out[before] + max(pause, leastBreakUS) - s.first
		before = i
	}
	if guessed {
		rec.Cautions = append(rec.Cautions, "the sensor's clock began again, and the log does not tell how long the break was: 1 s was put there")
	}
	return out
}

// stamps fills in the stamps.
func (b *builder) stamps(rec *ingest.Recording, shift []float64) {
	total := 0
	for _, k := range b.blocks {
		total += k.n
	}
	rec.Stamps = make([]float64, 0, total)
	for _, k := range b.blocks {
		at := k.stampUS + shift[k.section]
		for i := range k.n {
			step := 0.0
			if k.n > 1 {
				step = k.spanUS * float64(i) / float64(k.n-1)
			}
			rec.Stamps = append(rec.Stamps, at+step)
		}
	}
	rec.Rows = ingest.RowCount{Data: total}
	if b.isText {
		rec.Rows = ingest.RowCount{Data: total + int(b.bad), Bad: int(b.bad), First: b.firstBad}
	}
}

// columns fills in travel and the extra channels. Marker inputs become markers.
func (b *builder) columns(rec *ingest.Recording, channels []wire.Channel) {
	travel, _ := TravelChannel(channels)
	var kept []string
	for j, c := range channels {
		values := b.column(j, channels)
		switch {
		case j == travel:
			if _, scale := TravelUnit(c.Unit); scale != 1 {
				for i := range values {
					values[i] *= scale
				}
			}
			rec.Travel = values
		case c.Kind == wire.KindMarkerInput:
			inputMarkers(rec, c, values)
		default:
			name, unit := c.Name, unitName(c.Unit)
			if name == "" {
				name = kindName(c.Kind)
			}
			if name == "" {
				name = fmt.Sprintf("channel %d", j+1)
			}
			rec.Extra = append(rec.Extra, ingest.Channel{Name: name, Unit: unit, Values: values})
			if unit != "" {
				name += " [" + unit + "]"
			}
			kept = append(kept, name)
		}
	}
	if len(kept) > 0 {
		rec.Understood = append(rec.Understood, "kept: "+strings.Join(kept, ", "))
	}
}

// column unpacks channel j. Sections of another layout have it only where the channel is the same.
func (b *builder) column(j int, channels []wire.Channel) []float64 {
	out := make([]float64, 0, b.samplesTotal())
	for _, k := range b.blocks {
		c := channels[j]
		if own := b.sections[k.section].channels; len(own) == k.channels && j < len(own) {
			c = own[j]
		}
		fits := j < k.channels && c.Kind == channels[j].Kind && c.Unit == channels[j].Unit || b.isText && j < k.channels
		for i := range k.n {
			v, ok := math.NaN(), false
			switch {
			case !fits:
			case b.isText:
				v, ok = b.values[k.at+i*k.channels+j], true
			default:
				v, ok = c.Value(b.packed[k.at+i*k.channels+j])
			}
			if !ok {
				v = math.NaN()
			}
			out = append(out, v)
		}
	}
	return out
}

func (b *builder) samplesTotal() int {
	n := 0
	for _, s := range b.sections {
		n += s.samples
	}
	return n
}

// inputMarkers sets a marker wherever a marker input closes.
func inputMarkers(rec *ingest.Recording, c wire.Channel, values []float64) {
	label := c.Name
	if label == "" {
		label = kindName(c.Kind)
	}
	closed := false
	for i, v := range values {
		now := v != 0 && !math.IsNaN(v)
		if now && !closed && len(rec.Markers) < maxMarkers {
			rec.Markers = append(rec.Markers, ingest.Marker{Sample: i, Label: label})
		}
		closed = now
	}
}

// markers sets each marker at the first sample at or after it.
func (b *builder) markers(rec *ingest.Recording, shift []float64) {
	for _, m := range b.marks {
		if b.sections[m.section].samples == 0 {
			continue
		}
		i, _ := slices.BinarySearch(rec.Stamps, m.stampUS+shift[m.section])
		rec.Markers = append(rec.Markers, ingest.Marker{Sample: min(i, len(rec.Stamps)-1), Label: labelName(m.label)})
	}
	slices.SortStableFunc(rec.Markers, func(x, y ingest.Marker) int { return cmp.Compare(x.Sample, y.Sample) })
	if n := len(rec.Markers); n > 0 {
		rec.Understood = append(rec.Understood, fmt.Sprintf("markers: %d", n))
	}
}
