package virtual

import (
	"fmt"
	"os"
	"runtime"

	"github.com/creack/pty"
	"golang.org/x/term"

	"stanchion/ingest"
)

// A Terminal is a pseudo-terminal: a serial port without hardware.
type Terminal struct {
	device, port *os.File
	Name         string // of the port, for the side that records
}

// OpenTerminal makes a pseudo-terminal that passes bytes as they are.
func OpenTerminal() (*Terminal, error) {
	device, port, err := pty.Open()
	if err != nil {
		if runtime.GOOS == "windows" {
			return nil, ingest.Hinted{Err: fmt.Errorf("a virtual sensor needs a pseudo-terminal, which Windows does not have for serial ports: %w", err),
				Hint: "run it on Linux or macOS, or record from real hardware"}
		}
		return nil, fmt.Errorf("make a pseudo-terminal: %w", err)
	}
	// The port's end stays open here too: else the device's end fails whenever nobody records.
	if _, err := term.MakeRaw(int(port.Fd())); err != nil {
		device.Close()
		port.Close()
		return nil, fmt.Errorf("set up the pseudo-terminal: %w", err)
	}
	return &Terminal{device, port, port.Name()}, nil
}

// Read reads what the other side wrote.
func (t *Terminal) Read(p []byte) (int, error) { return t.device.Read(p) }

// Write writes to the other side.
func (t *Terminal) Write(p []byte) (int, error) { return t.device.Write(p) }

// Close unplugs the sensor: the other side finds its port gone.
func (t *Terminal) Close() error {
	err := t.port.Close()
	if e := t.device.Close(); err == nil {
		err = e
	}
	return err
}
