package csvlog

import (
	"fmt"
	"math"
	"slices"
	"time"

	"stanchion/ingest"
)

// clock fills in Clock, and turns dates and clock times into s from the first stamp.
func clock(r *ingest.Recording, t *table, l *layout, c *columns) error {
	if low, high := extent(r.Stamps); low == high {
		return fail("set --time-column, or --time-column=none together with --rate", "time column %s never changes: it is %s throughout", l.ref(c.time), number(low))
	}
	still := 0
	for i := 1; i < len(r.Stamps); i++ {
		if r.Stamps[i] == r.Stamps[i-1] {
			still++
		}
	}
	if 2*still > len(r.Stamps) {
		return fail("set --time-column, or --time-column=none together with --rate", "time column %s is too coarse: it stands still in %d of %d steps", l.ref(c.time), still, len(r.Stamps)-1)
	}
	what := ""
	switch t.plan.timeKind {
	case kindStamp:
		what = wallDates(r, t)
	case kindClock:
		what = wallClock(r)
	default:
		var err error
		if what, err = ticks(r, t, l, c); err != nil {
			return err
		}
	}
	r.Understood = append(r.Understood, fmt.Sprintf("time: column %s, %s", l.ref(c.time), what))
	return nil
}

// wallDates handles stamps in s from plan.base.
func wallDates(r *ingest.Recording, t *table) string {
	first := r.Stamps[0]
	start := time.Unix(0, t.plan.base).UTC().Add(time.Duration(math.Round(first * 1e9)))
	if len(t.leaps) > 0 {
		countLeap(r.Stamps, t.leaps, t.plan.base)
	}
	for i := range r.Stamps {
		r.Stamps[i] -= first
	}
	r.Clock = ingest.Clock{Kind: ingest.ClockWall, TickS: 1, Start: start}
	if t.unzoned {
		r.Cautions = append(r.Cautions, "the dates name no time zone: they were read as UTC")
	}
	what := "date and time"
	if len(t.leaps) > 0 {
		what += ", across a leap second"
	}
	return what
}

// countLeap adds the leap second to all stamps after it. In UTC the second 23:59:60 comes before 00:00:00, but both have the
// same count of seconds since 1970.
func countLeap(stamps []float64, leaps []int, base int64) {
	after := float64(floorDiv(base+wholeNS(stamps[leaps[0]]), nsPerDay)*nsPerDay-base) / 1e9
	k := 0
	for i, s := range stamps {
		if k < len(leaps) && leaps[k] == i {
			k++
			continue
		}
		if s >= after {
			stamps[i] = s + 1
		}
	}
}

func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}

// wallClock handles stamps in s from plan.base: a fall by over half a day is midnight.
func wallClock(r *ingest.Recording) string {
	first, days, last := wholeNS(r.Stamps[0]), int64(0), r.Stamps[0]
	for i, s := range r.Stamps {
		switch {
		case s-last < -sPerDay/2:
			days++
		case s-last > sPerDay/2 && days > 0: // a stamp from before midnight, late
			days--
		}
		last = s
		r.Stamps[i] = float64(wholeNS(s)+days*nsPerDay-first) / 1e9 // in ns, so that a day more does not cost digits
	}
	r.Clock = ingest.Clock{Kind: ingest.ClockWall, TickS: 1}
	switch {
	case days == 1:
		return "clock time, past midnight"
	case days > 1:
		return fmt.Sprintf("clock time, past midnight %d times", days)
	}
	return "clock time"
}

// wholeNS turns s into ns.
func wholeNS(s float64) int64 { return int64(math.Round(s * 1e9)) }

// ticks handles numeric stamps.
func ticks(r *ingest.Recording, t *table, l *layout, c *columns) (string, error) {
	tick, how := c.tick, ""
	if tick == 0 {
		step := medianStep(r.Stamps)
		tick = guessTick(step)
		if tick == 0 {
			return "", fail("set --time-unit to s, ms, us or ns", "time column %s has no unit, and no unit makes steps of %s a sample rate between 50 and 20000 Hz", l.ref(c.time), number(step))
		}
		how = " (a guess)"
		r.Cautions = append(r.Cautions, fmt.Sprintf("the unit of time was guessed: %s, from steps of %s; if that is wrong, set the time unit", tickName(tick), number(step)))
	}
	r.Clock = ingest.Clock{Kind: ingest.ClockElapsed, TickS: tick}
	low, high := extent(r.Stamps)
	name := tickName(tick)
	if name == "" {
		name = number(tick) + " s each"
	}
	if c.indexed {
		name = fmt.Sprintf("sample numbers at the given %s Hz", number(1/tick))
	}
	if low*tick >= 1e9 && high*tick < 4e9 {
		s, frac := math.Modf(r.Stamps[0] * tick)
		r.Clock.Start = time.Unix(int64(s), int64(math.Round(frac*1e6))*1000).UTC()
		return name + how + ", since 1970", nil
	}
	if t.frac[toTime] || low < 0 || high >= 1<<32 || tick >= 1 {
		return name + how, nil
	}
	r.Clock.Kind = ingest.ClockCounter
	span := 1 << 16
	if high >= 1<<16 {
		span = 1 << 32
	}
	wraps := 0
	for i := 1; i < len(r.Stamps); i++ {
		if r.Stamps[i]-r.Stamps[i-1] < -float64(span)/2 {
			wraps++
		}
	}
	if !c.indexed {
		name += " counter"
	}
	if wraps > 0 {
		how += fmt.Sprintf(", wraps at %d bits", map[int]int{1 << 16: 16, 1 << 32: 32}[span])
	}
	return name + how, nil
}

// medianStep returns the median step of the first stamps, of those that are no wrap or stand-still.
func medianStep(stamps []float64) float64 {
	n := min(len(stamps), 10000)
	steps := make([]float64, 0, n)
	for i := 1; i < n; i++ {
		if d := stamps[i] - stamps[i-1]; d > 0 {
			steps = append(steps, d)
		}
	}
	if len(steps) == 0 {
		return 0
	}
	slices.Sort(steps)
	return steps[len(steps)/2]
}

// guessTick returns the time unit, in s, that makes step a sample rate between 50 and 20000 Hz, 0 where none does.
func guessTick(step float64) float64 {
	for _, tick := range []float64{1, 1e-3, 1e-6, 1e-9} {
		if s := step / math.Round(1/tick); s >= 1./20000*(1-1e-9) && s <= 1./50*(1+1e-9) {
			return tick
		}
	}
	return 0
}
