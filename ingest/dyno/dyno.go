// Package dyno reads the force–velocity curves of a damper.
//
// The file is CSV with commas, decimal points and a header that names three columns, in any order:
//
//	clicks,velocity_mm_s,force_n
//	3,-2000,-1100
//	3,-500,-420
//	3,500,310
//	3,2000,640
//	6,-2000,-980
//	…
//
// clicks is the position of the adjuster that was turned, from fully closed; velocity is along the stanchion and positive in
// compression; force resists, so that it has the sign of the velocity. velocity_m_s may stand for velocity_mm_s. Lines that begin
// with # are passed over. A position needs two velocities or more each way, each once; the order of lines does not count.
// Where a dyno gives a loop, take the mean of both branches first, and take the gas force off.
package dyno

import (
	"bufio"
	"cmp"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"stanchion/ingest"
)

// Bounds of what is read.
const (
	MaxBytes       = 4 << 20
	maxPoints      = 50_000
	maxClicks      = 60
	maxVelocityMMS = 20_000
	maxForceN      = 50_000
	leastEachWay   = 2
)

// An Error is what is wrong with a file, and where.
type Error struct {
	Name   string
	Line   int // 1-based, 0 for the file as a whole
	Reason string
}

// Error returns "name:line: reason".
func (e *Error) Error() string {
	if e.Line == 0 {
		return e.Name + ": " + e.Reason
	}
	return fmt.Sprintf("%s:%d: %s", e.Name, e.Line, e.Reason)
}

// columns are the places of the three columns.
type columns struct {
	clicks, velocity, force int
	count                   int
	factor                  float64 // of velocities, to mm/s
}

// Read reads the curves, by rising clicks. name stands for the file in errors, which are of type *Error but where reading itself fails.
func Read(name string, r io.Reader) ([]ingest.DamperCurve, error) {
	limited := &io.LimitedReader{R: r, N: MaxBytes + 1}
	lines := bufio.NewScanner(limited)
	lines.Buffer(make([]byte, 0, 4096), 4096)
	var cols *columns
	curves := map[float64][]ingest.DamperPoint{}
	points, n := 0, 0
	for lines.Scan() {
		n++
		text := strings.TrimSpace(strings.TrimPrefix(lines.Text(), "\uFEFF"))
		if text == "" || strings.HasPrefix(text, "#") {
			continue
		}
		cells := strings.Split(text, ",")
		if cols == nil {
			var reason string
			if cols, reason = header(cells); reason != "" {
				return nil, &Error{name, n, reason}
			}
			continue
		}
		clicks, p, reason := cols.point(cells)
		if points++; reason == "" && points > maxPoints {
			reason = fmt.Sprintf("more than %d points", maxPoints)
		}
		if reason != "" {
			return nil, &Error{name, n, reason}
		}
		if curves[clicks] = append(curves[clicks], p); len(curves) > maxClicks {
			return nil, &Error{name, n, fmt.Sprintf("more than %d positions of the adjuster", maxClicks)}
		}
	}
	switch err := lines.Err(); {
	case errors.Is(err, bufio.ErrTooLong):
		return nil, &Error{name, n + 1, "the line is longer than 4096 characters"}
	case err != nil:
		return nil, fmt.Errorf("read %s: %w", name, err)
	case limited.N <= 0:
		return nil, &Error{name, 0, fmt.Sprintf("more than %d bytes", MaxBytes)}
	case cols == nil:
		return nil, &Error{name, 0, "is empty: it must begin with the header clicks,velocity_mm_s,force_n"}
	case len(curves) == 0:
		return nil, &Error{name, 0, "holds no points"}
	}
	return sorted(name, curves)
}

// header finds the columns.
func header(cells []string) (*columns, string) {
	c := &columns{clicks: -1, velocity: -1, force: -1, count: len(cells), factor: 1}
	for i, cell := range cells {
		var to *int
		switch cell := strings.ToLower(strings.TrimSpace(cell)); cell {
		case "clicks":
			to = &c.clicks
		case "velocity_mm_s", "velocity_m_s":
			to = &c.velocity
			if cell == "velocity_m_s" {
				c.factor = 1000
			}
		case "force_n":
			to = &c.force
		default:
			return nil, fmt.Sprintf("column %d is named %.40q, but only clicks, velocity_mm_s (or velocity_m_s) and force_n are known", i+1, cell)
		}
		if *to >= 0 {
			return nil, fmt.Sprintf("column %d has a name that was there before", i+1)
		}
		*to = i
	}
	if c.clicks < 0 || c.velocity < 0 || c.force < 0 {
		return nil, "the header must name clicks, velocity_mm_s and force_n"
	}
	return c, ""
}

// point reads one row.
func (c *columns) point(cells []string) (clicks float64, p ingest.DamperPoint, reason string) {
	if len(cells) != c.count {
		return 0, p, fmt.Sprintf("has %d cells, but the header %d", len(cells), c.count)
	}
	read := func(i int, name string, low, high, factor float64) float64 {
		v, err := strconv.ParseFloat(strings.TrimSpace(cells[i]), 64)
		if v *= factor; reason == "" && (err != nil || !(v >= low && v <= high)) {
			reason = fmt.Sprintf("%s is %.40q, but must be a number from %g to %g", name, strings.TrimSpace(cells[i]), low/factor, high/factor)
		}
		return v
	}
	clicks = read(c.clicks, "clicks", 0, 1000, 1)
	p.VelocityMMS = read(c.velocity, "velocity", -maxVelocityMMS, maxVelocityMMS, c.factor)
	p.ForceN = read(c.force, "force", -maxForceN, maxForceN, 1)
	if reason == "" && p.VelocityMMS*p.ForceN < 0 {
		reason = fmt.Sprintf("a force of %g N at %g mm/s drives the fork instead of resisting it: give it the sign of the velocity, and take the gas force off", p.ForceN, p.VelocityMMS)
	}
	return clicks, p, reason
}

// sorted brings clicks and velocities into order and checks that each curve can be used.
func sorted(name string, curves map[float64][]ingest.DamperPoint) ([]ingest.DamperCurve, error) {
	var out []ingest.DamperCurve
	for clicks, points := range curves {
		slices.SortFunc(points, func(a, b ingest.DamperPoint) int { return cmp.Compare(a.VelocityMMS, b.VelocityMMS) })
		out = append(out, ingest.DamperCurve{Clicks: clicks, Points: points})
	}
	slices.SortFunc(out, func(a, b ingest.DamperCurve) int { return cmp.Compare(a.Clicks, b.Clicks) })
	for _, c := range out {
		in, rebound := 0, 0
		for i, p := range c.Points {
			if i > 0 && p.VelocityMMS == c.Points[i-1].VelocityMMS {
				return nil, &Error{name, 0, fmt.Sprintf("at %g clicks the velocity %g mm/s is there twice: take the mean", c.Clicks, p.VelocityMMS)}
			}
			if p.VelocityMMS > 0 {
				in++
			}
			if p.VelocityMMS < 0 {
				rebound++
			}
		}
		if in < leastEachWay || rebound < leastEachWay {
			return nil, &Error{name, 0, fmt.Sprintf("at %g clicks there are %d velocities in compression and %d in rebound: %d or more are needed each way", c.Clicks, in, rebound, leastEachWay)}
		}
	}
	return out, nil
}
