package csvlog

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"stanchion/ingest"
)

// Write writes a recording as text that Read reads back with the same numbers: a header with units, then a row a sample. Stamps are
// written as logged, in s, ms, µs or ns where that is their unit and in s otherwise. A value that could not be read is an empty
// field; a sample without a travel reading is left out where stamps show its place, as Read leaves out such rows. Several
// markers at one sample share its field.
func Write(w io.Writer, r *ingest.Recording) error {
	out := bufio.NewWriterSize(w, 1<<16)
	timed := r.Clock.Kind != ingest.ClockNone
	tick, scale := r.Clock.TickS, 1.0
	if tickName(tick) == "" || tick == 60 {
		tick, scale = 1, tick
	}
	var head []string
	if timed {
		head = append(head, "time ["+strings.ReplaceAll(tickName(tick), "µ", "u")+"]")
	}
	head = append(head, headerName("travel", string(r.Unit)))
	for _, c := range r.Extra {
		head = append(head, headerName(c.Name, c.Unit))
	}
	marks := markerTexts(r)
	if len(marks) > 0 {
		head = append(head, "marker")
	}
	for i := range head {
		head[i] = quoted(head[i])
	}
	row := []byte(strings.Join(head, ",") + "\n")
	for i := range r.Travel {
		if timed && math.IsNaN(r.Travel[i]) {
			continue
		}
		if _, err := out.Write(row); err != nil {
			return fmt.Errorf("write rows: %w", err)
		}
		row = row[:0]
		if timed {
			row = append(appendNumber(row, r.Stamps[i]*scale), ',')
		}
		if math.IsNaN(r.Travel[i]) {
			row = append(row, "nan"...) // a blank line would not count as a row
		} else {
			row = appendNumber(row, r.Travel[i])
		}
		for _, c := range r.Extra {
			row = appendNumber(append(row, ','), c.Values[i])
		}
		if len(marks) > 0 {
			row = append(append(row, ','), quoted(marks[i])...)
		}
		row = append(row, '\n')
	}
	if _, err := out.Write(row); err != nil {
		return fmt.Errorf("write rows: %w", err)
	}
	if err := out.Flush(); err != nil {
		return fmt.Errorf("write rows: %w", err)
	}
	return nil
}

func headerName(name, unit string) string {
	if unit == "" {
		return name
	}
	return name + " [" + unit + "]"
}

// markerTexts gives the field of each sample with markers. One at a sample that is left out goes to the next that is written.
func markerTexts(r *ingest.Recording) map[int]string {
	out := map[int]string{}
	for _, m := range r.Markers {
		at := m.Sample
		for r.Clock.Kind != ingest.ClockNone && at < len(r.Travel)-1 && math.IsNaN(r.Travel[at]) {
			at++
		}
		if was := out[at]; was != "" {
			out[at] = was + " + " + m.Label
		} else {
			out[at] = m.Label
		}
	}
	return out
}

// appendNumber appends the shortest form that reads back as v, without exponent; nothing where v is not a number.
func appendNumber(b []byte, v float64) []byte {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return b
	}
	return strconv.AppendFloat(b, v, 'f', -1, 64)
}

// quoted puts s in quotes where it would break a row.
func quoted(s string) string {
	s = strings.Map(func(r rune) rune {
		if r == '\n' || r == '\r' {
			return ' '
		}
		return r
	}, s)
	if !strings.ContainsAny(s, "\",") {
		return s
	}
	return `"` + strings.ReplaceAll(s, `"`, `""`) + `"`
}
