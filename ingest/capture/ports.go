package capture

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"go.bug.st/serial"
)

// A PortInfo is a serial port of this computer.
type PortInfo struct {
	Name        string // as for OpenPort
	Description string // what is plugged in, "" where the system does not tell
}

// byIDFolder is where Linux keeps names that stay the same from one day to the next.
const byIDFolder = "/dev/serial/by-id"

// Ports lists the serial ports of this computer, by name; those that something is plugged into come first.
func Ports() ([]PortInfo, error) {
	names, err := serial.GetPortsList()
	if err != nil {
		return nil, fmt.Errorf("list the serial ports: %w", err)
	}
	return describePorts(names, byIDFolder), nil
}

// describePorts adds descriptions from the links in folder.
func describePorts(names []string, folder string) []PortInfo {
	links := map[string]string{}
	entries, _ := os.ReadDir(folder) // not there: no descriptions
	for _, e := range entries {
		if target, err := filepath.EvalSymlinks(filepath.Join(folder, e.Name())); err == nil {
			links[target] = strings.TrimPrefix(e.Name(), "usb-")
		}
	}
	var out []PortInfo
	for _, n := range names {
		out = append(out, PortInfo{n, links[n]})
	}
	slices.SortStableFunc(out, func(a, b PortInfo) int {
		if plugged := rank(a) - rank(b); plugged != 0 {
			return plugged
		}
		return strings.Compare(a.Name, b.Name)
	})
	return slices.Compact(out)
}

// rank is 0 for ports that something is plugged into.
func rank(p PortInfo) int {
	for _, part := range []string{"USB", "ACM", "usb", "COM"} {
		if p.Description != "" || strings.Contains(filepath.Base(p.Name), part) {
			return 0
		}
	}
	return 1
}

// Plugged returns the ports that something is plugged into.
func Plugged(ports []PortInfo) []PortInfo {
	var out []PortInfo
	for _, p := range ports {
		if rank(p) == 0 {
			out = append(out, p)
		}
	}
	return out
}
