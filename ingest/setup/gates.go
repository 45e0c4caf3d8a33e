package setup

import (
	"fmt"
	"io"
	"os"
)

// A GateFile is what a file of gates says: where time is taken, in the order in which the trail passes.
//
//	[[gate]]
//	name = "start"
//	station_m = 20          # m from the start of the reference line
//
//	[[gate]]
//	name = "bridge"
//	lat = -45.0312          # or a place on the ground, WGS84, degrees
//	lon = 170.1284
type GateFile struct{ Gates []GatePlace }

// A GatePlace is where a gate is to be: at a station, or at a place on the ground.
type GatePlace struct {
	Name     string
	StationM float64
	OnGround bool // at LatDeg, LonDeg and not at StationM
	LatDeg   float64
	LonDeg   float64
	Line     int // where it is in the file
}

// maxGates bounds a file of gates, and maxStationM a line.
const (
	maxGates    = 200
	maxStationM = 1e6
)

// LoadGates reads the file of gates at path. Errors in its contents are of type *Error.
func LoadGates(path string) (GateFile, error) {
	f, err := os.Open(path)
	if err != nil {
		return GateFile{}, fmt.Errorf("file of gates: %w", err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, MaxBytes+1))
	if err != nil {
		return GateFile{}, fmt.Errorf("file of gates: %w", err)
	}
	return ParseGates(path, data)
}

// ParseGates reads the contents of a file of gates; name stands for it in errors, which are of type *Error.
func ParseGates(name string, data []byte) (GateFile, error) {
	top, err := decode(name, data)
	if err != nil {
		return GateFile{}, err
	}
	c := &checker{lines: findLines(string(data))}
	root := section{c: c, values: top}
	var file GateFile
	names := map[string]bool{}
	before := -1.0
	for i, s := range root.sections("gate") {
		if i == maxGates {
			c.add("gate", "are more than %d", maxGates)
			break
		}
		g := c.gate(s)
		if names[g.Name] && g.Name != "" {
			c.add(s.path+".name", "is %q, like that of a gate before", g.Name)
		}
		names[g.Name] = true
		if !g.OnGround {
			if s.has("station_m") && g.StationM <= before {
				c.add(s.path+".station_m", "is %g, but must be further on than the gate before, at %g", g.StationM, before)
			}
			before = max(before, g.StationM)
		}
		file.Gates = append(file.Gates, g)
	}
	root.unknown()
	if len(file.Gates) < 2 && len(c.problems) == 0 {
		c.add("gate", "is missing: at least two tables [[gate]] are needed, the start and the finish")
	}
	if len(c.problems) > 0 {
		return GateFile{}, &Error{Path: name, Problems: c.sorted()}
	}
	return file, nil
}

// gate reads one gate.
func (c *checker) gate(s section) GatePlace {
	g := GatePlace{Line: c.lineOf(s.path)}
	s.text("name", &g.Name)
	if !s.has("name") {
		c.add(s.path+".name", "is missing: a gate needs a name for the tables")
	} else if g.Name == "" {
		c.add(s.path+".name", "is empty")
	}
	atStation := s.number("station_m", &g.StationM, 0, maxStationM)
	lat := s.number("lat", &g.LatDeg, -90, 90)
	lon := s.number("lon", &g.LonDeg, -180, 180)
	g.OnGround = lat && lon
	switch {
	case atStation && (lat || lon):
		c.add(s.path, "has a station_m and a place on the ground: leave one out")
	case lat != lon:
		c.add(s.path, "has only one of lat and lon: both are needed")
	case !atStation && !lat:
		c.add(s.path, "has no place: give station_m, or lat and lon")
	}
	s.unknown()
	return g
}
