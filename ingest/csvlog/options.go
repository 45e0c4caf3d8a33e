package csvlog

import (
	"cmp"
	"math"
	"strings"

	"stanchion/ingest"
)

// Bounds that are not options.
const (
	maxLine    = 1 << 20  // bytes in a line
	maxQuoted  = 64 << 10 // bytes in a row with a quoted field that spans lines
	maxFields  = 4096     // fields in a row
	maxExtra   = 32       // extra columns kept
	maxValues  = 1 << 28  // numbers kept, all columns together
	maxMarkers = 10000    // markers kept
	maxFirst   = 5        // bad rows kept with their reason
	sniffSize  = 64 << 10 // bytes looked at to understand a log
	chunkBytes = 1 << 19  // bytes parsed at a time
)

// Defaults of Options.
const (
	DefaultMaxBadShare = 0.05
	DefaultMaxBytes    = 1 << 30
)

// Options overrule what the reader finds by itself. The zero value lets it find everything.
// A column is given by its name as in the header (with or without its unit, capitals do not matter) or by its
// 1-based number.
type Options struct {
	Delimiter    string // one of , ; | tab space; "" = find it
	DecimalComma bool   // numbers use a decimal comma
	DecimalPoint bool   // numbers use a decimal point

	SkipLines  int  // lines to skip at the start, whatever they hold
	HeaderLine int  // 1-based line of the header; 0 = find it
	NoHeader   bool // there is no header

	TimeColumn string  // a column, or "none" where stamps are not to be used
	TimeUnit   string  // s, ms, us, ns, min, date (RFC 3339) or clock (hh:mm:ss)
	TickS      float64 // seconds per unit of the time column, for counters with a tick of their own; overrules TimeUnit
	RateHz     float64 // sample rate, used where there are no stamps or where the time column holds sample numbers

	TravelColumn string
	TravelUnit   string // counts, volts, percent or mm
	SensorUnit   string // what the sensor's calibration takes: the travel unit where neither TravelUnit nor the log names one
	MarkerColumn string // a column, or "none"
	NoExtra      bool   // keep no other columns

	MaxBadShare float64 // share of bad rows above which reading fails; 0 = DefaultMaxBadShare, negative = no bad row at all
	MaxBytes    int64   // most bytes of text to read, after decompression; 0 = DefaultMaxBytes

	// Progress, where set, is told now and then how many bytes of the file are read, and its size (0 = not known). It is
	// called from another goroutine, but never twice at a time.
	Progress func(done, total int64)

	chunkSize int // 0 = chunkBytes; tests make it tiny
}

// noColumn switches a column off.
const noColumn = "none"

// prepared checks o and fills in the defaults.
func (o Options) prepared() (Options, error) {
	if o.MaxBadShare == 0 {
		o.MaxBadShare = DefaultMaxBadShare
	}
	if o.MaxBadShare < 0 {
		o.MaxBadShare = 0
	}
	if o.MaxBytes == 0 {
		o.MaxBytes = DefaultMaxBytes
	}
	if o.chunkSize == 0 {
		o.chunkSize = chunkBytes
	}
	return o, o.Check()
}

// Check tells what is wrong with the options by themselves, nil where nothing is.
func (o Options) Check() error {
	_, delimiterOK := delimiterByte(o.Delimiter)
	_, timeOK := timeUnits[fold(o.TimeUnit)]
	_, travelOK := travelUnits[fold(o.TravelUnit)]
	_, sensorOK := travelUnits[fold(o.SensorUnit)]
	switch {
	case o.Delimiter != "" && !delimiterOK:
		return fail("allowed are , ; | tab and space", "delimiter %q is not known", o.Delimiter)
	case o.DecimalComma && o.DecimalPoint:
		return fail("set one of them", "decimal comma and decimal point are both set")
	case o.SkipLines < 0:
		return fail("use 0 or more", "number of lines to skip is %d", o.SkipLines)
	case o.HeaderLine < 0:
		return fail("lines count from 1", "header line is %d", o.HeaderLine)
	case o.HeaderLine > 0 && o.NoHeader:
		return fail("set one of them", "a header line is given, and also that there is no header")
	case o.HeaderLine > 0 && o.HeaderLine <= o.SkipLines:
		return fail("lines count from the start of the file", "header line %d is among the %d lines to skip", o.HeaderLine, o.SkipLines)
	case o.TimeUnit != "" && !timeOK && !isDateUnit(o.TimeUnit) && !isClockUnit(o.TimeUnit):
		return fail("allowed are s, ms, us, ns, min, date and clock", "time unit %q is not known", o.TimeUnit)
	case o.TravelUnit != "" && !travelOK:
		return fail("allowed are counts, volts, percent and mm", "travel unit %q is not known", o.TravelUnit)
	case o.SensorUnit != "" && !sensorOK:
		return fail("allowed are counts, volts, percent and mm", "sensor unit %q is not known", o.SensorUnit)
	case !(o.RateHz >= 0) || math.IsInf(o.RateHz, 0):
		return fail("use a rate in Hz, like 1000", "sample rate %g Hz is not possible", o.RateHz)
	case !(o.TickS >= 0) || math.IsInf(o.TickS, 0):
		return fail("use seconds, like 0.000001", "tick of %g s is not possible", o.TickS)
	case math.IsNaN(o.MaxBadShare) || o.MaxBadShare > 1:
		return fail("use a share from 0 to 1, like 0.05", "share of bad rows %g is not possible", o.MaxBadShare)
	case o.MaxBytes < 0:
		return fail("use a number of bytes", "limit of %d bytes is not possible", o.MaxBytes)
	}
	return nil
}

