package ingest

import (
	"fmt"
	"math"
)

// calibrate counts clipping, turns the readings of tl into travel and adds what there is to say about both.
func (tr *Trace) calibrate(tl *timeline, cal *calibration, setup Setup, opt PrepareOptions) {
	q := &tr.Quality
	q.CalibrationPoints, q.CalibrationRMSMM = cal.points, cal.rmsMM
	if cal.unit == UnitCounts || cal.unit == UnitVolts {
		q.MMPerCount = cal.mmPerUnit
	}
	if bits := setup.Sensor.ADCBits; cal.unit == UnitCounts && bits > 0 && bits <= 32 {
		full := math.Ldexp(1, bits) - 1
		low, high, beyond := clipping(tl.travel, full, opt.ClipRun)
		if q.ClippingKnown = beyond == 0; q.ClippingKnown {
			q.ClippedLow, q.ClippedHigh = low, high
		} else {
			tr.caution("%d readings are outside 0…%g, the range of a %d-bit converter: is its width right? Clipping is not known", beyond, full, bits)
		}
	}
	cal.apply(tl.travel)
	text := cal.text
	if cal.zeroMM != 0 {
		text += fmt.Sprintf(", re-zeroed by %g mm", cal.zeroMM)
	}
	tr.Understood = append(tr.Understood, text)
	T := setup.Fork.TravelMM
	if cal.rmsMM > 0.02*T {
		tr.caution("the calibration points lie %.1f mm (RMS) off a straight line: check them, or use method %q", cal.rmsMM, CalibratePCHIP)
	}
	// Beyond a quarter of the travel on either side nothing but a wrong calibration puts a fork for long.
	lo, hi, out := math.Inf(1), math.Inf(-1), 0
	for _, v := range tl.travel {
		if v < lo {
			lo = v
		}
		if v > hi {
			hi = v
		}
		if v < -T/4 || v > T+T/4 {
			out++
		}
	}
	if 20*out > len(tl.travel) {
		tr.caution("calibration and log do not fit: travel reads %.0f…%.0f mm on a fork with %g mm: check the calibration points, the unit of the log and the fork's travel", lo, hi, T)
	}
}

// clipping counts the codes in runs of at least run at code 0 and at full scale, and the codes outside that range.
func clipping(codes []float64, full float64, run int) (low, high, beyond int) {
	for i := 0; i < len(codes); {
		v := codes[i]
		if v > 0 && v < full {
			i++
			continue
		}
		j := i + 1
		for j < len(codes) && codes[j] == v {
			j++
		}
		switch n := j - i; {
		case v < 0 || v > full:
			beyond += n
		case n < run:
		case v == 0:
			low += n
		default:
			high += n
		}
		i = j
	}
	return low, high, beyond
}

// cautionStalls says where the clock stood still or started again for over limit s.
func (tr *Trace) cautionStalls(tl *timeline, cuts []int, rows int, limit float64) {
	if rows == 0 {
		return
	}
	last := len(tl.ticks) - 1
	if len(cuts) > 0 {
		last = cuts[0] - 1
	}
	tr.caution("from %.1f s on the clock stood still or went back for over %g s, and %d rows were dropped: "+
		"if the device restarted, cut the log there and read the parts one by one", tl.ticks[last]*tl.tickS, limit, rows)
}

// cautionLosses says where many samples are missing. Steps that are all whole periods, some of them double, come from lost
// samples or from stamps as coarse as the period (whole ms at 800 Hz); the stamps cannot tell which.
func (tr *Trace) cautionLosses(recorded int) {
	q := &tr.Quality
	if q.LostSamples <= recorded/20 {
		return
	}
	tr.caution("%d samples are missing between the %d recorded ones and were bridged: check that the recorder keeps up", q.LostSamples, recorded)
	if q.StampsJitterS*q.RateHz < 1e-3 {
		tr.caution("the stamps are whole sample periods: if they are too coarse for the sample rate, nothing was lost, and the rate of %.4g Hz, "+
			"and with it every velocity, is wrong: log finer stamps, or read the log without stamps at its true rate", q.RateHz)
	}
}

// cautionClock adds what else is doubtful about the stamps.
func (tr *Trace) cautionClock(tl *timeline, rows int) {
	q := &tr.Quality
	if d := q.DuplicateStamps; d > rows/20 {
		tr.caution("%d of %d rows have the same stamp as the row before and were dropped: the stamps may be too coarse for the sample rate", d, rows)
	}
	if gap := tl.wrapGap * tl.tickS; gap > 1 {
		tr.caution("the clock counter went back to its start and was taken to have wrapped (%d bits), which makes a gap of %.1f s: "+
			"if the device restarted instead, that length is wrong", q.WrapBits, gap)
	}
	if u := q.UnusableReadings; u > rows/20 {
		tr.caution("%d of %d rows had no usable travel reading", u, rows)
	}
}
