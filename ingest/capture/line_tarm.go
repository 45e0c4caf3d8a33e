//go:build linux || windows || cgo

package capture

import "github.com/tarm/serial"

// openLine opens the port itself.
func openLine(name string, baud int) (Port, error) {
	return serial.OpenPort(&serial.Config{Name: name, Baud: baud, ReadTimeout: readTimeout})
}
