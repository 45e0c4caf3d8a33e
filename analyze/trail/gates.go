package trail

import (
	"fmt"
	"math"
	"sort"
)

// A GateSpec says where a gate is to be: at a station, or at a place on the ground.
type GateSpec struct {
	Name     string
	StationM float64
	OnGround bool // at LatDeg, LonDeg (WGS84) and not at StationM
	LatDeg   float64
	LonDeg   float64
}

// maxGates bounds how many gates there are.
const maxGates = 200

// PlaceGates finds the stations of gates, which must come in the order in which they are passed. A place on the ground is taken to be the nearest
// point of the line; where the line comes by more than once, the order of the gates decides. Places further than maxM from the line are refused.
func (l *Line) PlaceGates(specs []GateSpec, maxM float64) ([]Gate, error) {
	if len(specs) < 2 || len(specs) > maxGates {
		return nil, fmt.Errorf("gates: %d given, from 2 to %d are needed", len(specs), maxGates)
	}
	options := make([][]passing, len(specs))
	for i, g := range specs {
		if !g.OnGround {
			if g.StationM < 0 || g.StationM > l.LengthM() {
				return nil, fmt.Errorf("gate %s is at %.0f m, but the line goes from 0 to %.0f m", g.Name, g.StationM, l.LengthM())
			}
			options[i] = []passing{{g.StationM, 0}}
			continue
		}
		var nearest float64
		if options[i], nearest = l.passings(g.LatDeg, g.LonDeg, maxM); len(options[i]) == 0 {
			return nil, fmt.Errorf("gate %s lies %.0f m from the line; up to %.0f m are allowed", g.Name, nearest, maxM)
		}
	}
	gates := make([]Gate, len(specs))
	stations, bad := rising(options)
	if bad > 0 {
		return nil, fmt.Errorf("gate %s is not after gate %s on the line", specs[bad].Name, specs[bad-1].Name)
	}
	for i := range gates {
		gates[i] = Gate{specs[i].Name, stations[i]}
	}
	return gates, nil
}

// A passing is where the line comes by a place, and how far away.
type passing struct{ stationM, awayM float64 }

// passings finds where the line comes by a place: the nearest point of each stretch of it within maxM.
func (l *Line) passings(latDeg, lonDeg, maxM float64) (list []passing, nearest float64) {
	e, n := l.Frame.ToPlane(latDeg, lonDeg)
	nearest = math.Inf(1)
	inside := false
	for j := range len(l.EastM) - 1 {
		p := l.nearestOn(j, e, n)
		nearest = min(nearest, p.awayM)
		switch {
		case p.awayM > maxM:
			inside = false
		case !inside:
			list = append(list, p)
			inside = true
		case p.awayM < list[len(list)-1].awayM:
			list[len(list)-1] = p
		}
	}
	return list, nearest
}

// nearestOn is the point between points j and j+1 of the line that is nearest to a place.
func (l *Line) nearestOn(j int, e, n float64) passing {
	ae, an := l.EastM[j+1]-l.EastM[j], l.NorthM[j+1]-l.NorthM[j]
	f := 0.0
	if square := ae*ae + an*an; square > 0 {
		f = min(max(((e-l.EastM[j])*ae+(n-l.NorthM[j])*an)/square, 0), 1)
	}
	return passing{(float64(j) + f) * l.StepM, math.Hypot(e-l.EastM[j]-f*ae, n-l.NorthM[j]-f*an)}
}

// rising chooses one passing for each gate so that stations rise and the squares of the distances add up to least. bad is the first gate for which that
// cannot be, 0 where all is well.
func rising(options [][]passing) (stations []float64, bad int) {
	cost := make([][]float64, len(options))
	from := make([][]int, len(options))
	for i, list := range options {
		cost[i], from[i] = make([]float64, len(list)), make([]int, len(list))
		possible := false
		for k, p := range list {
			best := 0.0
			if i > 0 {
				best = math.Inf(1)
				for b, before := range options[i-1] {
					if before.stationM < p.stationM && cost[i-1][b] < best {
						best, from[i][k] = cost[i-1][b], b
					}
				}
			}
			cost[i][k] = best + p.awayM*p.awayM
			possible = possible || !math.IsInf(best, 1)
		}
		if !possible {
			return nil, i
		}
	}
	last := len(options) - 1
	k := 0
	for c := range cost[last] {
		if cost[last][c] < cost[last][k] {
			k = c
		}
	}
	stations = make([]float64, len(options))
	for i := last; i >= 0; i-- {
		stations[i] = options[i][k].stationM
		k = from[i][k]
	}
	return stations, 0
}

// EvenGates parts the line into n splits of equal length. Start and finish lie where every run rides at least fastMS: where a rider stands, the time at
// which a place was passed cannot be told. Part runs have no say in an end that they do not reach.
func (l *Line) EvenGates(placed []*Placed, n int, fastMS float64) []Gate {
	length := l.LengthM()
	from, to := 0.0, length
	for _, q := range placed {
		if first, last, ok := q.upToSpeed(length, fastMS); ok {
			if first < length/4 {
				from = max(from, first)
			}
			if last > length*3/4 {
				to = min(to, last)
			}
		}
	}
	from, to = math.Ceil(from), math.Floor(to)
	gates := make([]Gate, n+1)
	for i := range gates {
		gates[i] = Gate{fmt.Sprintf("split %d", i), from + (to-from)*float64(i)/float64(n)}
	}
	gates[0].Name, gates[n].Name = "start", "finish"
	return gates
}

// upToSpeed finds the first and the last station, within a line of the given length, at which the run is on the line and rides at least fastMS.
func (q *Placed) upToSpeed(lengthM, fastMS float64) (first, last float64, ok bool) {
	a := sort.SearchFloat64s(q.StationM, 0)
	for i := a; i < len(q.StationM) && q.StationM[i] <= lengthM; i++ {
		if i == 0 || q.SpeedMS[i] < fastMS || q.off(q.TimeS[i-1], q.TimeS[i]) {
			continue
		}
		if !ok {
			first, ok = q.StationM[i], true
			if i == a {
				first = 0 // it comes to the line at speed
			}
		}
		last = q.StationM[i]
		if i+1 < len(q.StationM) && q.StationM[i+1] > lengthM && q.SpeedMS[i+1] >= fastMS {
			last = lengthM
		}
	}
	return first, last, ok
}
