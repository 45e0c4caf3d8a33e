package ingest

import "math"

// A Line is a straight line from reading to travel: TravelMM + Slope·(reading − Reading).
type Line struct {
	Slope             float64 // mm per unit of reading; not finite where all readings are the same
	Reading, TravelMM float64 // the means of the points
}

// FitLine is the least-squares line of travel over reading through two or more points.
func FitLine(points []CalibrationPoint) Line {
	var l Line
	n := float64(len(points))
	for _, p := range points {
		l.Reading += p.Reading / n
		l.TravelMM += p.TravelMM / n
	}
	var rr, rt float64
	for _, p := range points {
		rr += (p.Reading - l.Reading) * (p.Reading - l.Reading)
		rt += (p.Reading - l.Reading) * (p.TravelMM - l.TravelMM)
	}
	l.Slope = rt / rr
	return l
}

// At is the travel in mm at a reading.
func (l Line) At(reading float64) float64 { return l.TravelMM + l.Slope*(reading-l.Reading) }

// Residuals are the RMS and the largest distance of the points from the line, mm of travel.
func (l Line) Residuals(points []CalibrationPoint) (rmsMM, worstMM float64) {
	ss := 0.0
	for _, p := range points {
		d := p.TravelMM - l.At(p.Reading)
		ss += d * d
		worstMM = max(worstMM, math.Abs(d))
	}
	return math.Sqrt(ss / float64(len(points))), worstMM
}
