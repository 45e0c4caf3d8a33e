package trail

import (
	"fmt"
	"math"
	"slices"
	"sort"
)

// PlaceOptions steer how a run is laid on a line. They say what is likely, in m; none of them has a source but trial on simulated runs.
type PlaceOptions struct {
	MaxCrossM    float64      `json:"max_cross_m"`   // a run further away than this is off the line
	CrossM       float64      `json:"cross_m"`       // usual distance from the line
	AdvanceM     float64      `json:"advance_m"`     // how far advance on the line and distance ridden usually differ from one node to the next …
	AdvanceShare float64      `json:"advance_share"` // … and the share of the distance ridden that is added
	Along        AlongOptions `json:"along"`         // the model of a run along the line
	rough        bool         // stations from the smoothed path alone
	TurnCost     float64      `json:"turn_cost"` // of travel against the direction of the line, in units of half a squared standard deviation
}

// DefaultPlaceOptions are for receivers on open ground and under trees.
func DefaultPlaceOptions() PlaceOptions {
	return PlaceOptions{MaxCrossM: 15, CrossM: 3, AdvanceM: 1, AdvanceShare: 0.15, TurnCost: 6, Along: DefaultAlongOptions()}
}

// An OffLineError says that a run is nowhere on a line.
type OffLineError struct{ MaxCrossM float64 }

func (e *OffLineError) Error() string {
	return fmt.Sprintf("the run never follows the line within %.0f m", e.MaxCrossM)
}

// Place lays a run on the line. It is placed as a whole and not point by point, so that switchbacks, crossings and a start beside the
// finish do not make it jump. Stations go from 20 m before the line to 20 m after it, where the line is taken to go on straight. A run that
// is nowhere on the line gives an *OffLineError.
func (l *Line) Place(p *Path, opt PlaceOptions) (*Placed, error) {
	if len(l.EastM) < 2 {
		return nil, fmt.Errorf("place a run: the line has %d points, two are needed", len(l.EastM))
	}
	if len(p.TimeS) < 2 {
		return nil, fmt.Errorf("place a run: it has %d positions, two are needed", len(p.TimeS))
	}
	p = p.inFrame(l.Frame)
	nodes := nodesOf(p)
	points, on := newMatcher(l, opt).match(nodes)
	n := len(p.TimeS)
	out := &Placed{TimeS: p.TimeS, SpeedMS: p.SpeedMS, SigmaM: p.SigmaM, pathSigmaM: p.SigmaM, StationM: make([]float64, n), CrossM: make([]float64, n)}
	placed := make([]bool, n) // together with the point before
	any := false
	for from := 0; from < len(nodes); {
		to := from + 1
		for to < len(nodes) && on[from] && on[to] && !nodes[to].cut {
			to++
		}
		if to-from > 1 {
			a, b := nodes[from].index, nodes[to-1].index
			l.lay(p, nodes[from:to], points[from:to], out.StationM[a:b+1])
			for i := a + 1; i <= b; i++ {
				placed[i] = true
			}
			any = true
		}
		from = to
	}
	if !any {
		return nil, &OffLineError{opt.MaxCrossM}
	}
	if len(p.Fixes) > 0 {
		out.refine(l, p, placed, opt.Along)
	}
	out.fill(l, p, placed)
	return out, nil
}

// refine estimates the stations anew from the fixes, as one process along the line.
func (q *Placed) refine(l *Line, p *Path, placed []bool, opt AlongOptions) {
	n := len(placed)
	on := make([]bool, n)
	for i := range on {
		on[i] = placed[i] || i+1 < n && placed[i+1]
	}
	q.estimate = l.along(p, q.StationM, on, opt)
	q.SpeedMS, q.SigmaM = slices.Clone(p.SpeedMS), slices.Clone(p.SigmaM)
	for k := range q.estimate.steps {
		s := &q.estimate.steps[k]
		q.SpeedMS[s.at] = max(0, s.x[alSpeed])
		q.SigmaM[s.at] = math.Sqrt(max(s.p[alStation][alStation], 1e-6))
	}
	for from := 0; from < n; {
		to := from + 1
		for to < n && placed[to] {
			to++
		}
		if on[from] {
			l.orderly(q.StationM[from:to])
		}
		from = to
	}
}

