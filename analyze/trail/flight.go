package trail

import (
	"math"
	"slices"

	"stanchion/analyze"
	"stanchion/analyze/signal"
)

// How a flight is told from the fork's movement alone. While the wheel is in the air nothing excites the fork: it extends in one go and then
// moves smoothly or not at all, until the landing strikes. On the ground the ground always shakes it. So a flight is
//
//   - a rebound stroke from out of the travel, the take-off being takeOffLeadS before its largest speed;
//   - then travel that lies on a parabola in every piece of quietS, at least over the last half of the air time and over one
//     piece, to within quietMM and the noise of the sensor;
//   - then a compression stroke of at least landingMMS: a flight of 0.3 s falls 0.15 s from its highest point and lands at 1.5 m/s on
//     level ground. A fork that stands fully extended is no doubt off the ground: there a softer landing on a slope, softMMS, will do. One that
//     does not must have extended by touchPct: a fork that rests at its sag on level ground is smooth as well.
//
// It needs no full extension, so that a fork with a slow rebound, which may never extend in the air, is seen to fly as well. The values were set
// on the simulator: testdata/reading.md has the table.
const (
	takeOffLeadS = 0.010
	quietS       = 0.100
	quietMM      = 0.10
	noiseTimes   = 1.5   // of the sensor's noise that may come on top of quietMM
	settleS      = 0.008 // before the landing, left out: the filter spreads the strike over it
	landingMMS   = 700
	softMMS      = 300
	touchPct     = 10 // of travel: lower peaks are bounces on the top-out stop, not take-offs
	longestAirS  = 5.0
	strikeShare  = 0.05 // of the landing's speed: where it falls under this, going back, the wheel touched down
)

// A flight is a stretch of samples of a segment.
type flight struct {
	segment      int
	lift         int // peak from which the fork extends
	take, land   int
	peak         int // deepest sample of the landing; −1 where it was not seen
	landingSpeed float64
}

// flights finds the flights of every segment that last at least minS.
func flights(res *analyze.Result, sig *analyze.Signals, minS float64) []flight {
	var out []flight
	for k := range sig.Segments {
		s := &sig.Segments[k]
		f := finder{x: s.TravelMM, v: s.VelocityMMS, fs: sig.RateHz, touch: touchPct / 100. * res.Fork.TravelMM, least: minS}
		f.extended = res.Options.ExtendedPct / 100 * res.Fork.TravelMM
		f.turns = signal.TurningPoints(s.TravelMM, res.Options.StrokeGateMM)
		f.limit = quietMM + noiseTimes*f.noise()
		for i := 1; i+1 < len(f.turns); i++ {
			if fl, ok := f.flight(i); ok && ridingAt(s, res.Options.CellS, fl.take, f.fs) && ridingAt(s, res.Options.CellS, fl.land, f.fs) {
				fl.segment = k
				out = append(out, fl)
			}
		}
	}
	return out
}

// ridingAt says whether sample i of s lies in riding time.
func ridingAt(s *analyze.SignalSegment, cellS float64, i int, fs float64) bool {
	k := int(float64(i)/fs/cellS + 1e-9)
	return k < len(s.Riding) && s.Riding[k]
}

// A finder looks for flights in one segment.
type finder struct {
	x, v     []float64
	fs       float64
	touch    float64 // mm
	extended float64 // mm: under this the fork counts as fully extended
	least    float64 // s
	limit    float64 // mm
	turns    []signal.Turn
}

// flight is the one that ends with the compression stroke from turning point k to the next.
func (f *finder) flight(k int) (flight, bool) {
	if f.turns[k].Peak {
		return flight{}, false
	}
	lo, hi := f.turns[k].Index, f.turns[k+1].Index
	strike, speed := lo, 0.0
	for i := lo; i <= hi; i++ {
		if f.v[i] > speed {
			strike, speed = i, f.v[i]
		}
	}
	if speed < softMMS {
		return flight{}, false
	}
	land := strike
	for land > lo && f.v[land] > strikeShare*speed {
		land--
	}
	j := k - 1
	for j >= 0 && f.turns[j].Value < f.touch {
		j -= 2
	}
	if j < 0 {
		return flight{}, false
	}
	lift := f.turns[j].Index
	if f.x[land] >= f.extended && (speed < landingMMS || f.x[lift]-f.x[land] < f.touch) {
		return flight{}, false
	}
	take := f.takeOff(lift, land)
	air := float64(land-take) / f.fs
	if air < f.least || air > longestAirS || !f.quiet(land, air) {
		return flight{}, false
	}
	return flight{lift: lift, take: take, land: land, peak: hi, landingSpeed: speed}, true
}

// takeOff is takeOffLeadS before the largest rebound speed between lift and land, not before lift: on the ground the wheel is still pushed, in the
// air the fork only slows down as it extends.
func (f *finder) takeOff(lift, land int) int {
	fastest := lift
	for i := lift; i <= land; i++ {
		if f.v[i] < f.v[fastest] {
			fastest = i
		}
	}
	return max(lift, fastest-int(math.Round(takeOffLeadS*f.fs)))
}

// quiet says whether travel is smooth before sample land, over the last half of the air time in s.
func (f *finder) quiet(land int, air float64) bool {
	n := f.piece()
	end := land - int(math.Round(settleS*f.fs))
	pieces := max(1, int(air/2/quietS))
	for range pieces {
		if end-n < 0 || parabolaResidual(f.x[end-n:end]) > f.limit {
			return false
		}
		end -= n
	}
	return true
}

// piece is quietS in samples; a parabola needs a few more than its three numbers.
func (f *finder) piece() int { return max(6, int(math.Round(quietS*f.fs))) }

// noise is how far travel lies off a parabola where it is quietest: the 1 % quantile over the segment, the sensor's noise if the fork ever rests or
// flies. It is held under mostNoiseMM: a run that never rests has no such place.
func (f *finder) noise() float64 {
	const mostNoiseMM = 0.4
	n := f.piece()
	var r []float64
	for lo := 0; lo+n <= len(f.x); lo += n {
		r = append(r, parabolaResidual(f.x[lo:lo+n]))
	}
	if len(r) == 0 {
		return 0
	}
	slices.Sort(r)
	return min(r[len(r)/100], mostNoiseMM)
}

// parabolaResidual is the RMS distance of equally spaced values from their least-squares parabola: what is left of their square after
// projection on the orthogonal polynomials 1, u and u² − mean(u²) over u from −1 to 1. y must hold 4 values or more.
func parabolaResidual(y []float64) float64 {
	n := float64(len(y))
	at := func(i int) float64 { return 2*float64(i)/(n-1) - 1 }
	mean := 0.0
	for _, v := range y {
		mean += v / n
	}
	square := (n + 1) / (3 * (n - 1)) // mean of u²
	var s1, s2, q1, q2, total float64
	for i, v := range y {
		u, d := at(i), v-mean
		w := u*u - square
		s1, s2 = s1+d*u, s2+d*w
		q1, q2 = q1+u*u, q2+w*w
		total += d * d
	}
	return math.Sqrt(max(0, total-s1*s1/q1-s2*s2/q2) / n)
}
