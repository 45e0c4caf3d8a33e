package capture

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
	"time"

	"stanchion/ingest"
)

// DefaultBaud is the baud rate of most boards; USB boards take any.
const DefaultBaud = 115200

// A Port is an open serial port. Read returns within about readTimeout: with what there is, or with nothing and no error or
// io.EOF where there is nothing.
type Port interface {
	Read(p []byte) (int, error)
	Write(p []byte) (int, error)
	Close() error
}

// readTimeout is how long a Port waits for the first byte.
const readTimeout = 100 * time.Millisecond

// OpenPort opens a serial port with 8 data bits, no parity and one stop bit.
func OpenPort(name string, baud int) (Port, error) {
	if baud <= 0 {
		return nil, ingest.Hinted{Err: fmt.Errorf("a baud rate of %d is not possible", baud), Hint: fmt.Sprintf("most boards use %d", DefaultBaud)}
	}
	p, err := openLine(name, baud)
	if err == nil {
		return p, nil
	}
	hint := "'stanchion ports' lists the ports there are"
	switch {
	case strings.Contains(strings.ToLower(err.Error()), "baud"):
		hint = "the usual rates are 115200, 230400, 460800 and 921600"
	case errors.Is(err, fs.ErrPermission):
		hint = "your user may not use this port: on Linux join the group that owns it (often dialout), then log in again"
	case errors.Is(err, fs.ErrNotExist):
		hint = "is the sensor plugged in? " + hint
	}
	return nil, ingest.Hinted{Err: fmt.Errorf("open port %s: %w", name, err), Hint: hint}
}

// presence remembers what a port's name stood for, to notice when the device behind it is gone.
type presence struct {
	name string
	info os.FileInfo // nil where the system has no files for ports
}

func newPresence(name string) presence {
	info, err := os.Stat(name)
	if err != nil {
		info = nil
	}
	return presence{name, info}
}

// gone tells whether the name is gone or stands for another device now.
func (p presence) gone() bool {
	if p.info == nil {
		return false
	}
	now, err := os.Stat(p.name)
	return err != nil || !os.SameFile(p.info, now)
}
