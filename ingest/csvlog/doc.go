// Package csvlog reads travel sensor logs written as delimited text.
//
// A log needs no editing first: the reader finds the delimiter, the decimal mark, the preamble, the header, the units and
// the columns by itself, says in Recording.Understood what it found, and says in Recording.Cautions where it had to guess.
// Every finding can be overruled by Options.
//
// What is delivered is what was logged: stamps are not repaired and counters are not unwrapped. Rows that cannot be
// used are left out, counted, and the first few are kept with line number and reason. In a log without stamps a row that
// cannot be used keeps its place with a travel of NaN, since leaving it out would shift all later samples in time.
//
// # Rules of guessing
//
// Time without a unit: the unit (s, ms, µs or ns) is the one that puts the sample rate between 50 and 20000 Hz, from the
// median step of the first 10000 stamps; the four ranges do not overlap. Where none does, reading stops. Where no column is named as
// time or holds dates, a first column whose name says nothing is taken as time if it never falls in the first rows; but steps of
// exactly 1 could also be a row number, so there reading stops.
//
// Travel without a unit, over all values:
//
//	whole numbers, none negative, largest 401 to 2^24-1   counts
//	with decimals, none negative, largest over 400        counts (averaged)
//	with decimals, 0 to over 1.2, at most 5.5             volts
//	with decimals, -20 or more, largest over 110 to 400   mm
//
// A name that speaks of an ADC, raw values or counts means counts. Anything else could be two things, so reading stops and names the option to set.
//
// # What is skipped
//
// Blank lines, and lines that start with #, %, // or (where it is not the delimiter) ; are no rows, also in the
// middle of a log. In a log without stamps a lost sample must therefore not be a blank line.
//
// # Bounds
//
// A line is at most 1 MiB, a quoted field at most 64 KiB, a row at most 4096 fields; at most 32 extra columns are kept; the text is at
// most Options.MaxBytes (1 GiB by default) after decompression, and at most 2^28 values are kept.
package csvlog
