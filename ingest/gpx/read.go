package gpx

import (
	"bufio"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"os"

	"stanchion/ingest"
)

// Options bound what is read; a zero field takes its default.
type Options struct {
	MaxBytes  int64 // of text, after decompression
	MaxPoints int   // of all tracks together
}

// The defaults of Options. 2 million points are over four days at 5 Hz.
const (
	DefaultMaxBytes  = 512 << 20
	DefaultMaxPoints = 2_000_000
)

const (
	maxDepth  = 64      // of elements within each other
	maxMarkup = 1 << 16 // bytes of one tag, text or comment
	maxBadFew = 10      // bad rows that are kept with their line
)

// Read reads the track of a GPX file.
func Read(path string, opt Options) (*ingest.Track, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("read the track: %w", err)
	}
	defer f.Close()
	if info, err := f.Stat(); err == nil && info.IsDir() {
		return nil, ingest.Hinted{Err: fmt.Errorf("%s: is a folder", path), Hint: "give the GPX file in it"}
	}
	return ReadFrom(f, path, opt)
}

// ReadFrom reads a track from r. source names it in messages.
//
// Errors name the file and, where one is to blame, the line; most are or wrap an ingest.Hinted.
func ReadFrom(r io.Reader, source string, opt Options) (*ingest.Track, error) {
	if opt.MaxBytes <= 0 {
		opt.MaxBytes = DefaultMaxBytes
	}
	if opt.MaxPoints <= 0 {
		opt.MaxPoints = DefaultMaxPoints
	}
	in := bufio.NewReaderSize(r, 1<<16)
	if magic, _ := in.Peek(2); len(magic) == 2 && magic[0] == 0x1f && magic[1] == 0x8b {
		unzip, err := gzip.NewReader(in)
		if err != nil {
			return nil, ingest.Hinted{Err: fmt.Errorf("%s: gzip: %w", source, err), Hint: "the file is damaged: copy it again"}
		}
		defer unzip.Close()
		in = bufio.NewReaderSize(unzip, 1<<16)
	}
	p := newParser(&guard{in: in, left: opt.MaxBytes}, opt.MaxPoints)
	if err := p.parse(); err != nil {
		return nil, located(source, p, opt, err)
	}
	return p.finish(source)
}

// located puts file and line before a reason.
func located(source string, p *parser, opt Options, err error) error {
	line, _ := p.dec.InputPos()
	hint := "export the track again as GPX 1.1"
	var hinted ingest.Hinted
	switch {
	case errors.As(err, &hinted):
		hint, err = hinted.Hint, hinted.Err
	case errors.Is(err, errTooBig):
		err = fmt.Errorf("over %d MB of text", opt.MaxBytes>>20)
		hint = "is this the track of one run? Cut it down to the day"
	}
	return ingest.Hinted{Err: fmt.Errorf("%s:%d: %w", source, line, err), Hint: hint}
}

var (
	errTooBig = errors.New("too much text")
	errMarkup = errors.New("one tag or text is over 64 KiB: this is no track of a recorder")
)

// A guard hands bytes to the XML decoder and stops it at the bounds. The decoder takes whole tags and texts into memory,
// so their length must be bounded here, before it has them.
type guard struct {
	in    *bufio.Reader
	left  int64 // bytes that may still be read
	token int   // bytes since the last call of next
	ended bool  // all was read
	err   error // why reading stopped, other than at the end
}

func (g *guard) next() { g.token = 0 }

// ReadByte is what the decoder calls.
func (g *guard) ReadByte() (byte, error) {
	if g.err != nil {
		return 0, g.err
	}
	g.token++
	g.left--
	if g.left < 0 || g.token > maxMarkup {
		g.err = errMarkup
		if g.left < 0 {
			g.err = errTooBig
		}
		return 0, g.err
	}
	b, err := g.in.ReadByte()
	if err != nil {
		g.ended = err == io.EOF || errors.Is(err, io.ErrUnexpectedEOF)
		g.err = err
	}
	return b, err
}

// Read is there for the decoder's type only.
func (g *guard) Read(p []byte) (int, error) {
	if len(p) == 0 {
		return 0, nil
	}
	b, err := g.ReadByte()
	if err != nil {
		return 0, err
	}
	p[0] = b
	return 1, nil
}