// wantedUnit is the travel unit that a column should have, "" where any will do.
func (o *Options) wantedUnit() string { return cmp.Or(o.TravelUnit, o.SensorUnit) }

// delimiterByte turns an option into the byte; a space stands for runs of spaces and tabs.
func delimiterByte(s string) (byte, bool) {
	switch strings.ToLower(s) {
	case ",", ";", "|", "\t", " ":
		return s[0], true
	case "tab", `\t`:
		return '\t', true
	case "space":
		return ' ', true
	}
	return 0, false
}

// delimiterName is the inverse, for messages.
func delimiterName(b byte) string {
	switch b {
	case '\t':
		return "tab"
	case ' ':
		return "space"
	}
	return string(b)
}

// timeUnits gives the s per unit of the ways to write a time unit.
var timeUnits = map[string]float64{
	"s": 1, "sec": 1, "secs": 1, "second": 1, "seconds": 1,
	"ms": 1e-3, "msec": 1e-3, "msecs": 1e-3, "millis": 1e-3, "millisecond": 1e-3, "milliseconds": 1e-3,
	"us": 1e-6, "usec": 1e-6, "usecs": 1e-6, "micros": 1e-6, "microsecond": 1e-6, "microseconds": 1e-6,
	"ns": 1e-9, "nsec": 1e-9, "nanos": 1e-9, "nanosecond": 1e-9, "nanoseconds": 1e-9,
	"min": 60, "minute": 60, "minutes": 60,
}

// tickName is the short name of a time unit.
func tickName(tick float64) string {
	switch tick {
	case 1:
		return "s"
	case 1e-3:
		return "ms"
	case 1e-6:
		return "µs"
	case 1e-9:
		return "ns"
	case 60:
		return "min"
	}
	return ""
}

func isDateUnit(s string) bool {
	s = fold(s)
	return s == "date" || s == "datetime" || s == "rfc3339" || s == "iso8601"
}

func isClockUnit(s string) bool {
	s = fold(s)
	return s == "clock" || s == "hh:mm:ss" || s == "hh:mm:ss.fff" || s == "hms"
}

// A travelUnit is a way to write a travel unit: values times Scale are in Unit.
type travelUnit struct {
	Unit  ingest.Unit
	Scale float64
}

var travelUnits = map[string]travelUnit{
	"counts": {ingest.UnitCounts, 1}, "count": {ingest.UnitCounts, 1}, "cnt": {ingest.UnitCounts, 1}, "cnts": {ingest.UnitCounts, 1},
	"adc": {ingest.UnitCounts, 1}, "lsb": {ingest.UnitCounts, 1}, "raw": {ingest.UnitCounts, 1}, "codes": {ingest.UnitCounts, 1},
	"v": {ingest.UnitVolts, 1}, "volt": {ingest.UnitVolts, 1}, "volts": {ingest.UnitVolts, 1}, "mv": {ingest.UnitVolts, 1e-3},
	"%": {ingest.UnitPercent, 1}, "percent": {ingest.UnitPercent, 1}, "pct": {ingest.UnitPercent, 1},
	"mm": {ingest.UnitMM, 1}, "millimetres": {ingest.UnitMM, 1}, "millimeters": {ingest.UnitMM, 1}, "cm": {ingest.UnitMM, 10}, "m": {ingest.UnitMM, 1000},
}

// fold brings a name or unit into the form in which they are compared: lower case, both letters for micro as u.
func fold(s string) string {
	s = strings.ToLower(strings.TrimSpace(s))
	return strings.ReplaceAll(strings.ReplaceAll(s, "µ", "u"), "μ", "u")
}
