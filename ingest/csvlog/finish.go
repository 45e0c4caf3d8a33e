package csvlog

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"stanchion/ingest"
)

// finish turns the collected columns into a recording.
func finish(t *table, l *layout, c *columns, src *source, o Options) (*ingest.Recording, error) {
	if err := checkRows(t, l, o); err != nil {
		return nil, err
	}
	r := &ingest.Recording{
		Travel:     t.cols[toTravel],
		Rows:       ingest.RowCount{Data: t.rows, Bad: t.bad, First: t.first},
		Understood: append(src.notes, l.describe()...),
		Cautions:   c.cautions,
	}
	if src.cut {
		r.Cautions = append(r.Cautions, "the compressed file ends early: read up to there")
	}
	if c.time < 0 {
		r.Clock = ingest.Clock{Kind: ingest.ClockNone, RateHz: o.RateHz}
		r.Understood = append(r.Understood, fmt.Sprintf("time: no stamps, %s Hz as given", number(o.RateHz)))
	} else {
		r.Stamps = t.cols[toTime]
		if err := clock(r, t, l, c); err != nil {
			return nil, err
		}
		if o.RateHz > 0 && !c.indexed {
			r.Understood = append(r.Understood, fmt.Sprintf("rate: the given %s Hz are not used, since there are stamps", number(o.RateHz)))
		}
	}
	if err := travel(r, t, l, c, o); err != nil {
		return nil, err
	}
	extras(r, t, l, c)
	markers(r, t, l, c)
	r.Understood = append(r.Understood, c.left...)
	if t.bad > 0 {
		what := "left out as bad"
		if c.time < 0 {
			what = "without a reading"
		}
		r.Understood = append(r.Understood, fmt.Sprintf("rows: %d, of those %d %s", t.rows, t.bad, what))
	}
	return r, nil
}

// checkRows stops where too little of the log is good.
func checkRows(t *table, l *layout, o Options) error {
	good := t.rows - t.bad
	switch {
	case good == 0 && t.bad > 0:
		return fail("check --travel-column, --time-column, --delimiter and --decimal-comma", "none of %d rows can be used", t.rows).withRows(t.first)
	case good == 0:
		return &Error{Line: l.headerLine, Reason: "there are no rows", Hint: "check that the logger was recording"}
	case float64(t.bad) > o.MaxBadShare*float64(t.rows):
		return fail("choose the columns with --travel-column and --time-column, or allow more with --max-bad",
			"%d of %d rows cannot be used (%.1f %%, allowed are %g %%)", t.bad, t.rows, 100*float64(t.bad)/float64(t.rows), 100*o.MaxBadShare).withRows(t.first)
	case good == 1:
		return fail("check that the logger was recording", "there is only one row that can be used, and a log needs at least two")
	}
	return nil
}

// travel fills in the unit of travel, from the options, the header, the values' suffix, the name, or by guessing.
func travel(r *ingest.Recording, t *table, l *layout, c *columns, o Options) error {
	title := l.title(c.travel)
	header, known := travelUnits[fold(title.unit)]
	how, unit := "", header
	switch {
	case o.TravelUnit != "":
		unit = travelUnits[fold(o.TravelUnit)]
		how = " as set"
		if known && header != unit {
			r.Cautions = append(r.Cautions, fmt.Sprintf("travel is read in %s as set, though the header says %s", o.TravelUnit, title.unit))
		}
	case known && o.SensorUnit != "" && header.Unit != travelUnits[fold(o.SensorUnit)].Unit:
		return fail("give the fork file that belongs to this log, or overrule the header with --travel-unit",
			"travel column %s is in %s, but the fork file is for a sensor that logs %s", l.ref(c.travel), header.Unit, o.SensorUnit)
	case known:
	case title.unit != "":
		return fail("set --travel-unit, or --travel-column to another column", "travel column %s is in a unit that is not known", l.ref(c.travel))
	case l.suffixes[c.travel] != "":
		if unit, known = travelUnits[fold(l.suffixes[c.travel])]; !known {
			return fail("set --travel-column to another column", "travel column %s is in %q, which is no unit of travel", l.ref(c.travel), l.suffixes[c.travel])
		}
	case o.SensorUnit != "":
		unit, how = travelUnits[fold(o.SensorUnit)], " as the fork file says"
	case namesCounts(title.name):
		unit = travelUnits["counts"]
	default:
		low, high := extent(r.Travel)
		whole := !t.frac[toTravel]
		guess, ok := guessTravel(whole, low, high)
		if !ok {
			kind := "numbers"
			if whole {
				kind = "whole numbers"
			}
			return fail("set --travel-unit to counts, volts, percent or mm", "travel column %s has no unit, and %s from %s to %s could be several",
				l.ref(c.travel), kind, number(low), number(high))
		}
		unit = travelUnit{guess, 1}
		how = " (a guess)"
		r.Cautions = append(r.Cautions, fmt.Sprintf("the unit of travel was guessed: %s, from values of %s to %s; if that is wrong, set the travel unit", guess, number(low), number(high)))
	}
	if unit.Scale != 1 {
		for i := range r.Travel {
			r.Travel[i] *= unit.Scale
		}
		how = fmt.Sprintf(", times %g", unit.Scale)
	}
	r.Unit = unit.Unit
	r.Understood = append(r.Understood, fmt.Sprintf("travel: column %s, %s%s", l.ref(c.travel), unit.Unit, how))
	if low, high := extent(r.Travel); low == high {
		r.Cautions = append(r.Cautions, fmt.Sprintf("travel never changes: it is %s throughout; check that the sensor was connected", number(low)))
	}
	return nil
}

