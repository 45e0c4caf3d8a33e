package wirelog

import (
	"bufio"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"stanchion/firmware-protocol/wire"
	"stanchion/ingest"
)

// Suffix is how the names of logs end.
const Suffix = ".slog"

// Options steer reading.
type Options struct {
	// Progress, where set, is told now and then how many bytes of the file are read.
	Progress func(done int64)
}

// Detect tells whether the file at path is a log for this package: by its first bytes, and where they do not tell, by its name. Packed
// (.gz) logs are looked into.
func Detect(path string) (bool, error) {
	src, err := open(path)
	if err != nil {
		return false, err
	}
	defer src.Close()
	head := make([]byte, wire.SniffBytes)
	n, err := io.ReadFull(src, head)
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		return false, nil // what cannot be read here is for the reader to complain about
	}
	named := strings.HasSuffix(strings.TrimSuffix(strings.ToLower(path), ".gz"), Suffix)
	return named || wire.Sniff(head[:n]) == wire.ModeFrames, nil
}

// Read reads the log at path.
func Read(ctx context.Context, path string, o Options) (*ingest.Recording, error) {
	return read(ctx, path, o, func() (io.ReadCloser, error) { return open(path) })
}

// source is an open log that may be packed.
type source struct {
	io.Reader
	file *os.File
}

func (s *source) Close() error { return s.file.Close() }

func open(path string) (io.ReadCloser, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("open the log: %w", err)
	}
	buf := bufio.NewReaderSize(f, 1<<16)
	if magic, _ := buf.Peek(2); string(magic) != "\x1f\x8b" {
		return &source{buf, f}, nil
	}
	z, err := gzip.NewReader(buf)
	if err != nil {
		f.Close()
		return nil, fmt.Errorf("%s: unpack: %w", path, err)
	}
	return &source{z, f}, nil
}

// read reads a log that may have to be opened twice: that it is text shows only once no frame of a device was met.
func read(ctx context.Context, name string, o Options, open func() (io.ReadCloser, error)) (*ingest.Recording, error) {
	b := newBuilder(name)
	if err := pass(ctx, open, o, b.frames); err != nil {
		return nil, named(name, err)
	}
	if b.losses().Frames == 0 {
		t := newBuilder(name)
		if err := pass(ctx, open, o, t.text); err != nil {
			return nil, named(name, err)
		}
		if t.rows > 0 {
			b = t
		}
	}
	rec, err := b.recording(ctx)
	if err != nil {
		return nil, named(name, err)
	}
	return rec, nil
}

func named(name string, err error) error {
	if strings.Contains(err.Error(), name) {
		return err
	}
	return fmt.Errorf("%s: %w", name, err)
}

// pass hands the bytes of a log to take, and nil at the end.
func pass(ctx context.Context, open func() (io.ReadCloser, error), o Options, take func([]byte) error) error {
	src, err := open()
	if err != nil {
		return err
	}
	defer src.Close()
	buf := make([]byte, 1<<16)
	var done int64
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		n, err := src.Read(buf)
		if n > 0 {
			if e := take(buf[:n]); e != nil {
				return e
			}
		}
		done += int64(n)
		if o.Progress != nil {
			o.Progress(done)
		}
		switch {
		case err == nil:
		case err == io.EOF || errors.Is(err, io.ErrUnexpectedEOF): // a packed log that ends early is read up to there
			return take(nil)
		default:
			return fmt.Errorf("read the log: %w", err)
		}
	}
}
