package csvlog

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"io"
	"os"
)

// A source yields the text of a log as UTF-8, whatever it is wrapped in.
type source struct {
	io.Reader
	notes []string // what the log was wrapped in
	coded bool     // the text is longer or shorter than the file
	cut   bool     // the compressed data end early
	left  int64    // bytes of text that may still come
	limit int64
}

// errTooLong says that MaxBytes was reached.
var errTooLong = errors.New("too much text")

// open opens the file of a log and tells its size, 0 where it has none.
func open(path string) (*os.File, int64, error) {
	f, err := os.Open(path)
	if err != nil {
		var perr *os.PathError
		if errors.As(err, &perr) {
			err = perr.Err // the path is in Error already
		}
		return nil, 0, &Error{Reason: "cannot open the log", Hint: "check the path and the file's permissions", Err: err}
	}
	info, err := f.Stat()
	if err != nil {
		f.Close()
		return nil, 0, &Error{Reason: "cannot look at the log", Err: err}
	}
	if info.IsDir() {
		f.Close()
		return nil, 0, fail("name one log file in it", "this is a folder, not a log")
	}
	if !info.Mode().IsRegular() {
		return f, 0, nil
	}
	return f, info.Size(), nil
}

// newSource looks at the start of r and unwraps it: gzip by its magic bytes, byte-order marks, UTF-16.
func newSource(ctx context.Context, r io.Reader, size int64, o Options) (*source, error) {
	s := &source{limit: o.MaxBytes, left: o.MaxBytes}
	raw := bufio.NewReader(&watched{ctx: ctx, r: r, total: size, tell: o.Progress})
	text := raw
	if magic, _ := raw.Peek(2); bytes.Equal(magic, []byte{0x1f, 0x8b}) {
		zip, err := gzip.NewReader(raw)
		if err != nil {
			return nil, &Error{Reason: "the gzip header is broken", Err: err}
		}
		s.notes = append(s.notes, "compressed: gzip")
		s.coded = true
		text = bufio.NewReader(&unzipped{zip: zip, cut: &s.cut})
	}
	start, err := text.Peek(512)
	if err != nil && err != io.EOF {
		return nil, &Error{Reason: "cannot read the log", Err: err}
	}
	s.Reader, err = text, nil
	switch {
	case bytes.HasPrefix(start, []byte{0xff, 0xfe, 0, 0}) || bytes.HasPrefix(start, []byte{0, 0, 0xfe, 0xff}):
		return nil, fail("save the log as UTF-8", "the log is UTF-32 text, which is not read")
	case bytes.HasPrefix(start, []byte{0xef, 0xbb, 0xbf}):
		s.notes = append(s.notes, "encoding: UTF-8 with byte-order mark")
		_, err = text.Discard(3)
	case bytes.HasPrefix(start, []byte{0xff, 0xfe}):
		s.Reader, err = s.utf16(text, 2, false)
	case bytes.HasPrefix(start, []byte{0xfe, 0xff}):
		s.Reader, err = s.utf16(text, 2, true)
	case looksUTF16(start, 1):
		s.Reader, err = s.utf16(text, 0, false)
	case looksUTF16(start, 0):
		s.Reader, err = s.utf16(text, 0, true)
	}
	return s, err
}

// Read passes on text until there is more of it than allowed.
func (s *source) Read(p []byte) (int, error) {
	if int64(len(p)) > s.left {
		p = p[:s.left+1]
	}
	n, err := s.Reader.Read(p)
	if int64(n) > s.left {
		return 0, errTooLong
	}
	s.left -= int64(n)
	return n, err
}

func (s *source) utf16(r *bufio.Reader, skip int, big bool) (io.Reader, error) {
	note := "encoding: UTF-16, little-endian"
	if big {
		note = "encoding: UTF-16, big-endian"
	}
	s.notes = append(s.notes, note)
	s.coded = true
	_, err := r.Discard(skip)
	return &utf16Reader{r: r, big: big}, err
}

// watched stops reading when the context ends, and tells the progress.
type watched struct {
	ctx         context.Context
	r           io.Reader
	done, total int64
	tell        func(done, total int64)
}

func (w *watched) Read(p []byte) (int, error) {
	if err := w.ctx.Err(); err != nil {
		return 0, err
	}
	n, err := w.r.Read(p)
	w.done += int64(n)
	if w.tell != nil && n > 0 {
		w.tell(w.done, w.total)
	}
	return n, err
}

// unzipped turns the early end of compressed data into a plain end, and notes it: a logger that lost power
// leaves such files, and what was written before is good.
type unzipped struct {
	zip *gzip.Reader
	cut *bool
}

func (u *unzipped) Read(p []byte) (int, error) {
	n, err := u.zip.Read(p)
	if errors.Is(err, io.ErrUnexpectedEOF) {
		*u.cut = true
		err = io.EOF
	}
	return n, err
}
