package ingest

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// stampLimit is the largest stamp (in ticks, either sign) that is taken for a time at all.
const stampLimit = 1e30

// sameTimeS is how close, in s, two stamps must be to count as equal: far below any sample period, and above what
// rounding leaves between equal times.
const sameTimeS = 1e-10

// A droppedRun is a row of stamps, none of which exceeded the last kept one.
type droppedRun struct {
	at int // index of the first sample after the run, among the samples that were kept
	n  int // rows dropped
}

// A timeline holds the rows that survived clock repair, in parallel columns.
type timeline struct {
	ticks   []float64 // since the first kept stamp, strictly rising, in units of tickS
	tickS   float64
	travel  []float64 // readings, from calibrate on mm
	extra   [][]float64
	markers []TraceMarker
	stalls  []droppedRun
	wrapGap float64 // ticks; the longest step across a wrap
}

// newTimeline turns the stamps of rec into rising times and drops the rows that have no place in them, and after that
// the rows whose reading is not usable. It works in place: the columns of rec are consumed.
func newTimeline(rec *Recording, usable readingRange, opt PrepareOptions, q *Quality) (*timeline, error) {
	stamps, tickS, err := stampColumn(rec)
	if err != nil {
		return nil, err
	}
	tl := &timeline{ticks: stamps, tickS: tickS, travel: rec.Travel}
	for _, c := range rec.Extra {
		if len(c.Values) != len(rec.Travel) {
			return nil, fmt.Errorf("channel %q has %d values beside %d travel readings", c.Name, len(c.Values), len(rec.Travel))
		}
		tl.extra = append(tl.extra, c.Values)
	}
	jump := opt.OutlierJumpS / tickS
	if rec.Clock.Kind == ClockCounter {
		if half := tl.unwrap(q); half > 0 {
			jump = min(jump, half)
		}
	}
	tl.keepRising(markersBySample(rec), usable, jump, q)
	return tl, nil
}

// stampColumn returns the stamps of rec and the length of one stamp unit in s. Rows of a log without stamps are
// numbered, one period apart.
func stampColumn(rec *Recording) (stamps []float64, tickS float64, err error) {
	n := len(rec.Travel)
	if n == 0 {
		return nil, 0, Hinted{fmt.Errorf("%s: no samples", rec.Source),
			"the log has no readable data row; check that the recorder was running and that the right columns are read"}
	}
	if rec.Clock.Kind == ClockNone {
		rate := rec.Clock.RateHz
		if !(rate > 0) || math.IsInf(rate, 1) {
			return nil, 0, Hinted{fmt.Errorf("%s: no time stamps, and the sample rate is not known", rec.Source),
				"give the sample rate in Hz"}
		}
		stamps = make([]float64, n)
		for i := range stamps {
			stamps[i] = float64(i)
		}
		return stamps, 1 / rate, nil
	}
	switch rec.Clock.Kind {
	case ClockCounter, ClockElapsed, ClockWall:
	default:
		return nil, 0, fmt.Errorf("%s: unknown kind of clock %q", rec.Source, rec.Clock.Kind)
	}
	if tickS = rec.Clock.TickS; !(tickS > 0) || math.IsInf(tickS, 1) {
		return nil, 0, Hinted{fmt.Errorf("%s: a stamp unit of %g s is not usable", rec.Source, tickS),
			"say in which unit the time stamps are"}
	}
	if len(rec.Stamps) != n {
		return nil, 0, fmt.Errorf("%s: %d stamps beside %d travel readings", rec.Source, len(rec.Stamps), n)
	}
	return rec.Stamps, tickS, nil
}

