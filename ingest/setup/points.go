package setup

import (
	"slices"

	"stanchion/ingest"
)

// maxPoints is the most calibration points that are read.
const maxPoints = 1000

// points checks the calibration points together.
func (c *checker) points(s section, sensor *ingest.Sensor) {
	points := slices.Clone(sensor.Points)
	if len(points) == 0 {
		switch {
		case s.has("points"):
			c.add("sensor.points", "is empty: give two or more, or leave it out")
		case sensor.Unit == ingest.UnitCounts || sensor.Unit == ingest.UnitVolts:
			c.add("sensor.points", "is missing: %s become travel only by two or more points, each with reading and travel_mm", sensor.Unit)
		case sensor.Method == ingest.CalibratePCHIP:
			c.add("sensor.points", "is missing: method \"pchip\" needs three or more")
		}
		return
	}
	least := 2
	if sensor.Method == ingest.CalibratePCHIP {
		least = 3
	}
	if len(points) < least {
		c.add("sensor.points", "has %d, but at least %d are needed", len(points), least)
		return
	}
	slices.SortStableFunc(points, func(a, b ingest.CalibrationPoint) int {
		switch {
		case a.Reading < b.Reading:
			return -1
		case a.Reading > b.Reading:
			return 1
		}
		return 0
	})
	rising, falling, level := 0, 0, 0
	for i := 1; i < len(points); i++ {
		a, b := points[i-1], points[i]
		if a.Reading == b.Reading {
			c.add("sensor.points", "has the reading %g twice: readings must be distinct", a.Reading)
			return
		}
		switch {
		case b.TravelMM > a.TravelMM:
			rising++
		case b.TravelMM < a.TravelMM:
			falling++
		default:
			level++
		}
	}
	switch {
	case rising+falling == 0:
		c.add("sensor.points", "all have the same travel_mm, %g", points[0].TravelMM)
	case sensor.Method == ingest.CalibratePCHIP && (level > 0 || rising > 0 && falling > 0):
		c.add("sensor.points", "must rise throughout or fall throughout for method \"pchip\", in order of reading")
	}
}
