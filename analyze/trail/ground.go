package trail

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"stanchion/analyze"
)

// ground says where on the trail a run was, and how fast, at any time of its sensor recording. Without a basis it knows no station.
type ground struct {
	basis    string
	t, s     []float64 // knots: rising times, stations that do not fall
	vt, v    []float64 // knots of the speed over ground in m/s; empty where it is not known
	off      [][2]float64
	crossRMS analyze.Figure
}

// The bounds of what is believed of a position.
const (
	holeS    = 5.0   // no station is known between knots further apart
	longestM = 200e3 // nobody rides a longer trail in one run: such stations are a fault of the channel
	longestS = 2e5   // s: no run lasts for two days and more
	overlapM = 5.0   // a run covers a stretch also where it begins or ends this much inside it
)

func newGround(r *RunOnTrail) *ground {
	g := &ground{basis: BasisNone, crossRMS: analyze.Absent("not placed on a reference line")}
	switch {
	case r.Placed != nil && len(r.Placed.TimeS) >= 2:
		p := r.Placed
		g.basis, g.crossRMS = BasisLine, analyze.Value(p.CrossRMSM, len(p.TimeS))
		g.t, g.s, g.vt, g.v = knots(p.TimeS, p.StationM, p.SpeedMS, r.OffsetS)
		for _, span := range p.OffLine {
			g.off = append(g.off, [2]float64{span[0] + r.OffsetS, span[1] + r.OffsetS})
		}
	case r.Signals != nil:
		g.fromChannels(r)
	}
	if n := len(g.s); n < 2 || !(g.s[n-1] > g.s[0]) || !(g.s[n-1]-g.s[0] <= longestM) || !(math.Abs(g.s[0]) <= 1e7) {
		g.basis, g.t, g.s, g.off = BasisNone, nil, nil, nil
	}
	return g
}

// knots copies what is finite, holds stations from falling and drops times that do not rise.
func knots(time, station, speed []float64, offset float64) (t, s, vt, v []float64) {
	highest := math.Inf(-1)
	for i := range min(len(time), len(station)) {
		at := time[i] + offset
		if !(math.Abs(at) <= longestS) || !isFinite(station[i]) || len(t) > 0 && at <= t[len(t)-1] {
			continue
		}
		highest = max(highest, station[i])
		t, s = append(t, at), append(s, highest)
		if i < len(speed) && isFinite(speed[i]) {
			vt, v = append(vt, at), append(v, speed[i])
		}
	}
	return t, s, vt, v
}

func isFinite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// fromChannels takes the distance and the speed channel of the log, which the signals carry per cell.
func (g *ground) fromChannels(r *RunOnTrail) {
	cell := r.Result.Options.CellS
	if !(cell > 0) {
		return
	}
	var time, station, speedTime, speed []float64
	for i := range r.Signals.Segments {
		s := &r.Signals.Segments[i]
		middle := func(k int) float64 { return s.StartS + (float64(k)+0.5)*cell }
		for k, m := range s.DistanceM {
			time, station = append(time, middle(k)), append(station, m)
		}
		for k, v := range s.SpeedMS {
			speedTime, speed = append(speedTime, middle(k)), append(speed, v)
		}
	}
	g.t, g.s, _, _ = knots(time, station, nil, 0)
	if len(g.t) >= 2 {
		g.basis = BasisDistance
		if r.Signals.DistanceFrom == analyze.DistanceFromSpeed {
			g.basis = BasisSpeed
		}
	}
	g.vt, _, _, g.v = knots(speedTime, make([]float64, len(speedTime)), speed, 0)
}

// seen says whether the time between two knots i−1 and i holds positions that may be trusted.
func (g *ground) seen(i int) bool {
	if g.t[i]-g.t[i-1] > holeS {
		return false
	}
	for _, o := range g.off {
		if o[0] < g.t[i] && g.t[i-1] < o[1] {
			return false
		}
	}
	return true
}

// station is where the run was at a time.
func (g *ground) station(at float64) (float64, bool) {
	i := sort.SearchFloat64s(g.t, at)
	switch {
	case i == len(g.t) || i == 0 && g.t[0] != at:
		return 0, false
	case i == 0:
		return g.s[0], true
	case !g.seen(i):
		return 0, false
	}
	return g.s[i-1] + (g.s[i]-g.s[i-1])*(at-g.t[i-1])/(g.t[i]-g.t[i-1]), true
}

