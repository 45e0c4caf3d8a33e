package fit

import (
	"fmt"
	"math"
	"time"

	"github.com/muktihari/fit/profile/mesgdef"
	"github.com/muktihari/fit/profile/typedef"
	"github.com/muktihari/fit/profile/untyped/mesgnum"
	"github.com/muktihari/fit/proto"

	"stanchion/ingest"
)

const (
	maxBadFew = 10 // bad points that are kept with their number
	// Stamps under this many seconds of the format's epoch count from when the recorder was switched on; it knew no date.
	leastStampS = 0x10000000
)

// epoch is the format's: 1989-12-31 00:00:00 UTC.
var epoch = time.Date(1989, time.December, 31, 0, 0, 0, 0, time.UTC)

// A collector takes the messages that the decoder found, one by one.
type collector struct {
	maxPoints int
	files     int // decoded whole
	fixes     []ingest.Fix
	at        []time.Time // of the fixes
	points    int         // met, with or without a position
	indoors   int         // without a position
	same      int         // with the time of another
	backward  int         // with a time out of order
	bad       []ingest.BadRow
	badCount  int
	piece     int
	stopped   bool // the timer was stopped since the last fix
	tooMany   bool
	cut       bool
	record    mesgdef.Record
}

// newFile begins the next file of a chain.
func (c *collector) newFile() { c.stopped = true }

// OnMesg is what the decoder calls with each message; it belongs to the decoder, so that nothing of it is kept.
func (c *collector) OnMesg(m proto.Message) {
	switch m.Num {
	case mesgnum.Event:
		e := mesgdef.NewEvent(&m)
		switch e.EventType {
		case typedef.EventTypeStop, typedef.EventTypeStopAll, typedef.EventTypeStopDisable, typedef.EventTypeStopDisableAll:
			c.stopped = c.stopped || e.Event == typedef.EventTimer
		}
	case mesgnum.Record:
		c.record.Reset(&m)
		c.take(&c.record)
	}
}

// take adds a point.
func (c *collector) take(r *mesgdef.Record) {
	if c.points++; c.points > c.maxPoints {
		c.tooMany = true
		return
	}
	f := ingest.Fix{LatDeg: r.PositionLatDegrees(), LonDeg: r.PositionLongDegrees(), EleM: first(r.EnhancedAltitudeScaled(), r.AltitudeScaled()), SpeedMS: first(r.EnhancedSpeedScaled(), r.SpeedScaled())}
	switch {
	case math.IsNaN(f.LatDeg) || math.IsNaN(f.LonDeg):
		c.indoors++
		return
	case math.Abs(f.LatDeg) > 90:
		c.leaveOut(fmt.Sprintf("the latitude is %.6g°", f.LatDeg))
		return
	case r.Timestamp.IsZero():
		c.leaveOut("it has no time")
		return
	}
	if c.stopped && len(c.fixes) > 0 {
		c.piece++
	}
	c.stopped = false
	if f.LonDeg >= 180 {
		f.LonDeg -= 360
	}
	f.Piece = c.piece
	c.fixes, c.at = append(c.fixes, f), append(c.at, r.Timestamp)
}

// order leaves out the fewest fixes so that the times of the others rise, and counts the times from the first.
func (c *collector) order() {
	keep := ingest.Rising(c.at)
	kept, at := c.fixes[:0], c.at[:0]
	for i, f := range c.fixes {
		switch {
		case keep[i]:
			kept, at = append(kept, f), append(at, c.at[i])
		case len(at) > 0 && c.at[i].Equal(at[len(at)-1]) || i+1 < len(keep) && keep[i+1] && c.at[i+1].Equal(c.at[i]):
			c.same++
		default:
			c.backward++
		}
	}
	for i := range kept {
		kept[i].TimeS = float64(at[i].Unix() - at[0].Unix())
	}
	c.fixes, c.at = kept, at
}

// first is the first that is known.
func first(a, b float64) float64 {
	if math.IsNaN(a) {
		return b
	}
	return a
}

func (c *collector) leaveOut(reason string) {
	c.badCount++
	if len(c.bad) < maxBadFew {
		c.bad = append(c.bad, ingest.BadRow{Line: c.points, Reason: reason})
	}
}

// finish is the track with what people should know.
func (c *collector) finish(source string) (*ingest.Track, error) {
	if len(c.fixes) == 0 {
		text, hint := "holds no points", "is it an activity? Settings, courses and workouts are FIT files too"
		if c.points > 0 {
			text, hint = fmt.Sprintf("none of its %d points can be used", c.points), "was the receiver switched on?"
		}
		if c.cut {
			text += ", and its end is missing"
		}
		return nil, ingest.Hinted{Err: fmt.Errorf("%s: %s", source, text), Hint: hint}
	}
	c.order()
	t := &ingest.Track{Source: source, Start: c.at[0], Fixes: c.fixes, Rows: ingest.RowCount{Data: c.points, Bad: c.badCount + c.same + c.backward, First: c.bad}}
	c.describe(t)
	return t, nil
}

func (c *collector) describe(t *ingest.Track) {
	n, fast, high := len(t.Fixes), 0, 0
	for _, f := range t.Fixes {
		if !math.IsNaN(f.SpeedMS) {
			fast++
		}
		if !math.IsNaN(f.EleM) {
			high++
		}
	}
	understood := func(format string, args ...any) { t.Understood = append(t.Understood, fmt.Sprintf(format, args...)) }
	caution := func(format string, args ...any) { t.Cautions = append(t.Cautions, fmt.Sprintf(format, args...)) }
	understood("track: %d points, begun %d times", n, c.piece+1)
	if t.Start.Sub(epoch) < leastStampS*time.Second {
		t.Start = time.Time{}
		caution("the recorder knew no date: its times count from when it was switched on")
	} else {
		understood("time: from %s UTC, in whole seconds", t.Start.Format(time.DateTime))
	}
	understood("elevation: at %d of %d points", high, n)
	if fast > 0 {
		understood("speed of the receiver: at %d of %d points, m/s", fast, n)
	}
	for _, p := range []struct {
		n    int
		text string
	}{
		{c.indoors, "%d points have no position"},
		{c.same, "%d points have the time of another and were left out: times are whole seconds in this format"},
		{c.backward, "%d points have a time out of order and were left out"},
		{c.badCount, "%d points cannot be used and were left out"},
	} {
		if p.n > 0 {
			caution(p.text, p.n)
		}
	}
	if c.cut {
		caution("the file ends in the middle: its tail is missing, and no checksum vouches for the rest")
	}
}
