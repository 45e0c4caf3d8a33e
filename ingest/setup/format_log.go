package setup

import (
	"fmt"
	"strings"

	"stanchion/ingest/csvlog"
)

// FormatLog writes the table [log] of a setup file, "" where the options leave all to the reader.
func FormatLog(o csvlog.Options) string {
	var b strings.Builder
	text := func(key, v string) {
		if v != "" {
			fmt.Fprintf(&b, "%s = %s\n", key, quote(v))
		}
	}
	flag := func(key string, v bool) {
		if v {
			fmt.Fprintf(&b, "%s = true\n", key)
		}
	}
	value := func(key string, v float64, there bool) {
		if there {
			fmt.Fprintf(&b, "%s = %s\n", key, number(v))
		}
	}
	text("delimiter", o.Delimiter)
	flag("decimal_comma", o.DecimalComma)
	flag("decimal_point", o.DecimalPoint)
	value("skip_lines", float64(o.SkipLines), o.SkipLines > 0)
	value("header_line", float64(o.HeaderLine), o.HeaderLine > 0)
	flag("no_header", o.NoHeader)
	text("time_column", o.TimeColumn)
	text("time_unit", o.TimeUnit)
	value("tick_s", o.TickS, o.TickS != 0)
	value("rate_hz", o.RateHz, o.RateHz != 0)
	text("travel_column", o.TravelColumn)
	text("travel_unit", o.TravelUnit)
	text("marker_column", o.MarkerColumn)
	flag("no_extra", o.NoExtra)
	value("max_bad_share", max(0, o.MaxBadShare), o.MaxBadShare != 0) // negative: not one bad row, which is 0 in the file
	value("max_bytes", float64(o.MaxBytes), o.MaxBytes != 0)
	if b.Len() == 0 {
		return ""
	}
	return "\n[log]\n" + b.String()
}
