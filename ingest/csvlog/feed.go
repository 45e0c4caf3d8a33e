package csvlog

import (
	"bytes"
	"io"
)

// A feed cuts the text of a log into chunks of whole rows.
type feed struct {
	dialect
	src  io.Reader
	rest []byte // read, not yet given out
	line int    // number of the first line of rest
	size int
	done bool // src has ended
}

// next fills c with the next rows. It returns io.EOF after the last ones.
func (f *feed) next(c *chunk) error {
	c.reset()
	c.data = append(c.data, f.rest...)
	c.line = f.line
	n := 0
	for {
		// The buffer is filled to size more bytes, so that short reads do not make small chunks, and at least doubled, so that the
		// time for a long row does not grow with its square.
		for want := len(f.rest) + max(f.size, len(f.rest)); !f.done && len(c.data) < want; {
			if cap(c.data) < want {
				c.data = append(make([]byte, 0, want+want/8), c.data...)
			}
			k, err := f.src.Read(c.data[len(c.data):want])
			c.data = c.data[:len(c.data)+k]
			if err == io.EOF {
				f.done = true
			} else if err != nil {
				return err
			}
		}
		n = f.cut(c.data)
		if n > 0 || f.done {
			break
		}
		c.data = squeezeNUL(c.data)
		f.rest = append(f.rest[:0], c.data...)
		if len(c.data) > maxLine {
			return &Error{Line: f.line, Reason: "the line is longer than 1 MiB", Hint: "a log is lines of text; check --delimiter and that this is the right file"}
		}
	}
	f.rest = append(f.rest[:0], c.data[n:]...)
	c.data = c.data[:n]
	if n == 0 {
		return io.EOF
	}
	c.quotes = bytes.IndexByte(c.data, '"') >= 0
	f.line += bytes.Count(c.data, []byte{f.eol})
	return nil
}

// cut returns how many bytes at the start of b are whole rows.
func (f *feed) cut(b []byte) int {
	if f.done {
		return len(b)
	}
	end := bytes.LastIndexByte(b, f.eol) + 1
	if bytes.IndexByte(b, '"') < 0 {
		return end
	}
	at := 0
	for at < len(b) {
		n := f.nextRecord(b[at:], false)
		if n == 0 {
			break
		}
		at += n
	}
	return at
}

// squeezeNUL leaves one of the NUL bytes at the end of b. Where power was lost, file systems leave long runs of them.
func squeezeNUL(b []byte) []byte {
	trimmed := bytes.TrimRight(b, "\x00")
	return b[:min(len(b), len(trimmed)+1)]
}
