package calibrate

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"stanchion/ingest"
)

// Options are what is known beside the points.
type Options struct {
	Unit         ingest.Unit // of the readings
	ADCBits      int         // 0: not known
	ForkTravelMM float64
	Method       ingest.CalibrationMethod // empty: a line, or a curve where three or more points lie clearly off the line
}

// A Report is a calibration and how good it is.
type Report struct {
	Sensor ingest.Sensor
	Points []Point // by travel
	// Residual RMS and largest distance of the points from the line through them, in mm.
	ResidualMM, WorstMM float64
	MMPerUnit           float64 // mean size over the points
	Falling             bool    // the reading falls as travel rises
	NoiseMM             float64 // RMS, at the noisiest point; the converter's steps included
	// VelocityMMS is the smallest velocity that stands out: three times the RMS of velocity that the noise gives below CutoffHz.
	VelocityMMS float64
	CutoffHz    float64
	RateHz      float64
	Warnings    []string
}

// Limits on what is plausible. They are common practice, no source.
const (
	beyondMM      = 5    // travel of a point over the fork's travel
	leastSpan     = 0.25 // of the fork's travel between the outermost points
	goodSpan      = 0.6
	zeroMM        = 2.0   // a lowest point above this leaves the zero to extrapolation
	stillMM       = 0.5   // wander at a point that was held
	curveShare    = 0.005 // of the fork's travel: points further off the line ask for a curve
	usualCutoffHz = 100   // of the analysis; a fifth of the rate where that is less
	stuckShare    = 0.1   // of the mean slope: a sensor at its end stop
	marginShare   = 0.01  // of the converter's range
	goodRange     = 0.1
)

// Fit makes a calibration out of two or more points, or says why they cannot be one.
func Fit(points []Point, o Options) (Report, error) {
	r := Report{Points: slices.Clone(points)}
	slices.SortStableFunc(r.Points, func(a, b Point) int { return cmp.Compare(a.TravelMM, b.TravelMM) })
	if err := checkTravels(r.Points, o); err != nil {
		return r, err
	}
	first, last := r.Points[0], r.Points[len(r.Points)-1]
	slope := (last.Reading - first.Reading) / (last.TravelMM - first.TravelMM) // units per mm
	if err := checkReadings(r.Points, slope, o); err != nil {
		return r, err
	}
	r.MMPerUnit, r.Falling = 1/math.Abs(slope), slope < 0
	if err := r.checkStill(); err != nil {
		return r, err
	}
	r.Sensor = ingest.Sensor{Unit: o.Unit, ADCBits: o.ADCBits}
	for _, p := range r.Points {
		r.Sensor.Points = append(r.Sensor.Points, ingest.CalibrationPoint{Reading: rounded(p.Reading, slope), TravelMM: p.TravelMM})
	}
	r.residuals()
	r.chooseMethod(o)
	r.resolution(o)
	r.warn(slope, o)
	return r, nil
}

// checkTravels refuses travels that no calibration can be made of.
func checkTravels(p []Point, o Options) error {
	if len(p) < 2 {
		return ingest.Hinted{Err: fmt.Errorf("a calibration needs two points, and there is %d", len(p)), Hint: "measure fully extended and at a known depth"}
	}
	for i, q := range p {
		if q.TravelMM < 0 || q.TravelMM > o.ForkTravelMM+beyondMM {
			return ingest.Hinted{Err: fmt.Errorf("%s: %g mm is not within the fork's travel of %g mm", q.Name, q.TravelMM, o.ForkTravelMM),
				Hint: "travel counts from 0, fully extended; is the fork's travel right?"}
		}
		if i > 0 && q.TravelMM == p[i-1].TravelMM {
			return ingest.Hinted{Err: fmt.Errorf("%s and %s are both at %g mm", p[i-1].Name, q.Name, q.TravelMM), Hint: "leave one of them out"}
		}
	}
	if span := p[len(p)-1].TravelMM - p[0].TravelMM; span < leastSpan*o.ForkTravelMM {
		return ingest.Hinted{Err: fmt.Errorf("the points are only %g mm apart on a fork with %g mm: every error would grow %.0f times over its travel", span, o.ForkTravelMM, o.ForkTravelMM/span),
			Hint: "push the fork further in for the second point"}
	}
	return nil
}

