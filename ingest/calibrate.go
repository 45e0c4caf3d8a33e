package ingest

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
)

const (
	// travelLimitMM bounds what is taken for travel: a reading that gives more is not usable.
	travelLimitMM = 1e6
	// readingLimit bounds readings and calibration points.
	readingLimit = 1e12
)

// readingRange is the closed range of readings that can be travel.
type readingRange struct {
	lo, hi float64
}

// A calibration turns readings into travel in mm.
type calibration struct {
	unit  Unit
	knots []knot // PCHIP only, two or more, with rising readings
	// travel = slope·reading + offset, linear only
	slope, offset float64
	zeroMM        float64 // subtracted last
	rmsMM         float64 // residual over the points
	mmPerUnit     float64 // size of the mean slope over the points
	points        int
	text          string // what is done, for people
}

// A knot is a calibration point with the cubic that starts there.
type knot struct {
	reading, slope float64
	cubic          cubic
}

// newCalibration works out how readings of the given unit become travel on the fork of setup.
func newCalibration(unit Unit, setup Setup) (*calibration, error) {
	s := setup.Sensor
	c := &calibration{unit: unit, zeroMM: s.ZeroOffsetMM, points: len(s.Points)}
	if math.Abs(s.ZeroOffsetMM) > travelLimitMM || math.IsNaN(s.ZeroOffsetMM) {
		return nil, Hinted{fmt.Errorf("sensor: a zero offset of %g mm is not usable", s.ZeroOffsetMM), "give the zero offset in mm, or leave it out"}
	}
	if len(s.Points) == 0 {
		return c, c.withoutPoints(setup.Fork.TravelMM)
	}
	pts := slices.Clone(s.Points)
	slices.SortStableFunc(pts, func(a, b CalibrationPoint) int { return cmp.Compare(a.Reading, b.Reading) })
	if err := checkPoints(pts); err != nil {
		return nil, err
	}
	switch s.Method {
	case CalibrateLinear, "":
		c.fitLine(pts)
	case CalibratePCHIP:
		if err := c.fitCurve(pts); err != nil {
			return nil, err
		}
	default:
		return nil, Hinted{fmt.Errorf("sensor: unknown calibration method %q", s.Method),
			fmt.Sprintf("use %q (two points or more) or %q (three or more)", CalibrateLinear, CalibratePCHIP)}
	}
	if c.mmPerUnit == 0 || math.IsInf(c.mmPerUnit, 0) || math.IsNaN(c.mmPerUnit) {
		return nil, Hinted{errors.New("sensor: the calibration points do not tell how travel follows the reading"),
			"read the sensor at two or more clearly different travels, for example fully extended and fully compressed"}
	}
	return c, nil
}

// withoutPoints sets c up for units that are travel already.
func (c *calibration) withoutPoints(forkTravelMM float64) error {
	switch c.unit {
	case UnitMM:
		c.slope, c.text = 1, "travel: mm as logged"
	case UnitPercent:
		c.slope, c.text = forkTravelMM/100, fmt.Sprintf("travel: per cent of %g mm", forkTravelMM)
	default:
		return Hinted{fmt.Errorf("sensor: the log holds %s, and there are no calibration points to turn them into mm", c.unit),
			"make a fork file with 'stanchion calibrate', or write one with two points or more under [sensor], for example points = [{reading = 310, travel_mm = 0}, {reading = 3720, travel_mm = 160}], and give it with --fork"}
	}
	return nil
}

// checkPoints reports what makes calibration points (by rising reading) unusable for either method.
func checkPoints(pts []CalibrationPoint) error {
	if len(pts) < 2 {
		return Hinted{errors.New("sensor: one calibration point is not enough"),
			"give a second point, for example at full travel"}
	}
	for i, p := range pts {
		if !(math.Abs(p.Reading) <= readingLimit) || !(math.Abs(p.TravelMM) <= travelLimitMM) {
			return Hinted{fmt.Errorf("sensor: calibration point (reading %g, travel %g mm) is not usable", p.Reading, p.TravelMM),
				"mend or remove that point"}
		}
		if i > 0 && p.Reading == pts[i-1].Reading && p.TravelMM != pts[i-1].TravelMM {
			return Hinted{fmt.Errorf("sensor: reading %g is given twice, as %g mm and as %g mm", p.Reading, pts[i-1].TravelMM, p.TravelMM),
				"remove one of the two points"}
		}
	}
	return nil
}

// fitLine fits the least-squares line through pts.
func (c *calibration) fitLine(pts []CalibrationPoint) {
	l := FitLine(pts)
	c.slope = l.Slope
	c.offset = l.At(0)
	c.rmsMM, _ = l.Residuals(pts)
	c.mmPerUnit = math.Abs(c.slope)
	c.text = fmt.Sprintf("travel: %s through a line over %d calibration points", c.unit, len(pts))
}

// fitCurve sets c up as the monotone cubic through pts, which must rise or fall throughout (a flat stretch is allowed).
func (c *calibration) fitCurve(pts []CalibrationPoint) error {
	pts = slices.Compact(pts)
	n := len(pts)
	if n < 3 {
		return Hinted{fmt.Errorf("sensor: method %q needs three different calibration points, not %d", CalibratePCHIP, n),
			fmt.Sprintf("add a point, or use method %q", CalibrateLinear)}
	}
	r, t := make([]float64, n), make([]float64, n)
	for i, p := range pts {
		r[i], t[i] = p.Reading, p.TravelMM
	}
	rise := t[n-1] - t[0]
	for i := 1; i < n; i++ {
		if (t[i]-t[i-1])*rise < 0 || rise == 0 {
			return Hinted{fmt.Errorf("sensor: travel turns back between readings %g (%g mm) and %g (%g mm)", r[i-1], t[i-1], r[i], t[i]),
				"travel must rise or fall throughout the calibration points; mend or remove the odd point"}
		}
	}
	c.knots = make([]knot, n)
	for i := range pts {
		c.knots[i] = knot{reading: r[i], slope: knotSlope(r, t, i)}
	}
	for i := range n - 1 {
		h := r[i+1] - r[i]
		p := newCubic(t[i], 1/h, (t[i+1]-t[i])/h, c.knots[i].slope, c.knots[i+1].slope)
		if sum := p.d0 + p.c + p.b + c.knots[i+1].slope; math.IsNaN(sum) || math.IsInf(sum, 0) {
			return Hinted{fmt.Errorf("sensor: calibration readings %g and %g are too close together", r[i], r[i+1]), "remove one of the two points"}
		}
		c.knots[i].cubic = p
	}
	c.knots[n-1].cubic = cubic{x0: t[n-1], d0: c.knots[n-1].slope}
	c.mmPerUnit = math.Abs(rise / (r[n-1] - r[0]))
	c.text = fmt.Sprintf("travel: %s through a monotone curve over %d calibration points", c.unit, n)
	return nil
}

// usable is the range of readings that give travel within travelLimitMM.
func (c *calibration) usable() readingRange {
	reach := func(reading, travel, slope float64) readingRange {
		if slope == 0 {
			return readingRange{-readingLimit, readingLimit}
		}
		a := reading + (travelLimitMM-travel)/slope
		b := reading + (-travelLimitMM-travel)/slope
		return readingRange{max(min(a, b), -readingLimit), min(max(a, b), readingLimit)}
	}
	if c.knots == nil {
		return reach(0, c.offset-c.zeroMM, c.slope)
	}
	first, last := c.knots[0], c.knots[len(c.knots)-1]
	return readingRange{
		lo: reach(first.reading, first.cubic.x0-c.zeroMM, first.slope).lo,
		hi: reach(last.reading, last.cubic.x0-c.zeroMM, last.slope).hi,
	}
}

// apply turns the readings in x into travel, in place.
func (c *calibration) apply(x []float64) {
	if c.knots == nil {
		offset := c.offset - c.zeroMM
		if c.slope == 1 && offset == 0 {
			return
		}
		for i, r := range x {
			x[i] = c.slope*r + offset
		}
		return
	}
	k := 0
	last := len(c.knots) - 1
	for i, r := range x {
		for k < last && r >= c.knots[k+1].reading {
			k++
		}
		for k > 0 && r < c.knots[k].reading {
			k--
		}
		p := &c.knots[k]
		if r < p.reading { // beyond the first point: straight on
			x[i] = p.cubic.x0 + p.slope*(r-p.reading) - c.zeroMM
			continue
		}
		x[i] = p.cubic.at(r-p.reading) - c.zeroMM
	}
}
