package wire

import (
	"bytes"
	"errors"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Limits of the text mode.
const (
	MaxLine    = 256 // bytes in a line, without its end
	MaxColumns = 1 + MaxChannels
)

// A LineKind says what a line of the text mode is.
type LineKind uint8

// The kinds of line.
const (
	LineRow     LineKind = iota // a sample
	LineHeader                  // names of the columns
	LineComment                 // starts with #
	LineBad                     // not usable: see Line.Err
)

// A Line is one line of the text mode. Blank lines are not returned.
type Line struct {
	Kind   LineKind
	Number int64 // of the line in the stream, from 1
	// Micros is the stamp of a row as sent; StampUS is the same with wraps of a 32-bit counter undone.
	Micros, StampUS uint64
	// Restart is set in the first row after the stamps went back by something other than a wrap: the board was reset.
	Restart bool
	Values  []float64 // the columns after the stamp
	Names   []string  // of all columns, in a header
	Text    string    // of a comment, without # and blanks at the ends
	Err     error     // why a line is bad
}

// Why a line is bad. They are values so that a noisy stream costs no memory.
var (
	errLineLong    = errors.New("line is longer than 256 bytes")
	errLineColumns = errors.New("want 2 to 17 columns: stamp in µs, then values")
	errLineUTF8    = errors.New("not UTF-8")
	errLineStamp   = errors.New("first column is not a stamp in whole µs")
	errLineValue   = errors.New("a value is not a number")
	errLineWidth   = errors.New("number of columns differs from the first row")
	errLineJoined  = errors.New("first line after joining a running stream: it may be cut short at its start")
)

// A LineDecoder reads the text mode: `micros,count` lines. See "Text mode" in firmware-protocol/spec.md. Its rows have no CRC and no
// number, so that losses show only in the stamps.
type LineDecoder struct {
	joined  bool // the next line may lack its start
	held    int
	hold    [MaxLine + 2]byte // full means: too long
	number  int64
	columns int // of the first row; 0 before it
	rows    int64
	bad     int64
	last    uint64 // Micros of the last row
	base    uint64 // added to Micros
	line    Line
	values  [MaxChannels]float64
}

// NewLineDecoder returns a LineDecoder. joined says that the stream may have been running before: the first line is then bad unless
// it is a comment, for a row that lost its first digits looks like any other.
func NewLineDecoder(joined bool) *LineDecoder { return &LineDecoder{joined: joined} }

// Rows returns how many rows were read, and how many lines were bad.
func (d *LineDecoder) Rows() (rows, bad int64) { return d.rows, d.bad }

// Next takes bytes from p until a line is whole, and returns it and the bytes after it; nil where p ends first. The line belongs
// to the LineDecoder and holds until the next call.
func (d *LineDecoder) Next(p []byte) (*Line, []byte) {
	for len(p) > 0 {
		i := bytes.IndexByte(p, '\n')
		if i < 0 {
			d.keep(p)
			return nil, nil
		}
		text := p[:i]
		p = p[i+1:]
		if d.held > 0 {
			d.keep(text)
			text = d.hold[:d.held]
		}
		d.held = 0
		if d.accept(text) {
			return &d.line, p
		}
	}
	return nil, nil
}

// Close ends the stream. A last line that lacks its line end may lack digits too, so that it is not used: it is returned as bad
// unless it is empty.
func (d *LineDecoder) Close() *Line {
	if d.held == 0 {
		return nil
	}
	d.held = 0
	d.number++
	d.line = Line{Number: d.number}
	return d.reject(errors.New("last line has no line end: it may be cut short"))
}

func (d *LineDecoder) keep(p []byte) { d.held += copy(d.hold[d.held:], p) }

// accept parses a line, and reports whether d.line is to be returned.
func (d *LineDecoder) accept(text []byte) bool {
	d.number++
	d.line = Line{Number: d.number}
	joined := d.joined
	d.joined = false
	text = bytes.TrimSuffix(text, []byte{'\r'})
	if len(text) > MaxLine {
		d.reject(errLineLong)
		return true
	}
	text = bytes.Trim(text, " \t")
	switch {
	case len(text) == 0:
		return false
	case !utf8.Valid(text):
		d.reject(errLineUTF8)
	case text[0] == '#':
		d.line.Kind = LineComment
		d.line.Text = strings.TrimSpace(string(text[1:]))
	case joined:
		d.reject(errLineJoined)
	case d.columns == 0 && !isNumberStart(text[0]):
		d.header(text)
	default:
		d.row(text)
	}
	return true
}

func (d *LineDecoder) reject(err error) *Line {
	d.bad++
	d.line.Kind, d.line.Err, d.line.Values = LineBad, err, nil
	return &d.line
}

func isNumberStart(c byte) bool { return c >= '0' && c <= '9' || c == '-' || c == '+' || c == '.' }

func (d *LineDecoder) header(text []byte) {
	names := strings.Split(string(text), ",")
	if len(names) < 2 || len(names) > MaxColumns {
		d.reject(errLineColumns)
		return
	}
	for i := range names {
		names[i] = strings.TrimSpace(names[i])
	}
	d.line.Kind, d.line.Names = LineHeader, names
}

func (d *LineDecoder) row(text []byte) {
	stamp, rest, more := bytes.Cut(text, []byte{','})
	micros, ok := parseWhole(bytes.TrimRight(stamp, " \t"))
	if !ok {
		d.reject(errLineStamp)
		return
	}
	n := 0
	for more {
		var field []byte
		if field, rest, more = bytes.Cut(rest, []byte{','}); n == MaxChannels {
			d.reject(errLineColumns)
			return
		}
		if d.values[n], ok = parseValue(bytes.Trim(field, " \t")); !ok {
			d.reject(errLineValue)
			return
		}
		n++
	}
	switch {
	case n == 0:
		d.reject(errLineColumns)
		return
	case d.columns == 0:
		d.columns = n
	case n != d.columns:
		d.reject(errLineWidth)
		return
	}
	d.line.Kind, d.line.Micros, d.line.Values = LineRow, micros, d.values[:n]
	d.stamp(micros)
	d.rows++
}

// wrapLimitUS is the longest step across a wrap of the board's counter; a longer one is taken for a reset.
const wrapLimitUS = 10_000_000

// stamp undoes wraps.
func (d *LineDecoder) stamp(micros uint64) {
	if d.rows > 0 && micros < d.last {
		if d.last <= 0xFFFFFFFF && uint32(micros)-uint32(d.last) <= wrapLimitUS {
			d.base += 1 << 32
		} else {
			d.line.Restart = true
			d.base = 0
		}
	}
	d.last = micros
	d.line.StampUS = d.base + micros
}

// parseWhole reads a whole number of at most 18 digits.
func parseWhole(b []byte) (n uint64, ok bool) {
	if len(b) == 0 || len(b) > 18 {
		return 0, false
	}
	for _, c := range b {
		if c < '0' || c > '9' {
			return 0, false
		}
		n = 10*n + uint64(c-'0')
	}
	return n, true
}

// parseValue reads a decimal number: sign, digits, point, digits. No exponent, no hexadecimal, no words.
func parseValue(b []byte) (float64, bool) {
	if n, ok := parseWhole(b); ok {
		return float64(n), true
	}
	for i, c := range b {
		if !isNumberStart(c) || (c == '-' || c == '+') && i > 0 {
			return 0, false
		}
	}
	v, err := strconv.ParseFloat(string(b), 64)
	return v, err == nil
}