// checkReadings refuses readings that do not follow travel.
func checkReadings(p []Point, slope float64, o Options) error {
	full := fullScale(o)
	noise := 0.0
	for _, q := range p {
		noise = max(noise, q.Noise)
	}
	span := math.Abs(p[len(p)-1].Reading - p[0].Reading)
	if span <= 10*noise || span == 0 {
		return ingest.Hinted{Err: fmt.Errorf("the reading hardly changes: %.6g at %g mm, %.6g at %g mm", p[0].Reading, p[0].TravelMM, p[len(p)-1].Reading, p[len(p)-1].TravelMM),
			Hint: "does the sensor move with the fork, and is it wired to this input?"}
	}
	for i, q := range p {
		if full > 0 && (q.Reading < 0.5 || q.Reading > full-0.5) {
			return ingest.Hinted{Err: fmt.Errorf("%s: the reading stands at %.6g, an end of the converter's range: travel beyond it is not seen", q.Name, q.Reading),
				Hint: "move the sensor's mount, or give it a range of voltage that the converter can read"}
		}
		if i == 0 {
			continue
		}
		step := (q.Reading - p[i-1].Reading) / (q.TravelMM - p[i-1].TravelMM)
		switch {
		case step*slope < 0:
			return ingest.Hinted{Err: fmt.Errorf("the reading turns back between %g mm (%.6g) and %g mm (%.6g)", p[i-1].TravelMM, p[i-1].Reading, q.TravelMM, q.Reading),
				Hint: "measure the odd point again; if it stays, the sensor slips or its mount gives way"}
		case math.Abs(step) < stuckShare*math.Abs(slope):
			return ingest.Hinted{Err: fmt.Errorf("the reading hardly changes between %g mm (%.6g) and %g mm (%.6g): the sensor is at the end of its stroke", p[i-1].TravelMM, p[i-1].Reading, q.TravelMM, q.Reading),
				Hint: "mount it so that its stroke covers all of the fork's travel, or use a longer one"}
		}
	}
	return nil
}

// checkStill refuses points at which the fork moved.
func (r *Report) checkStill() error {
	for _, p := range r.Points {
		if moved := p.Wander * r.MMPerUnit; moved > stillMM {
			return ingest.Hinted{Err: fmt.Errorf("%s: the fork moved by %.1f mm while it was held", p.Name, moved), Hint: "measure this point again and hold still"}
		}
	}
	return nil
}

// rounded leaves a reading the digits that mean something: to a thousandth of a millimetre.
func rounded(reading, unitsPerMM float64) float64 {
	digits := math.Ceil(3 - math.Log10(math.Abs(unitsPerMM)))
	scale := math.Pow(10, min(max(digits, 0), 9))
	return math.Round(reading*scale) / scale
}

// residuals finds how far the points lie off the least-squares line through them.
func (r *Report) residuals() {
	r.ResidualMM, r.WorstMM = ingest.FitLine(r.Sensor.Points).Residuals(r.Sensor.Points)
}

// chooseMethod takes the method that was asked for, or finds one.
func (r *Report) chooseMethod(o Options) {
	r.Sensor.Method = o.Method
	if o.Method != "" {
		return
	}
	r.Sensor.Method = ingest.CalibrateLinear
	if len(r.Points) > 2 && r.WorstMM > curveShare*o.ForkTravelMM {
		r.Sensor.Method = ingest.CalibratePCHIP
	}
}

// fullScale is the highest code of the converter, 0 where not known.
func fullScale(o Options) float64 {
	if o.Unit != ingest.UnitCounts || o.ADCBits <= 0 {
		return 0
	}
	return math.Ldexp(1, o.ADCBits) - 1
}