// namesCounts tells whether a name says that values are ADC codes.
func namesCounts(name string) bool {
	for _, w := range words(name) {
		switch w {
		case "adc", "raw", "counts", "lsb", "ain":
			return true
		}
	}
	return false
}

// extent returns the smallest and largest value, NaN left aside.
func extent(x []float64) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, v := range x {
		if v < low {
			low = v
		}
		if v > high {
			high = v
		}
	}
	return low, high
}

// guessTravel follows the rules in the package's documentation.
func guessTravel(whole bool, low, high float64) (ingest.Unit, bool) {
	switch {
	case low >= 0 && high > 400 && high < 1<<24:
		return ingest.UnitCounts, true
	case whole:
		return "", false
	case low >= 0 && high > 1.2 && high <= 5.5:
		return ingest.UnitVolts, true
	case low >= -20 && high > 110 && high <= 400:
		return ingest.UnitMM, true
	}
	return "", false
}

func extras(r *ingest.Recording, t *table, l *layout, c *columns) {
	var kept []string
	for k, i := range c.extra {
		values := t.cols[toExtra+k]
		if low, high := extent(values); low > high {
			c.left = append(c.left, fmt.Sprintf("left out: column %s, no numbers", l.ref(i)))
			continue
		}
		title := l.title(i)
		name, unit := title.name, title.unit
		if name == "" {
			name = "column " + strconv.Itoa(i+1)
		}
		if unit == "" {
			unit = l.suffixes[i]
		}
		r.Extra = append(r.Extra, ingest.Channel{Name: name, Unit: unit, Values: values})
		if unit != "" && unit != name {
			name += " [" + unit + "]"
		}
		kept = append(kept, name)
	}
	if len(kept) > 0 {
		r.Understood = append(r.Understood, "kept: "+strings.Join(kept, ", "))
	}
}

// maxLabel is the longest label of a marker, in bytes.
const maxLabel = 80

func markers(r *ingest.Recording, t *table, l *layout, c *columns) {
	if c.marker < 0 {
		return
	}
	name := l.title(c.marker).name
	if name == "" {
		name = "marker"
	}
	for _, m := range t.marks {
		if m.at >= len(r.Travel) {
			continue // on a bad row, and no good one followed
		}
		label := toUTF8([]byte(m.text))
		if len(label) > maxLabel {
			label = strings.ToValidUTF8(label[:maxLabel], "") + "…"
		}
		switch fold(label) {
		case "1", "true", "yes", "on", "x":
			label = name
		}
		r.Markers = append(r.Markers, ingest.Marker{Sample: m.at, Label: label})
	}
	if len(r.Markers) > maxMarkers {
		r.Markers = r.Markers[:maxMarkers]
		r.Cautions = append(r.Cautions, fmt.Sprintf("column %s changes too often for markers: the first %d are kept", l.ref(c.marker), maxMarkers))
	}
	r.Understood = append(r.Understood, fmt.Sprintf("markers: column %s, %d found", l.ref(c.marker), len(r.Markers)))
}

// describe says what form the log has.
func (l *layout) describe() []string {
	text := "delimiter: " + delimiterName(l.delim)
	if len(l.kinds) == 1 {
		text = "delimiter: none, one column"
	}
	if l.decimal == ',' {
		text += ", decimal comma"
	}
	out := []string{text}
	switch {
	case l.headerLine == 0:
		out = append(out, "header: none")
	case l.unitLine:
		out = append(out, fmt.Sprintf("header: line %d, units in the line after", l.headerLine))
	default:
		out = append(out, fmt.Sprintf("header: line %d", l.headerLine))
	}
	return out
}

// number writes a number for people.
func number(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }
