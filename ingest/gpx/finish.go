package gpx

import (
	"fmt"
	"math"
	"slices"
	"time"

	"stanchion/ingest"
)

// finish puts the points in order of time and tells what was found.
func (p *parser) finish(source string) (*ingest.Track, error) {
	if len(p.points) == 0 {
		return nil, p.empty(source)
	}
	t := &ingest.Track{Source: source}
	p.order()
	p.dropUnordered()
	timed := 0
	for i := range p.points {
		if !p.points[i].at.IsZero() {
			if timed == 0 {
				t.Start = p.points[i].at
			}
			timed++
		}
	}
	t.Fixes = make([]ingest.Fix, len(p.points))
	for i := range p.points {
		f := p.points[i].fix
		if at := p.points[i].at; !at.IsZero() {
			f.TimeS = seconds(at, t.Start)
		}
		t.Fixes[i] = f
	}
	t.Rows = p.rows
	p.describe(t, timed)
	return t, nil
}

// seconds is the time from start to at.
func seconds(at, start time.Time) float64 {
	return float64(at.Unix()-start.Unix()) + float64(at.Nanosecond()-start.Nanosecond())*1e-9
}

// empty says why there is no track.
func (p *parser) empty(source string) error {
	var text, hint string
	switch {
	case p.rows.Bad > 0:
		text = fmt.Sprintf("%s: none of its %d track points can be used", source, p.rows.Data)
		for _, r := range p.rows.First[:min(3, len(p.rows.First))] {
			text += fmt.Sprintf("\n%s:%d: %s", source, r.Line, r.Reason)
		}
		hint = "check how the file was made"
	case p.routes > 0 || p.waypoints > 0:
		text = fmt.Sprintf("%s: holds %s and %s, but no track", source, counted(p.waypoints, "waypoint"), counted(p.routes, "route"))
		hint = "a route says where to go, not where you were when: export the recorded activity as a track"
	default:
		text = fmt.Sprintf("%s: holds no track points", source)
		hint = "export the recorded activity as a GPX track"
	}
	return ingest.Hinted{Err: fmt.Errorf("%s", text), Hint: hint}
}

// order brings the pieces into the order of their first times, where each has one: some programs write the newest track first.
func (p *parser) order() {
	type stretch struct {
		points []point
		first  time.Time
	}
	var pieces []stretch
	for lo := 0; lo < len(p.points); {
		hi := lo
		var first time.Time
		for hi < len(p.points) && p.points[hi].fix.Piece == p.points[lo].fix.Piece {
			if first.IsZero() {
				first = p.points[hi].at
			}
			hi++
		}
		if first.IsZero() {
			return
		}
		pieces = append(pieces, stretch{p.points[lo:hi], first})
		lo = hi
	}
	less := func(a, b stretch) int { return a.first.Compare(b.first) }
	if slices.IsSortedFunc(pieces, less) {
		return
	}
	slices.SortStableFunc(pieces, less)
	sorted := make([]point, 0, len(p.points))
	for i, s := range pieces {
		for _, pt := range s.points {
			pt.fix.Piece = i
			sorted = append(sorted, pt)
		}
	}
	p.points = sorted
}

// dropUnordered leaves out the fewest points so that the times of the others rise.
func (p *parser) dropUnordered() {
	at := make([]time.Time, len(p.points))
	for i := range p.points {
		at[i] = p.points[i].at
	}
	keep := ingest.Rising(at)
	kept := p.points[:0]
	var last time.Time
	for i, pt := range p.points {
		switch {
		case pt.at.IsZero():
			kept = append(kept, pt)
		case keep[i]:
			last = pt.at
			kept = append(kept, pt)
		case pt.at.Equal(last) || i+1 < len(keep) && keep[i+1] && p.points[i+1].at.Equal(pt.at):
			p.leaveOut(pt.line, "the same time as another point")
		default:
			p.leaveOut(pt.line, "the time is out of order")
		}
	}
	p.points = kept
}

// counted is a number of things.
func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// describe fills in what people should know.
func (p *parser) describe(t *ingest.Track, timed int) {
	understood := func(format string, args ...any) { t.Understood = append(t.Understood, fmt.Sprintf(format, args...)) }
	caution := func(format string, args ...any) { t.Cautions = append(t.Cautions, fmt.Sprintf(format, args...)) }
	n := len(t.Fixes)
	pieces, fast, high := 1, 0, 0
	for i, f := range t.Fixes {
		if i > 0 && f.Piece != t.Fixes[i-1].Piece {
			pieces++
		}
		if !math.IsNaN(f.SpeedMS) {
			fast++
		}
		if !math.IsNaN(f.EleM) {
			high++
		}
	}
	understood("track: %s in %s, %s in the file", counted(n, "point"), counted(pieces, "piece"), counted(p.tracks, "track"))
	switch {
	case timed == 0:
		caution("no point has a time: the track can be drawn, but no run can be timed or lined up with it")
	case timed < n:
		caution("%d of %d points have no time", n-timed, n)
		fallthrough
	default:
		understood("time: from %s UTC", t.Start.Format("2006-01-02 15:04:05.999"))
	}
	understood("elevation: at %d of %d points", high, n)
	if fast > 0 {
		understood("speed of the receiver: at %d of %d points, m/s", fast, n)
	}
	if p.ownSpeed {
		understood("the speed stands in an extension and was taken as m/s")
	}
	for _, c := range []struct {
		n    int
		text string
	}{
		{p.noZone, "%d times name no zone and were taken as UTC: if the recorder wrote local time, the clocks are whole hours apart"},
		{p.leaps, "%d times lie in a leap second and were counted as the second after it"},
		{p.badTime, "%d times could not be read"},
		{p.badEle, "%d elevations could not be read"},
	} {
		if c.n > 0 {
			caution(c.text, c.n)
		}
	}
	if p.rows.Bad > 0 {
		caution("%d of %d points were left out", p.rows.Bad, p.rows.Data)
	}
	if p.tracks > 1 {
		caution("the file holds %d tracks: all were read, each as pieces of its own", p.tracks)
	}
	if p.newSpace {
		caution("the file does not say that it is GPX 1.0 or 1.1 (namespace): it was read as GPX 1.1")
	}
	if p.cut {
		caution("the file ends in the middle: its tail is missing")
	}
}
