package calibrate

import (
	"fmt"
	"math"
	"slices"

	"stanchion/ingest"
)

// A Hold is what the sensor read while the fork was held still.
type Hold struct {
	Name     string // for messages: the step or the log
	TravelMM float64
	RateHz   float64
	Readings []float64 // NaN: no reading
}

// A Point is what a hold gave.
type Point struct {
	Name     string
	TravelMM float64
	Reading  float64 // mean of the quietest stretch
	Noise    float64 // RMS of the sensor's noise, in units of reading, movement left out
	// Wander is by how much the reading moved through the quietest stretch: the difference of the means of its two halves.
	Wander  float64
	RateHz  float64
	Samples int
}

const (
	// windowS is the length of the stretch that is used, and leastS the least.
	windowS, leastS = 2.0, 0.5
	leastSamples    = 20
)

// Measure finds the quietest stretch of a hold, of 2 s where there is as much, and what the sensor read in it.
func Measure(h Hold) (Point, error) {
	x := make([]float64, 0, len(h.Readings))
	for _, v := range h.Readings {
		if !math.IsNaN(v) && !math.IsInf(v, 0) {
			x = append(x, v)
		}
	}
	if 2*len(x) < len(h.Readings) {
		return Point{}, ingest.Hinted{Err: fmt.Errorf("%s: %d of %d samples have no reading", h.Name, len(h.Readings)-len(x), len(h.Readings)),
			Hint: "is the sensor connected?"}
	}
	if !(h.RateHz > 0) || len(x) < leastSamples || float64(len(x)) < leastS*h.RateHz {
		return Point{}, ingest.Hinted{Err: fmt.Errorf("%s: %d samples are too few", h.Name, len(x)), Hint: "hold the fork still for three seconds or more"}
	}
	n := max(leastSamples, int(math.Min(windowS*h.RateHz, float64(len(x)))))
	w := quietest(x, min(n, len(x)))
	half := len(w) / 2
	return Point{Name: h.Name, TravelMM: h.TravelMM, Reading: mean(w), Noise: noise(w), Wander: math.Abs(mean(w[:half]) - mean(w[half:])),
		RateHz: h.RateHz, Samples: len(w)}, nil
}

// quietest returns the n samples in a row with the least spread, in steps of a tenth of n.
func quietest(x []float64, n int) []float64 {
	best, least := x[:n], math.Inf(1)
	for i := 0; i+n <= len(x); i += max(1, n/10) {
		w := x[i : i+n]
		m := mean(w)
		ss := 0.0
		for _, v := range w {
			ss += (v - m) * (v - m)
		}
		if ss < least {
			best, least = w, ss
		}
	}
	return best
}

// mean is taken about the first value, so that it is exact where nothing changes.
func mean(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v - x[0]
	}
	return x[0] + sum/float64(len(x))
}

// noise is the RMS of white noise that is laid over a slow movement: from the differences of neighbours, each of which has twice its
// variance (von Neumann, Annals of Mathematical Statistics 12, 1941).
func noise(x []float64) float64 {
	ss := 0.0
	for i := 1; i < len(x); i++ {
		d := x[i] - x[i-1]
		ss += d * d
	}
	return math.Sqrt(ss / float64(2*(len(x)-1)))
}

// HoldOf takes the last lastS seconds of a recording for a hold, or all of it where lastS is 0.
func HoldOf(rec *ingest.Recording, name string, travelMM, lastS float64) Hold {
	h := Hold{Name: name, TravelMM: travelMM, Readings: rec.Travel}
	if rec.Clock.Kind == ingest.ClockNone {
		h.RateHz = rec.Clock.RateHz
	} else {
		h.RateHz = medianRate(rec.Stamps, rec.Clock.TickS)
	}
	if n := int(lastS * h.RateHz); lastS > 0 && n < len(h.Readings) {
		h.Readings = h.Readings[len(h.Readings)-n:]
	}
	return h
}

// medianRate is the rate that the median of the steps forward gives, 0 where there is none.
func medianRate(stamps []float64, tickS float64) float64 {
	var steps []float64
	for i := 1; i < len(stamps); i++ {
		if d := stamps[i] - stamps[i-1]; d > 0 {
			steps = append(steps, d)
		}
	}
	if len(steps) == 0 || !(tickS > 0) {
		return 0
	}
	slices.Sort(steps)
	return 1 / (steps[len(steps)/2] * tickS)
}
