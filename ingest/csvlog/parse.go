package csvlog

import (
	"bytes"
	"fmt"
	"math"

	"stanchion/ingest"
)

// Where the value of a column goes: a place in chunk.cols, or one of the negative ones.
const (
	toTime   = 0
	toTravel = 1
	toExtra  = 2 // and up
	toNobody = -1
	toMarker = -2
)

// A plan is all that is needed to parse rows. Nothing in it changes while they are parsed.
type plan struct {
	dialect
	min, max int
	targets  []int // per column
	needed   int   // number of the last column that each row must have
	timeKind kind  // kindEmpty = no stamps
	base     int64 // ns, of the first date or clock time
	suffixes []string
	width    int // of chunk.cols
}

// newPlan turns the choice of columns into what the parser needs.
func newPlan(l *layout, c *columns) *plan {
	p := &plan{dialect: l.dialect, min: l.min, max: max(l.max, len(l.kinds)), suffixes: l.suffixes, width: toExtra + len(c.extra)}
	p.targets = make([]int, p.max)
	for i := range p.targets {
		p.targets[i] = toNobody
	}
	for k, i := range c.extra {
		p.targets[i] = toExtra + k
	}
	if c.marker >= 0 {
		p.targets[c.marker] = toMarker
	}
	p.targets[c.travel] = toTravel
	p.needed = c.travel
	if c.time >= 0 {
		p.targets[c.time] = toTime
		p.timeKind = l.kinds[c.time]
		p.needed = max(p.needed, c.time)
		for _, r := range l.rows {
			if c.time < len(r) && p.setBase(r[c.time]) {
				break
			}
		}
	}
	p.min = max(p.min, p.needed+1)
	return p
}

// setBase takes the first date or clock time as the one from which stamps count, so that they keep their ns as float64.
func (p *plan) setBase(field []byte) (ok bool) {
	switch p.timeKind {
	case kindStamp:
		var s stamp
		s, ok = parseStamp(field)
		p.base = s.ns
	case kindClock:
		p.base, ok = parseClock(field)
	}
	return ok
}

// A mark is a change of the marker column.
type mark struct {
	at   int // row of the chunk that is kept
	text string
}

// A chunk is a part of the file, cut between rows, and what was found in it.
type chunk struct {
	data   []byte
	line   int  // number of the first line
	quotes bool // there is a quote in it
	done   chan struct{}

	cols     [][]float64 // all of length >= n; cols[toTime] is s from plan.base for dates and clock times
	n        int         // rows kept
	rows     int
	bad      int
	first    []ingest.BadRow
	marks    []mark
	state    string // of the marker column
	frac     [toExtra + maxExtra]bool
	leaps    []int // rows within a leap second
	leap     bool  // the row at hand is
	unzoned  bool  // a date without a zone was met
	splitter splitter
}

// reset empties c but keeps its memory.
func (c *chunk) reset() {
	*c = chunk{data: c.data[:0], done: c.done, cols: c.cols, first: c.first[:0], marks: c.marks[:0], leaps: c.leaps[:0], splitter: c.splitter}
}

// room makes sure that there is room for one more row.
func (c *chunk) room(width int) {
	if len(c.cols) < width {
		c.cols = make([][]float64, width)
	}
	if c.n < len(c.cols[0]) {
		return
	}
	for i, col := range c.cols {
		grown := make([]float64, max(1024, 2*len(col)))
		copy(grown, col)
		c.cols[i] = grown
	}
}

// parse parses all rows of c.
func (p *plan) parse(c *chunk) {
	line := c.line
	for b := c.data; len(b) > 0; {
		c.room(p.width)
		n := bytes.IndexByte(b, p.eol) + 1
		if n == 0 {
			n = len(b)
		}
		if row := b[:n]; c.quotes && bytes.IndexByte(row, '"') >= 0 {
			n = p.nextRecord(b, true)
			p.slow(c, b[:n], line)
			line += bytes.Count(b[:n], []byte{p.eol})
		} else {
			if p.delim == ' ' || !p.quick(c, trimEnd(row)) {
				p.slow(c, row, line)
			}
			line++
		}
		b = b[n:]
	}
}

// An aside is what quick finds in a row beside numbers, to be noted once the row is known to be good.
type aside struct {
	mark    []byte
	hasMark bool
	unzoned bool
	leap    bool
}

// quick parses a plain row: no quotes, all numbers plain. It returns false, and leaves nothing behind, where the row needs a closer look.
func (p *plan) quick(c *chunk, row []byte) bool {
	i := skipSpace(row, 0, p.delim)
	if i == len(row) || row[i] == '#' || row[i] == '%' || row[i] == '/' || row[i] == ';' && p.delim != ';' {
		return false
	}
	n, col := c.n, 0
	var also aside
	for {
		to := p.targets[col]
		if to < 0 || to == toTime && p.timeKind != kindNumber {
			end := bytes.IndexByte(row[i:], p.delim)
			if end < 0 {
				end = len(row) - i
			}
			if to != toNobody && !p.quickText(c, to, bytes.TrimSpace(row[i:i+end]), &also) {
				return false
			}
			i += end
		} else {
			i = skipSpace(row, i, p.delim)
			v, size, frac := scanPlain(row[i:], p.decimal)
			if size == 0 {
				if to < toExtra || i < len(row) && row[i] != p.delim {
					return false
				}
				v = math.NaN()
			}
			i = skipSpace(row, i+size, p.delim)
			if i < len(row) && row[i] != p.delim {
				return false
			}
			c.cols[to][n] = v
			if frac {
				c.frac[to] = true
			}
		}
		col++
		if i == len(row) {
			break
		}
		i++
		if col == p.max {
			return false
		}
	}
	if col < p.min {
		return false
	}
	for ; col < p.max; col++ {
		if to := p.targets[col]; to >= toExtra {
			c.cols[to][n] = math.NaN()
		}
	}
	p.keep(c, also)
	return true
}

