package fit

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/muktihari/fit/decoder"

	"stanchion/ingest"
)

// Options bound what is read; a zero field takes its default.
type Options struct {
	MaxBytes  int64 // after decompression
	MaxPoints int
}

// The defaults of Options. 2 million points are over four days at 5 Hz.
const (
	DefaultMaxBytes  = 128 << 20
	DefaultMaxPoints = 2_000_000
)

// Read reads the track of a FIT file.
func Read(path string, opt Options) (*ingest.Track, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("read the track: %w", err)
	}
	defer f.Close()
	if info, err := f.Stat(); err == nil && info.IsDir() {
		return nil, ingest.Hinted{Err: fmt.Errorf("%s: is a folder", path), Hint: "give the FIT file in it"}
	}
	return ReadFrom(f, path, opt)
}

// ReadFrom reads a track from r. source names it in messages. Errors name the file; most are or wrap an ingest.Hinted.
func ReadFrom(r io.Reader, source string, opt Options) (*ingest.Track, error) {
	if opt.MaxBytes <= 0 {
		opt.MaxBytes = DefaultMaxBytes
	}
	if opt.MaxPoints <= 0 {
		opt.MaxPoints = DefaultMaxPoints
	}
	in := bufio.NewReader(r)
	var plain io.Reader = in
	if magic, _ := in.Peek(2); bytes.Equal(magic, []byte{0x1f, 0x8b}) {
		unzip, err := gzip.NewReader(in)
		if err != nil {
			return nil, damaged(source, fmt.Errorf("gzip: %w", err))
		}
		defer unzip.Close()
		plain = unzip
	}
	b := &bounded{in: plain, left: opt.MaxBytes}
	c := &collector{maxPoints: opt.MaxPoints}
	err := decode(b, c)
	switch {
	case b.tooBig:
		return nil, ingest.Hinted{Err: fmt.Errorf("%s: over %d MB", source, opt.MaxBytes>>20), Hint: "is this the activity of one day?"}
	case c.tooMany:
		return nil, ingest.Hinted{Err: fmt.Errorf("%s: over %d points", source, opt.MaxPoints), Hint: "is this the activity of one day?"}
	case errors.Is(err, decoder.ErrNotFITFile) && c.files == 0 && c.points == 0:
		return nil, ingest.Hinted{Err: fmt.Errorf("%s: is not a FIT file", source), Hint: "give the activity as the recorder wrote it, or export it as GPX"}
	case errors.Is(err, decoder.ErrCRCChecksumMismatch):
		return nil, damaged(source, errors.New("its checksum does not match its contents"))
	case errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF):
		c.cut = true
	case err != nil:
		return nil, damaged(source, err)
	}
	return c.finish(source)
}

func damaged(source string, err error) error {
	return ingest.Hinted{Err: fmt.Errorf("%s: the file is damaged: %w", source, err), Hint: "copy it from the recorder again, or export the activity as GPX"}
}

// decode hands the messages of every file in the chain to c. A panic of the library on a damaged file is an error.
func decode(r io.Reader, c *collector) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("it cannot be decoded (%v)", p)
		}
	}()
	d := decoder.New(r, decoder.WithMesgListener(c), decoder.WithBroadcastOnly(), decoder.WithNoComponentExpansion())
	for first := true; first || d.Next(); first = false {
		c.newFile()
		if _, err := d.Decode(); err != nil {
			return err
		}
		c.files++
	}
	return nil
}

// A bounded reader ends with an error after so many bytes.
type bounded struct {
	in     io.Reader
	left   int64
	tooBig bool
}

var errTooBig = errors.New("too many bytes")

func (b *bounded) Read(p []byte) (int, error) {
	if b.left < 0 {
		b.tooBig = true
		return 0, errTooBig
	}
	if int64(len(p)) > b.left+1 {
		p = p[:b.left+1]
	}
	n, err := b.in.Read(p)
	b.left -= int64(n)
	return n, err
}
