package trail

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"

	"stanchion/ingest"
)

// A column is a channel of the trace that holds a position, with what turns its values into degrees, m/s or m.
type column struct {
	index int // in Trace.Channels, -1 = there is none
	scale float64
}

// FromChannels makes a track of the latitude and longitude columns of a sensor log, with its speed and altitude columns where there are
// any; ok is false where there are no such columns or no position in them. TimeS is on the log's clock.
//
// A receiver is slower than the log, which repeats its last position in every row or leaves the rows between empty. A fix is taken where the
// position or the speed changes, or where a value follows an empty row. While the position stays the same because the rider stands, a fix is taken
// at every period of the receiver.
func FromChannels(trace *ingest.Trace) (track ingest.Track, ok bool) {
	lat := findColumn(trace.Channels, []string{"lat", "latitude"}, degreeUnits())
	lon := findColumn(trace.Channels, []string{"lon", "lng", "long", "longitude"}, degreeUnits())
	if lat.index < 0 || lon.index < 0 {
		return track, false
	}
	speed := receiverSpeed(trace.Channels)
	ele := findColumn(trace.Channels, []string{"alt", "altitude", "ele", "elevation", "height"}, map[string]float64{"": 1, "m": 1, "ft": 0.3048})
	track = ingest.Track{Source: trace.Source, OnLogClock: true}
	e7 := 1.0
	for s := range trace.Segments {
		seg := &trace.Segments[s]
		for _, v := range lat.values(seg) {
			if math.Abs(v) > 90 && v == math.Trunc(v) {
				e7 = 1e-7 // whole units of 1e-7 degrees, as receivers send them
			}
		}
	}
	lat.scale, lon.scale = lat.scale*e7, lon.scale*e7
	for s := range trace.Segments {
		seg := &trace.Segments[s]
		raw := changes(trace.RateHz, seg, [4]column{lat, lon, speed, ele}, &track.Rows)
		for _, f := range fillStands(raw, seg.StartS+float64(len(seg.TravelMM))/trace.RateHz) {
			f.Piece = s
			track.Fixes = append(track.Fixes, f)
		}
	}
	if len(track.Fixes) == 0 {
		return ingest.Track{}, false
	}
	name := func(c column) string { return trace.Channels[c.index].Name }
	track.Understood = append(track.Understood, fmt.Sprintf("position: from columns %s and %s, %d fixes", name(lat), name(lon), len(track.Fixes)))
	if e7 != 1 {
		track.Understood = append(track.Understood, "position: whole units of 1e-7 degrees")
	}
	if speed.index >= 0 {
		track.Understood = append(track.Understood, "speed of the receiver: from column "+name(speed))
	}
	return track, true
}

func degreeUnits() map[string]float64 {
	return map[string]float64{"": 1, "deg": 1, "degrees": 1, "°": 1}
}

// receiverSpeed finds the receiver's own speed: a column that names the receiver goes before one that does not, since a wheel has a speed too.
func receiverSpeed(channels []ingest.ChannelInfo) column {
	units := map[string]float64{"ms": 1, "mps": 1, "kmh": 1 / 3.6, "kph": 1 / 3.6, "mph": 0.44704, "kn": 1852.0 / 3600, "knots": 1852.0 / 3600}
	named := slices.Clone(channels)
	for i := range named {
		if name := strings.ToLower(named[i].Name); !strings.Contains(name, "gps") && !strings.Contains(name, "gnss") {
			named[i].Name = ""
		}
	}
	if c := findColumn(named, []string{"speed"}, units); c.index >= 0 {
		return c
	}
	return findColumn(channels, []string{"speed"}, units)
}