// fill finds what follows from the stations: they do not fall, spans that are not placed, cross-track error.
func (q *Placed) fill(l *Line, p *Path, placed []bool) {
	n := len(placed)
	isOn := func(i int) bool { return placed[i] || i+1 < n && placed[i+1] }
	first := 0
	for !isOn(first) {
		first++
	}
	for i := range first {
		q.StationM[i] = q.StationM[first]
	}
	sum, count := 0.0, 0
	for i := first; i < n; i++ {
		if !isOn(i) {
			q.StationM[i] = q.StationM[i-1]
			continue
		}
		if i > 0 {
			q.StationM[i] = max(q.StationM[i], q.StationM[i-1])
		}
		e, north, de, dn := l.at(q.StationM[i])
		q.CrossM[i] = (p.EastM[i]-e)*dn - (p.NorthM[i]-north)*de
		if s := q.StationM[i]; s >= 0 && s <= l.LengthM() {
			sum += q.CrossM[i] * q.CrossM[i]
			count++
		}
	}
	q.CrossRMSM = math.Sqrt(sum / float64(max(1, count)))
	for i := 1; i < n; i++ {
		if placed[i] {
			continue
		}
		if k := len(q.OffLine) - 1; k >= 0 && q.OffLine[k][1] == q.TimeS[i-1] {
			q.OffLine[k][1] = q.TimeS[i]
		} else {
			q.OffLine = append(q.OffLine, [2]float64{q.TimeS[i-1], q.TimeS[i]})
		}
	}
}

// How closely the stations of neighbouring positions follow the distance ridden between them, in m and as a share of it, against 1 m for
// the position itself.
const (
	followM     = 0.1
	followShare = 0.05
)

// lay finds the stations of the positions from the first to the last of the nodes, beginning with the points that they were matched to: the
// least squares of the distance of each position from the line along it, and of advance against the distance ridden (Gauss and Newton).
func (l *Line) lay(p *Path, nodes []node, points []int, station []float64) {
	first := nodes[0].index
	for k := 1; k < len(nodes); k++ {
		a, b := nodes[k-1].index, nodes[k].index
		sa, sb := float64(points[k-1])*l.StepM, float64(points[k])*l.StepM
		for i := a; i <= b; i++ {
			f := float64(i-a) / float64(b-a)
			if gone := p.AlongM[b] - p.AlongM[a]; gone > 0 {
				f = (p.AlongM[i] - p.AlongM[a]) / gone
			}
			station[i-first] = sa + f*(sb-sa)
		}
	}
	n := len(station)
	gone, follow := make([]float64, n), make([]float64, n+1) // ridden since the position before, and the weight of it
	for i := 1; i < n; i++ {
		gone[i] = p.AlongM[first+i] - p.AlongM[first+i-1]
		sigma := followM + followShare*gone[i]
		follow[i] = 1 / (sigma * sigma)
	}
	diagonal, right := make([]float64, n), make([]float64, n)
	const rounds = 8
	for range rounds {
		for i, s := range station {
			e, north, de, dn := l.at(s)
			ahead := (p.EastM[first+i]-e)*de + (p.NorthM[first+i]-north)*dn
			diagonal[i] = 1 + follow[i] + follow[i+1]
			right[i] = s + min(max(ahead, -3), 3) + follow[i]*gone[i]
			if i+1 < n {
				right[i] -= follow[i+1] * gone[i+1]
			}
		}
		for i := 1; i < n; i++ { // Thomas's elimination; −follow[i] lies beside the diagonal
			w := follow[i] / diagonal[i-1]
			diagonal[i] -= w * follow[i]
			right[i] += w * right[i-1]
		}
		station[n-1] = right[n-1] / diagonal[n-1]
		for i := n - 2; i >= 0; i-- {
			station[i] = (right[i] + follow[i+1]*station[i+1]) / diagonal[i]
		}
	}
	l.orderly(station)
}