// unwrap turns counter stamps into a count that goes on past the counter's range (16 bits where no stamp reaches
// 65536, else 32) and returns half that range. A step below minus half the range is a wrap. One stamp alone that lies
// over half the range away from both its neighbours, while these follow each other, is no wrap: it is damaged or out of
// order, and is left for keepRising to drop. Counts that outgrow 32 bits do not wrap; unwrap then returns 0.
func (tl *timeline) unwrap(q *Quality) (half float64) {
	s := tl.ticks
	bits, span := 32, 0x1p32
	top := s[0]
	for _, v := range s {
		if v > top {
			top = v
		}
	}
	if top < 0x1p16 {
		bits, span = 16, 0x1p16
	} else if top >= span {
		return 0
	}
	half = span / 2
	base, prev := 0.0, s[0]
	for i := 1; i < len(s); i++ {
		raw := s[i]
		step := raw - prev
		if math.Abs(step) <= half {
			s[i] = raw + base
			prev = raw
			continue
		}
		if i+1 < len(s) && lone(prev, raw, s[i+1], half) {
			s[i] = raw + base
			if step > 0 && base > 0 {
				s[i] -= span // late, from before the wrap
			}
			continue
		}
		if step < -half {
			base += span
			q.Wraps++
			q.WrapBits = bits
			tl.wrapGap = max(tl.wrapGap, step+span)
		}
		s[i] = raw + base
		prev = raw
	}
	return half
}

// lone tells whether raw is over half a counter's range away from both its neighbours, which follow each other.
func lone(prev, raw, next, half float64) bool {
	if next < prev {
		return false
	}
	return (raw-prev > half && next-raw < -half) || (raw-prev < -half && next-raw > half)
}

// markersBySample returns the markers of rec in the order of their samples.
func markersBySample(rec *Recording) []Marker {
	m := slices.Clone(rec.Markers)
	slices.SortStableFunc(m, func(a, b Marker) int { return cmp.Compare(a.Sample, b.Sample) })
	return m
}

// keepRising keeps the rows whose stamp exceeds every earlier kept one, leaves out a single stamp that leaps ahead by
// more than jump ticks and returns, and then the rows whose reading is not usable. A marker gets the time of its row or,
// where that was dropped, of the last row kept before it.
//
// A first stamp over jump ticks ahead of the second counts as such a leap: kept, it would cost all that follows.
func (tl *timeline) keepRising(marks []Marker, usable readingRange, jump float64, q *Quality) {
	s, x := tl.ticks, tl.travel
	same := sameTimeS / tl.tickS
	origin, last := 0.0, math.Inf(-1) // last is counted from origin, the first kept stamp
	w, run, mark := 0, 0, 0
	for i, stamp := range s {
		at := stamp - origin
		step := at - last
		switch {
		case step > same && (step <= jump || !outlier(s, i, last+origin, jump)):
			if math.IsInf(last, -1) {
				origin, at = stamp, 0
			}
			last = at
			if run > 1 {
				tl.stalls = append(tl.stalls, droppedRun{at: w, n: run})
			}
			run = 0
			if r := x[i]; r >= usable.lo && r <= usable.hi {
				s[w] = at
				x[w] = r
				if w != i {
					for _, v := range tl.extra {
						v[w] = v[i]
					}
				}
				w++
			} else {
				q.UnusableReadings++
			}
		case step > same:
			q.OutlierStamps++
		case step >= 0:
			q.DuplicateStamps++
			run++
		default:
			q.BackwardStamps++
			run++
		}
		for mark < len(marks) && (marks[mark].Sample <= i || i == len(s)-1) {
			tl.markers = append(tl.markers, TraceMarker{TimeS: max(last, 0) * tl.tickS, Label: marks[mark].Label})
			mark++
		}
	}
	if run > 1 {
		tl.stalls = append(tl.stalls, droppedRun{at: w, n: run})
	}
	tl.ticks, tl.travel = s[:w], x[:w]
	for c, v := range tl.extra {
		tl.extra[c] = v[:w]
	}
}

// outlier tells whether s[i], more than jump ahead of the last kept stamp, stands alone: the stamp after it is back. A
// first stamp has none before it to tell which of the two is wrong, so the stamp after next must be back as well.
func outlier(s []float64, i int, last, jump float64) bool {
	switch {
	case math.Abs(s[i]) > stampLimit:
		return true
	case i+1 == len(s) || s[i+1] >= s[i]:
		return false
	case math.IsInf(last, -1):
		return s[i]-s[i+1] > jump && (i+2 == len(s) || s[i+2] < s[i])
	}
	return s[i+1]-last <= jump || s[i]-s[i+1] > jump
}
