package csvlog

import (
	"fmt"
	"strconv"
	"unicode/utf8"

	"stanchion/ingest"
)

// An Error says why a log could not be read.
type Error struct {
	Path   string // as the user gave it
	Line   int    // 1-based, 0 where no single line is to blame
	Reason string
	Hint   string // what to do about it, "" where nothing is known; not part of Error's text
	Err    error  // the cause, where there is one
	// Rows are the first rows that could not be used, where there were too many of them.
	Rows []ingest.BadRow
}

// Error returns "path:line: reason", without what is not known, and a line of that form for each of Rows.
func (e *Error) Error() string {
	s := e.Path
	if e.Line > 0 {
		s += ":" + strconv.Itoa(e.Line)
	}
	if s != "" {
		s += ": "
	}
	s += e.Reason
	if e.Err != nil {
		s += ": " + e.Err.Error()
	}
	for _, r := range e.Rows {
		s += fmt.Sprintf("\n%s:%d: %s", e.Path, r.Line, r.Reason)
	}
	return s
}

// Unwrap returns the cause.
func (e *Error) Unwrap() error { return e.Err }

// fail makes an Error without a path: Read fills that in.
func fail(hint, format string, args ...any) *Error {
	return &Error{Reason: fmt.Sprintf(format, args...), Hint: hint}
}

// withRows adds the rows that are to blame.
func (e *Error) withRows(rows []ingest.BadRow) *Error {
	e.Rows = rows
	return e
}

// maxQuote is how much of an offending text a reason repeats.
const maxQuote = 40

// short quotes b for a message, cut to about maxQuote bytes.
func short(b []byte) string {
	if len(b) <= maxQuote {
		return strconv.Quote(string(b))
	}
	cut := maxQuote
	for cut > maxQuote-utf8.UTFMax && !utf8.RuneStart(b[cut]) {
		cut--
	}
	return strconv.Quote(string(b[:cut])) + "…"
}
