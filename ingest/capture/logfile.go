package capture

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"time"

	"stanchion/firmware-protocol/wire"
	"stanchion/ingest"
)

// A logFile is the log under way. It only ever grows.
type logFile struct {
	f     *os.File
	enc   *wire.Encoder
	size  int64
	dirty bool
	// boundary says that the last byte written ended a frame or line, so that a host frame may follow.
	boundary bool
	pending  []byte // host frames that wait for a boundary
}

// createLog makes the file, or opens it to go on. It returns how long ago the log that is gone on with was last written.
func createLog(path string, o Options) (l *logFile, pause time.Duration, err error) {
	l = &logFile{enc: wire.NewEncoder(0), boundary: true}
	flags := os.O_WRONLY | os.O_APPEND | os.O_CREATE
	switch {
	case o.Append:
		if l.size, pause, err = checkAppend(path); err != nil {
			return nil, 0, err
		}
	case o.Overwrite:
		flags |= os.O_TRUNC
	default:
		flags |= os.O_EXCL
	}
	l.f, err = os.OpenFile(path, flags, 0o644)
	if errors.Is(err, fs.ErrExist) {
		return nil, 0, existsError(path)
	}
	if err != nil {
		return nil, 0, fmt.Errorf("make the log: %w", err)
	}
	syncFolder(path)
	return l, pause, nil
}

func existsError(path string) error {
	return ingest.Hinted{Err: fmt.Errorf("%s is there already", path), Hint: "choose another name, or give --append to go on with it or --force to replace it"}
}

// CheckLog says early what would make the log of o impossible.
func CheckLog(o Options) error {
	info, err := os.Stat(o.Path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return fmt.Errorf("make the log: %w", err)
	case info.IsDir():
		return ingest.Hinted{Err: fmt.Errorf("%s is a folder", o.Path), Hint: "give the name of a file"}
	case o.Append:
		_, _, err := checkAppend(o.Path)
		return err
	case !o.Overwrite:
		return existsError(o.Path)
	}
	return nil
}

// checkAppend makes sure that path is a log, or not there, and returns its size and how long ago it was written.
func checkAppend(path string) (size int64, pause time.Duration, err error) {
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return 0, 0, nil
	}
	if err != nil {
		return 0, 0, fmt.Errorf("go on with the log: %w", err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return 0, 0, fmt.Errorf("go on with the log: %w", err)
	}
	head := make([]byte, wire.SniffBytes)
	n, err := io.ReadFull(f, head)
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		return 0, 0, fmt.Errorf("go on with the log: %w", err)
	}
	if n > 0 && wire.Sniff(head[:n]) != wire.ModeFrames {
		return 0, 0, ingest.Hinted{Err: fmt.Errorf("%s is not a log of this program: nothing was added", path), Hint: "give --out another name"}
	}
	return info.Size(), max(time.Since(info.ModTime()), 0), nil
}

// write adds bytes of the device. Host frames that wait go in after the last byte that ends a frame or a line.
func (l *logFile) write(data []byte, end byte) error {
	if len(l.pending) == 0 {
		l.boundary = data[len(data)-1] == end
		return l.raw(data)
	}
	cut := len(data)
	for cut > 0 && data[cut-1] != end {
		cut--
	}
	if cut == 0 && !l.boundary {
		return l.raw(data)
	}
	if err := l.raw(data[:cut]); err != nil {
		return err
	}
	if err := l.flush(); err != nil {
		return err
	}
	l.boundary = cut == len(data)
	return l.raw(data[cut:])
}

// note makes a host frame that goes in at the next boundary.
func (l *logFile) note(m wire.Message) {
	if b, err := l.enc.Append(l.pending, m); err == nil {
		l.pending = b
	}
}

// flush writes what waits, wherever the stream stands.
func (l *logFile) flush() error {
	b := l.pending
	l.pending = l.pending[:0]
	l.boundary = true
	return l.raw(b)
}

// raw writes to the file.
func (l *logFile) raw(b []byte) error {
	if len(b) == 0 {
		return nil
	}
	n, err := l.f.Write(b)
	l.size += int64(n)
	l.dirty = l.dirty || n > 0
	return l.failed(err)
}

// sync brings the file onto the disk.
func (l *logFile) sync() error {
	if !l.dirty {
		return nil
	}
	l.dirty = false
	return l.failed(l.f.Sync())
}

// failed explains an error of the file.
func (l *logFile) failed(err error) error {
	if err == nil {
		return nil
	}
	hint := "what was written before is kept: 'stanchion analyze' reads it"
	if isFull(err) {
		hint = "make room or record to another disk; " + hint
	}
	return ingest.Hinted{Err: fmt.Errorf("write the log: %w", err), Hint: hint}
}

// close syncs and closes.
func (l *logFile) close() error {
	err := l.flush()
	if e := l.sync(); err == nil {
		err = e
	}
	if e := l.f.Close(); err == nil {
		err = l.failed(e)
	}
	return err
}
