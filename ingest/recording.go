package ingest

import "time"

// A Unit is what the numbers in a travel column mean.
type Unit string

// The travel units that a log may use.
const (
	UnitUnknown Unit = ""
	UnitCounts  Unit = "counts"  // ADC codes
	UnitVolts   Unit = "volts"   // sensor output voltage
	UnitPercent Unit = "percent" // of the fork's travel, 0 = extended
	UnitMM      Unit = "mm"      // along the stanchion, 0 = extended
)

// A ClockKind says what the stamps of a recording are.
type ClockKind string

// The kinds of clock.
const (
	ClockNone    ClockKind = "none"    // no stamps: samples are 1/RateHz apart
	ClockCounter ClockKind = "counter" // integer ticks that may wrap at 16 or 32 bits
	ClockElapsed ClockKind = "elapsed" // elapsed time, never wraps
	ClockWall    ClockKind = "wall"    // date or clock time, already turned into s from the first stamp
)

// Clock describes the stamps of a recording.
type Clock struct {
	Kind   ClockKind
	TickS  float64   // s per stamp unit (1e-6 for µs counters, 1 for seconds)
	RateHz float64   // only for ClockNone: the rate the user gave
	Start  time.Time // wall time of the first stamp, zero where unknown
}

// A Channel is an extra column kept beside travel. Values that could not be read are NaN.
type Channel struct {
	Name   string // as in the header, or "column 4"
	Unit   string // as in the header, "" where none was given
	Values []float64
}

// A Marker is a point in the log that the rider marked.
type Marker struct {
	Sample int // index into Recording.Travel
	Label  string
}

// A BadRow is a line that the reader could not use.
type BadRow struct {
	Line   int    `json:"line"` // 1-based line number in the (decompressed) file
	Reason string `json:"reason"`
}

// RowCount says how many rows a reader met and what it could not use.
type RowCount struct {
	Data  int      // rows after the header and preamble, comments and blank lines left out
	Bad   int      // of those, rows that were left out
	First []BadRow // the first few bad rows
}

// A Recording is one sensor log as it was written: no repair, no calibration.
// Stamps (unless Clock.Kind is ClockNone, where it is nil), Travel and each Extra channel have the same length.
type Recording struct {
	Source  string // the path or name the user gave
	Clock   Clock
	Stamps  []float64 // in units of Clock.TickS, exactly as logged (counters not unwrapped); each is finite
	Travel  []float64 // in Unit; NaN = the row was there but its reading was not usable
	Unit    Unit
	ADCBits int // of the converter behind Travel, 0 where the log does not tell; the setup's word goes before it
	Extra   []Channel
	Markers []Marker
	// Understood is what the reader made of the log, one short line a fact, for people:
	// "time: column 1, µs, 32-bit wrap", "travel: column 3, counts".
	Understood []string
	// Cautions are doubts of the reader that a person should see, for example a unit it had to guess.
	Cautions []string
	Rows     RowCount
}