// quickText reads a field that is no number: a stamp or a mark.
func (p *plan) quickText(c *chunk, to int, field []byte, also *aside) bool {
	if to == toMarker {
		also.mark, also.hasMark = field, true
		return true
	}
	v, s, ok := p.time(field)
	c.cols[toTime][c.n] = v
	also.unzoned, also.leap = p.timeKind == kindStamp && !s.zoned, s.leap
	return ok
}

// keep counts a row that quick has read.
func (p *plan) keep(c *chunk, also aside) {
	if also.hasMark {
		p.mark(c, also.mark)
	}
	c.unzoned = c.unzoned || also.unzoned
	if also.leap {
		c.leaps = append(c.leaps, c.n)
	}
	c.n++
	c.rows++
}

func skipSpace(b []byte, i int, delim byte) int {
	for i < len(b) && (b[i] == ' ' || b[i] == '\t' && delim != '\t') {
		i++
	}
	return i
}

// time reads a stamp.
func (p *plan) time(field []byte) (v float64, s stamp, ok bool) {
	switch p.timeKind {
	case kindStamp:
		s, ok = parseStamp(field)
		return float64(s.ns-p.base) / 1e9, s, ok
	case kindClock:
		ns, ok := parseClock(field)
		return float64(ns-p.base) / 1e9, s, ok
	}
	return 0, s, false
}

// slow parses any row and says what is wrong with it.
func (p *plan) slow(c *chunk, row []byte, line int) {
	if isBlank(row) || p.isComment(row) {
		return
	}
	c.rows++
	c.leap = false
	fields, reason := c.splitter.split(p.dialect, row)
	switch {
	case bytes.IndexByte(row, 0) >= 0:
		fields, reason = nil, "the row holds NUL bytes, as are left where writing was cut off"
	case reason != "":
	case len(fields) < p.min:
		reason = fmt.Sprintf("%d fields where there should be %d", len(fields), p.min)
		fields = nil
	case len(fields) > p.max:
		reason = fmt.Sprintf("%d fields where there should be %d", len(fields), p.max)
		fields = nil
	}
	for i := range c.cols {
		c.cols[i][c.n] = math.NaN()
	}
	for i, f := range fields {
		if r := p.slowField(c, i, f); r != "" && reason == "" {
			reason = r
		}
	}
	if reason != "" {
		c.bad++
		if len(c.first) < maxFirst {
			c.first = append(c.first, ingest.BadRow{Line: line, Reason: reason})
		}
		if p.timeKind != kindEmpty {
			return
		}
	}
	if c.leap {
		c.leaps = append(c.leaps, c.n)
	}
	c.n++
}

// slowField reads field i of a row and says what is wrong with it, "" where nothing is.
func (p *plan) slowField(c *chunk, i int, field []byte) (reason string) {
	to := p.targets[i]
	switch {
	case to == toNobody:
		return ""
	case to == toMarker:
		p.mark(c, field)
		return ""
	case to == toTime && p.timeKind != kindNumber:
		v, s, ok := p.time(field)
		if !ok {
			return "time " + short(field) + " is not a time"
		}
		c.cols[to][c.n] = v
		c.unzoned = c.unzoned || p.timeKind == kindStamp && !s.zoned
		c.leap = s.leap
		return ""
	}
	v, frac, ok := parseNumber(field, p.decimal)
	if s := p.suffixes[i]; !ok && s != "" {
		v, frac, ok = parseNumber(bytes.TrimSpace(bytes.TrimSuffix(field, []byte(s))), p.decimal)
	}
	if ok {
		c.cols[to][c.n] = v
		c.frac[to] = c.frac[to] || frac
		return ""
	}
	name := "travel"
	switch {
	case to >= toExtra:
		return "" // stays NaN
	case to == toTime:
		name = "time"
	}
	switch {
	case len(field) == 0:
		return name + " is empty"
	case isMissing(field):
		return name + " " + short(field) + " is no reading"
	}
	return name + " " + short(field) + " is not a number"
}

// mark notes a change of the marker column, at the next row that is kept.
func (p *plan) mark(c *chunk, field []byte) {
	if len(c.marks) > 0 && string(field) == c.state || len(c.marks) > 2*maxMarkers {
		return
	}
	if isOff(field, p.decimal) {
		field = nil
	}
	if len(c.marks) > 0 && string(field) == c.state {
		return
	}
	c.state = string(field)
	c.marks = append(c.marks, mark{c.n, c.state})
}

// isOff tells whether a marker field says that there is no mark.
func isOff(field []byte, decimal byte) bool {
	if isMissing(field) {
		return true
	}
	switch string(bytes.ToLower(field)) {
	case "0", "false", "off", "no":
		return true
	}
	v, _, ok := parseNumber(field, decimal)
	return ok && v == 0
}