// orderly makes stations not fall, and keeps them on the line and its leads.
func (l *Line) orderly(station []float64) {
	neverFalling(station)
	low, high := -leadM, l.LengthM()+leadM
	for i := range station {
		station[i] = min(max(station[i], low), high)
	}
}

// neverFalling makes x the nearest list, by least squares, that does not fall (pool adjacent violators).
func neverFalling(x []float64) {
	type pool struct {
		sum float64
		n   int
	}
	var pools []pool
	for _, v := range x {
		pools = append(pools, pool{v, 1})
		for k := len(pools) - 1; k > 0 && pools[k-1].sum*float64(pools[k].n) > pools[k].sum*float64(pools[k-1].n); k-- {
			pools[k-1].sum += pools[k].sum
			pools[k-1].n += pools[k].n
			pools = pools[:k]
		}
	}
	i := 0
	for _, p := range pools {
		for range p.n {
			x[i] = p.sum / float64(p.n)
			i++
		}
	}
}

// At returns the station at a time; ok is false where the run was off the line or not recorded.
func (q *Placed) At(timeS float64) (stationM float64, ok bool) {
	i := sort.SearchFloat64s(q.TimeS, timeS)
	if i == len(q.TimeS) || i == 0 && q.TimeS[0] != timeS || q.off(timeS, timeS) {
		return 0, false
	}
	if i == 0 {
		i = 1
	}
	return q.between(i, timeS), true
}

// off says whether the run was off the line at any time inside a span.
func (q *Placed) off(from, to float64) bool {
	for _, s := range q.OffLine {
		if s[0] < to && from < s[1] || from == to && s[0] <= from && from < s[1] {
			return true
		}
	}
	return false
}

// between is the station at a time from position i−1 to position i: the cubic through both with the speeds there, which are cut so
// that it does not fall (Fritsch and Carlson).
func (q *Placed) between(i int, timeS float64) float64 {
	h := q.TimeS[i] - q.TimeS[i-1]
	rise := q.StationM[i] - q.StationM[i-1]
	a, b := min(max(q.SpeedMS[i-1]*h, 0), 3*rise), min(max(q.SpeedMS[i]*h, 0), 3*rise)
	x := (timeS - q.TimeS[i-1]) / h
	return q.StationM[i-1] + x*(a+x*(3*rise-2*a-b+x*(a+b-2*rise)))
}

// TimeAt returns when the run passed a station, and the standard uncertainty of it: that of the position along the line over the speed. Where
// the run stood there, it is the middle of the stand. ok is false where the run was not seen to pass.
func (q *Placed) TimeAt(stationM float64) (timeS, sigmaS float64, ok bool) {
	c, ok := q.crossing(stationM)
	return c.timeS, c.sigmaM / c.speedMS, ok
}

// A crossing is the passing of a station.
type crossing struct {
	timeS, speedMS, sigmaM float64
	at                     int // index of the first position at or after it
}

func (q *Placed) crossing(stationM float64) (crossing, bool) {
	n := len(q.StationM)
	i := sort.SearchFloat64s(q.StationM, stationM)                            // first at or after it
	j := sort.Search(n, func(k int) bool { return q.StationM[k] > stationM }) // first after it
	a, b := max(0, i-1), min(j, n-1)
	if i == n || j == 0 || a == b || q.off(q.TimeS[a], q.TimeS[b]) {
		return crossing{speedMS: slowestMS}, false
	}
	c := crossing{at: i, sigmaM: q.SigmaM[i], speedMS: max(slowestMS, (q.StationM[b]-q.StationM[a])/(q.TimeS[b]-q.TimeS[a]))}
	if j > i { // one or more positions are just there
		c.timeS = (q.TimeS[i] + q.TimeS[j-1]) / 2
		return c, true
	}
	lo, hi := q.TimeS[i-1], q.TimeS[i]
	for range 50 {
		if mid := (lo + hi) / 2; q.between(i, mid) < stationM {
			lo = mid
		} else {
			hi = mid
		}
	}
	c.timeS = (lo + hi) / 2
	return c, true
}

// slowestMS keeps the uncertainty of a time finite where a run stood.
const slowestMS = 0.1
