package csvlog

import "bytes"

// A dialect is how rows and fields are told apart.
type dialect struct {
	delim   byte // ' ' = runs of spaces and tabs
	decimal byte // '.' or ','
	eol     byte // '\n', or '\r' in files without any '\n'
}

// isComment tells whether a line is a comment: # % // or, where it is not the delimiter, ; comes first.
func (d dialect) isComment(line []byte) bool {
	line = bytes.TrimLeft(line, " \t")
	if len(line) == 0 {
		return false
	}
	switch line[0] {
	case '#', '%':
		return true
	case ';':
		return d.delim != ';'
	case '/':
		return len(line) > 1 && line[1] == '/'
	}
	return false
}

// trimEnd cuts off the end of the line.
func trimEnd(line []byte) []byte {
	for len(line) > 0 && (line[len(line)-1] == '\n' || line[len(line)-1] == '\r') {
		line = line[:len(line)-1]
	}
	return line
}

// isBlank tells whether a line holds nothing but spaces.
func isBlank(line []byte) bool {
	for _, c := range line {
		switch c {
		case ' ', '\t', '\r', '\n':
		default:
			return false
		}
	}
	return true
}

// nextRecord returns the length of the row at the start of b, its end of line included; 0 means that more of
// the file is needed to tell. final says that there is no more.
//
// A quoted field may hold ends of lines (RFC 4180 section 2). A quote that is not closed within maxQuoted bytes is
// taken as a stray one, and the row ends with its line. The answer depends on the bytes alone, not on how the
// file is cut into chunks.
func (d dialect) nextRecord(b []byte, final bool) int {
	end := bytes.IndexByte(b, d.eol) + 1
	if end == 0 {
		if final {
			return len(b)
		}
		return 0
	}
	line := b[:end]
	if bytes.IndexByte(line, '"') < 0 || d.isComment(line) {
		return end
	}
	window := b
	if len(window) > maxQuoted {
		window = window[:maxQuoted]
	}
	quoted, open := d.quotedEnd(window)
	switch {
	case quoted > 0:
		return quoted
	case len(window) < maxQuoted && !final:
		return 0
	case !open && final && len(window) == len(b):
		return len(b)
	}
	return end
}

// quotedEnd returns the length of the row at the start of b, ends of lines in quotes left alone; 0 means that it does not end in b, and
// open that b ends inside quotes.
func (d dialect) quotedEnd(b []byte) (n int, open bool) {
	atStart, quoted := true, false
	for i := 0; i < len(b); i++ {
		c := b[i]
		switch {
		case quoted:
			if c == '"' {
				if i+1 < len(b) && b[i+1] == '"' {
					i++
				} else {
					quoted = false
				}
			}
		case c == d.eol:
			return i + 1, false
		case c == '"' && atStart:
			quoted, atStart = true, false
		case c == d.delim || d.delim == ' ' && c == '\t':
			atStart = true
		case c != ' ' && c != '\t':
			atStart = false
		}
	}
	return 0, quoted
}

// A splitter cuts rows into fields and keeps the memory for doing so.
type splitter struct {
	fields [][]byte
	text   []byte // unescaped quoted fields
}

// split cuts a row into fields without spaces around them and without their quotes. The fields hold until the next call. problem says
// what is wrong with the row, "" where nothing is.
func (s *splitter) split(d dialect, row []byte) (fields [][]byte, problem string) {
	row = trimEnd(row)
	s.fields, s.text = s.fields[:0], s.text[:0]
	if d.delim == ' ' {
		row = bytes.Trim(row, " \t")
	}
	for {
		if len(s.fields) == maxFields {
			return nil, "the row has over 4096 fields"
		}
		for len(row) > 0 && (row[0] == ' ' || row[0] == '\t' && d.delim != '\t') {
			row = row[1:]
		}
		var field []byte
		var more bool
		if len(row) > 0 && row[0] == '"' {
			field, row, more, problem = s.quoted(d, row)
			if problem != "" {
				return nil, problem
			}
		} else {
			field, row, more = d.plain(row)
		}
		s.fields = append(s.fields, field)
		if !more {
			return s.fields, ""
		}
	}
}

// plain cuts the first field off row. more tells that a delimiter followed.
func (d dialect) plain(row []byte) (field, rest []byte, more bool) {
	i := bytes.IndexByte(row, d.delim)
	if d.delim == ' ' {
		i = bytes.IndexAny(row, " \t")
	}
	if i < 0 {
		return bytes.TrimRight(row, " \t"), nil, false
	}
	return bytes.TrimRight(row[:i], " \t"), row[i+1:], true
}

// quoted cuts the first field, which starts with a quote, off row.
func (s *splitter) quoted(d dialect, row []byte) (field, rest []byte, more bool, problem string) {
	row = row[1:]
	start := len(s.text)
	for {
		i := bytes.IndexByte(row, '"')
		if i < 0 {
			return nil, nil, false, "a quote is opened and not closed"
		}
		s.text = append(s.text, row[:i]...)
		row = row[i+1:]
		if len(row) == 0 || row[0] != '"' {
			break
		}
		s.text = append(s.text, '"')
		row = row[1:]
	}
	// A later append may move s.text; the earlier fields then keep the old memory, which stays as it is.
	field = bytes.TrimSpace(s.text[start:len(s.text):len(s.text)])
	after, rest, more := d.plain(row)
	if len(after) > 0 {
		return nil, nil, false, "text follows a closing quote: " + short(after)
	}
	return field, rest, more, ""
}
