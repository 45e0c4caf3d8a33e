//go:build !linux && !windows && !cgo

package capture

import "go.bug.st/serial"

// openLine opens the port itself: here without C, which the usual module needs on this system.
func openLine(name string, baud int) (Port, error) {
	p, err := serial.Open(name, &serial.Mode{BaudRate: baud})
	if err != nil {
		return nil, err
	}
	if err := p.SetReadTimeout(readTimeout); err != nil {
		p.Close()
		return nil, err
	}
	return p, nil
}