// stationFigure is the station at a time for a result.
func (g *ground) stationFigure(at float64) analyze.Figure {
	if g.basis == BasisNone {
		return analyze.Absent("the run has no positions")
	}
	m, ok := g.station(at)
	if !ok {
		return analyze.Absent("no position at this time")
	}
	return analyze.Value(m, 1)
}

// speed is the speed over ground at a time.
func (g *ground) speed(at float64) (float64, bool) { return between(g.vt, g.v, at) }

// between is linear interpolation through knots no further apart than holeS.
func between(t, y []float64, at float64) (float64, bool) {
	i := sort.SearchFloat64s(t, at)
	switch {
	case i == len(t) || i == 0 && t[0] != at:
		return 0, false
	case i == 0:
		return y[0], true
	case t[i]-t[i-1] > holeS:
		return 0, false
	}
	return y[i-1] + (y[i]-y[i-1])*(at-t[i-1])/(t[i]-t[i-1]), true
}

func (g *ground) speedFigure(at float64) analyze.Figure {
	v, ok := g.speed(at)
	if !ok {
		return analyze.Absent("speed not known at this time")
	}
	return analyze.Value(v, 1)
}

// passes says whether the run was seen on the trail all the way between two stations, which may be one.
func (g *ground) passes(fromM, toM float64) bool {
	_, _, ok := g.span(fromM-0.5, toM+0.5)
	return ok
}

// span is the time in which the run was between two stations: from when it left the first until it reached the second. ok is false where it did not
// cover all of it but for overlapM (a tenth of the stretch and half a metre if that is less) at the run's own ends, or was off the line or not seen in it.
func (g *ground) span(fromM, toM float64) (startS, endS float64, ok bool) {
	n := len(g.s)
	if n < 2 {
		return 0, 0, false
	}
	slack := min(overlapM, 0.1*(toM-fromM)+0.5)
	if g.s[0] > fromM+slack || g.s[n-1] < toM-slack {
		return 0, 0, false
	}
	fromM, toM = max(fromM, g.s[0]), min(toM, g.s[n-1])
	// The last time at or before fromM, and the first at or after toM.
	i := sort.Search(n, func(k int) bool { return g.s[k] > fromM })
	j := sort.SearchFloat64s(g.s, toM)
	if i == n || j < i {
		return 0, 0, false
	}
	at := func(k int, m float64) float64 {
		if k == 0 {
			return g.t[0]
		}
		return g.t[k-1] + (g.t[k]-g.t[k-1])*(m-g.s[k-1])/(g.s[k]-g.s[k-1])
	}
	startS, endS = at(i, fromM), at(j, toM)
	for k := max(i, 1); k <= j; k++ {
		if !g.seen(k) {
			return 0, 0, false
		}
	}
	return startS, endS, endS > startS
}

// over takes the runs' values of a figure together.
func over(figures []analyze.Figure) OverRuns {
	var v []float64
	why := ""
	for _, f := range figures {
		if x, ok := f.Get(); ok {
			v = append(v, x)
		} else if why == "" {
			why = f.Reason()
		}
	}
	if len(v) == 0 {
		none := analyze.Absent("%s", cmp.Or(why, "no run"))
		return OverRuns{none, none, none}
	}
	n := len(v)
	return OverRuns{analyze.Value(middle(v), n), analyze.Value(slices.Min(v), n), analyze.Value(slices.Max(v), n)}
}

// middle is the median of values, which must not be empty. They are not changed.
func middle(v []float64) float64 {
	v = slices.Clone(v)
	slices.Sort(v)
	n := len(v)
	return (v[(n-1)/2] + v[n/2]) / 2
}

// sighting words how many runs of those that passed found a thing.
func sighting(found, passed int) Sighting {
	s := Sighting{FoundIn: found, PassedBy: passed, Agreement: AgreeFew}
	switch {
	case passed == 1:
		s.Agreement = AgreeSole
	case found == passed:
		s.Agreement = AgreeAll
	case 2*found >= passed:
		s.Agreement = AgreeMost
	case found == 1:
		s.Agreement = AgreeOne
	}
	return s
}
