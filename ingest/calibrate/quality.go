package calibrate

import (
	"fmt"
	"math"

	"stanchion/ingest"
)

// resolution finds the noise and what it hides.
//
// White noise of RMS s at a rate of f has the one-sided density 2s²/f. Differentiated and cut off at c its RMS is
// s·2π·√(2c³/(3f)): the root of the integral of (2πν)²·2s²/f over ν from 0 to c.
func (r *Report) resolution(o Options) {
	noise := 0.0
	r.RateHz = math.Inf(1)
	for _, p := range r.Points {
		noise = max(noise, p.Noise)
		r.RateHz = min(r.RateHz, p.RateHz)
	}
	if o.Unit == ingest.UnitCounts {
		noise = max(noise, 1/math.Sqrt(12)) // the converter's own steps, where noise does not show them
	}
	r.NoiseMM = noise * r.MMPerUnit
	r.CutoffHz = min(usualCutoffHz, r.RateHz/5)
	r.VelocityMMS = 3 * r.NoiseMM * 2 * math.Pi * math.Sqrt(2*math.Pow(r.CutoffHz, 3)/(3*r.RateHz))
}

// warn adds what is doubtful.
func (r *Report) warn(slope float64, o Options) {
	add := func(format string, args ...any) { r.Warnings = append(r.Warnings, fmt.Sprintf(format, args...)) }
	first, last := r.Points[0], r.Points[len(r.Points)-1]
	if first.TravelMM > zeroMM {
		add("the lowest point is at %g mm: full extension is only worked out from the others, so measure it too", first.TravelMM)
	}
	if span := last.TravelMM - first.TravelMM; span < goodSpan*o.ForkTravelMM {
		add("the points cover %.0f %% of the travel: a deeper one would make the calibration surer", 100*span/o.ForkTravelMM)
	}
	if r.Sensor.Method == ingest.CalibrateLinear && r.WorstMM > curveShare*o.ForkTravelMM {
		add("the points lie up to %.1f mm off a line: check them, or use the curve (pchip)", r.WorstMM)
	}
	r.warnStuck(o.Unit, add)
	full := fullScale(o)
	if full == 0 {
		return
	}
	// Where the line goes at the two ends of the fork's travel.
	for _, end := range []struct {
		where string
		mm    float64
	}{{"full extension", 0}, {"full travel", o.ForkTravelMM}} {
		at := first.Reading + slope*(end.mm-first.TravelMM)
		if at < marginShare*full || at > (1-marginShare)*full {
			add("at %s the reading comes to %.0f, close to or past the end of the converter's 0 to %.0f: move the mount so that there is room at both ends", end.where, at, full)
		}
	}
	if used := math.Abs(slope) * o.ForkTravelMM / full; used < goodRange {
		add("the whole travel uses only %.0f %% of the converter's range: a sensor with a fitting stroke would resolve more", 100*used)
	}
}

// warnStuck looks for a point without the noise that the others have: the sensor may stand at its own end there. Noise of less than
// a code comes and goes with where the reading lies between two codes.
func (r *Report) warnStuck(unit ingest.Unit, add func(string, ...any)) {
	most := 0.0
	for _, p := range r.Points {
		most = max(most, p.Noise)
	}
	if most == 0 || unit == ingest.UnitCounts && most < 1 {
		return
	}
	for _, p := range r.Points {
		if p.Noise == 0 {
			add("%s: the reading does not change at all while it is noisy elsewhere: the sensor may stand at its end there", p.Name)
		}
	}
}