// findColumn finds the first channel that has one of the words in its name and one of the units; a unit may also end the name.
func findColumn(channels []ingest.ChannelInfo, words []string, units map[string]float64) column {
	for i, c := range channels {
		parts := strings.FieldsFunc(camelApart(c.Name), func(r rune) bool { return !unicode.IsLetter(r) && r != '°' })
		at := slices.IndexFunc(parts, func(p string) bool { return slices.Contains(words, p) })
		if at < 0 {
			continue
		}
		unit := strings.Join(strings.FieldsFunc(strings.ToLower(c.Unit), func(r rune) bool { return !unicode.IsLetter(r) && r != '°' }), "")
		if unit == "" {
			unit = strings.Join(parts[at+1:], "")
		}
		if scale, known := units[unit]; known {
			return column{i, scale}
		}
	}
	return column{index: -1}
}

// camelApart is the name in small letters with a space before each capital that follows a small letter.
func camelApart(name string) string {
	var b strings.Builder
	small := false
	for _, r := range name {
		if small && unicode.IsUpper(r) {
			b.WriteByte(' ')
		}
		small = unicode.IsLower(r)
		b.WriteRune(unicode.ToLower(r))
	}
	return b.String()
}

// values are those of the column in a segment, nil where it has none.
func (c column) values(seg *ingest.Segment) []float64 {
	if c.index < 0 || c.index >= len(seg.Channels) {
		return nil
	}
	return seg.Channels[c.index]
}

// at is the value at sample i in base units, NaN where there is none.
func (c column) at(values []float64, i int) float64 {
	if i >= len(values) {
		return math.NaN()
	}
	return values[i] * c.scale
}

// changes are the fixes of a segment: where something changed. cols are latitude, longitude, speed and altitude.
func changes(rateHz float64, seg *ingest.Segment, cols [4]column, rows *ingest.RowCount) []ingest.Fix {
	var values [4][]float64
	for i, c := range cols {
		values[i] = c.values(seg)
	}
	var out []ingest.Fix
	var last [3]float64
	empty := true
	for i := range seg.TravelMM {
		var v [4]float64
		for k, c := range cols {
			v[k] = c.at(values[k], i)
		}
		if math.IsNaN(v[0]) || math.IsNaN(v[1]) || v[0] == 0 && v[1] == 0 {
			empty = true
			continue
		}
		now := [3]float64{v[0], v[1], v[2]}
		if !empty && now[0] == last[0] && now[1] == last[1] && (now[2] == last[2] || math.IsNaN(now[2])) {
			continue
		}
		last, empty = now, false
		rows.Data++
		if math.Abs(v[0]) > 90 || math.Abs(v[1]) > 180 || math.IsInf(v[3], 0) {
			rows.Bad++
			continue
		}
		f := ingest.Fix{TimeS: seg.StartS + float64(i)/rateHz, LatDeg: v[0], LonDeg: wrapLon(v[1]), SpeedMS: v[2], EleM: v[3]}
		if !(f.SpeedMS >= 0 && f.SpeedMS < 150) {
			f.SpeedMS = math.NaN()
		}
		out = append(out, f)
	}
	return out
}

// fillStands puts fixes where the receiver gave the same position again and again, which shows as a long step with a short way. A long
// step with a long way is a loss of reception and stays.
func fillStands(fixes []ingest.Fix, endS float64) []ingest.Fix {
	if len(fixes) < 3 {
		return fixes
	}
	steps := make([]float64, 0, len(fixes))
	for i := 1; i < len(fixes); i++ {
		steps = append(steps, fixes[i].TimeS-fixes[i-1].TimeS)
	}
	slices.Sort(steps)
	period := steps[len(steps)/2]
	out := make([]ingest.Fix, 0, len(fixes))
	hold := func(f ingest.Fix, until float64) {
		for k := 1; f.TimeS+float64(k)*period < until-period/2; k++ {
			g := f
			g.TimeS += float64(k) * period
			out = append(out, g)
		}
	}
	const nearM = 3
	for i, f := range fixes {
		out = append(out, f)
		if i+1 < len(fixes) {
			next := fixes[i+1]
			e, n := (Frame{f.LatDeg, f.LonDeg}).ToPlane(next.LatDeg, next.LonDeg)
			if math.Hypot(e, n) < nearM {
				hold(f, next.TimeS)
			}
		} else if f.SpeedMS < 0.5 {
			hold(f, endS)
		}
	}
	return out
}
