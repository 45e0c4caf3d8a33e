package trail

import (
	"cmp"
	"math"
	"slices"
)

// A node is a point of a run, with what matching needs to know about it.
type node struct {
	index  int     // in the Path
	e, n   float64 // m
	de, dn float64 // unit direction of travel, 0, 0 where not known
	goneM  float64 // ridden since the node before
	cut    bool    // reception was lost since then, so goneM says nothing
}

// nodeM is the distance between nodes.
const nodeM = 4.0

// nodesOf thins a run to one point every few metres, and keeps both sides of a loss of reception.
func nodesOf(p *Path) []node {
	var out []node
	last := -1
	for i := range p.TimeS {
		cut := i > 0 && p.Piece[i] != p.Piece[i-1]
		before := i+1 < len(p.TimeS) && p.Piece[i+1] != p.Piece[i]
		if last >= 0 && !cut && !before && i+1 < len(p.TimeS) && p.AlongM[i]-p.AlongM[last] < nodeM {
			continue
		}
		v := node{index: i, e: p.EastM[i], n: p.NorthM[i], cut: cut}
		if last >= 0 {
			v.goneM = p.AlongM[i] - p.AlongM[last]
		}
		out = append(out, v)
		last = i
	}
	for i := range out {
		a, b := i, i
		if i > 0 && !out[i].cut {
			a = i - 1
		}
		if i+1 < len(out) && !out[i+1].cut {
			b = i + 1
		}
		if e, n := out[b].e-out[a].e, out[b].n-out[a].n; math.Hypot(e, n) >= nodeM/2 {
			out[i].de, out[i].dn = unit(e, n)
		}
	}
	return out
}

// A matcher finds which points of a line the nodes of a run belong to: the sequence of least cost, found by a dynamic programme (after
// Viterbi). Stations do not fall along it. What costs: distance from the line, travel in another direction, and advance on the line that
// differs from the distance ridden. A node can also be off the line, at a fixed cost.
type matcher struct {
	e, n, de, dn []float64 // the line with a lead at both ends
	lead         int       // points of it before the start of the line
	step         float64
	opt          PlaceOptions
	cells        map[[2]int32][]int32
}

func newMatcher(l *Line, opt PlaceOptions) *matcher {
	lead := int(math.Ceil(leadM / l.StepM))
	size := len(l.EastM) + 2*lead
	m := &matcher{lead: lead, step: l.StepM, opt: opt, cells: map[[2]int32][]int32{},
		e: make([]float64, size), n: make([]float64, size), de: make([]float64, size), dn: make([]float64, size)}
	for j := range size {
		m.e[j], m.n[j], m.de[j], m.dn[j] = l.at(float64(j-lead) * l.StepM)
		c := m.cell(m.e[j], m.n[j])
		m.cells[c] = append(m.cells[c], int32(j))
	}
	return m
}

func (m *matcher) cell(e, n float64) [2]int32 {
	return [2]int32{int32(math.Floor(e / m.opt.MaxCrossM)), int32(math.Floor(n / m.opt.MaxCrossM))}
}

// A choice is a point of the line that a node may belong to.
type choice struct {
	at   int     // point of the line with its leads
	cost float64 // of the best way here
	from way
}

// A way says where the best way to a choice came from: a choice of an earlier node, or none.
type way struct{ node, choice int }

// start is the way of a choice with nothing before it.
func start() way { return way{-1, -1} }

// choices are the points of the line near a node, in order, each with the cost of being there.
func (m *matcher) choices(v *node) []choice {
	var out []choice
	c := m.cell(v.e, v.n)
	for de := int32(-1); de <= 1; de++ {
		for dn := int32(-1); dn <= 1; dn++ {
			for _, j := range m.cells[[2]int32{c[0] + de, c[1] + dn}] {
				off := math.Hypot(v.e-m.e[j], v.n-m.n[j])
				if off > m.opt.MaxCrossM {
					continue
				}
				cost := off * off / (2 * m.opt.CrossM * m.opt.CrossM)
				if v.de != 0 || v.dn != 0 {
					cost += m.opt.TurnCost * (1 - v.de*m.de[j] - v.dn*m.dn[j]) / 2
				}
				out = append(out, choice{int(j), cost, start()})
			}
		}
	}
	slices.SortFunc(out, func(a, b choice) int { return cmp.Compare(a.at, b.at) })
	return out
}

// An absence holds, for each point of the line, the cost of having left it there and of being off the line since.
type absence struct {
	cost []float64
	from []way
	best []way // of all points up to here, with bestCost: made anew at each node
	low  []float64
}

func (m *matcher) newAbsence() *absence {
	a := &absence{cost: make([]float64, len(m.e)), from: make([]way, len(m.e)), best: make([]way, len(m.e)), low: make([]float64, len(m.e))}
	for k := range a.cost {
		a.cost[k] = math.Inf(1)
	}
	a.cost[0], a.from[0] = 0, start() // never been on it
	return a
}

// sum finds the least cost of all points up to each.
func (a *absence) sum() {
	low, best := math.Inf(1), start()
	for k, c := range a.cost {
		if c < low {
			low, best = c, a.from[k]
		}
		a.low[k], a.best[k] = low, best
	}
}

// switchCost is that of leaving the line or coming back to it.
const switchCost = 10.0

// match returns the point of the line, counted from its start and maybe negative in the lead, for each node; ok is false where it is off.
func (m *matcher) match(nodes []node) (points []int, ok []bool) {
	lists := make([][]choice, len(nodes))
	off := m.newAbsence()
	offCost := m.opt.MaxCrossM * m.opt.MaxCrossM / (2 * m.opt.CrossM * m.opt.CrossM)
	for i := range nodes {
		lists[i] = m.choices(&nodes[i])
		off.sum()
		for c := range lists[i] {
			x := &lists[i][c]
			best, from := off.low[x.at]+switchCost, off.best[x.at]
			if i == 0 {
				best, from = 0, start()
			}
			if i > 0 {
				if cost, k := m.arrive(lists[i-1], x.at, &nodes[i]); cost < best {
					best, from = cost, way{i - 1, k}
				}
			}
			x.cost, x.from = x.cost+best, from
		}
		if i > 0 {
			for k := range lists[i-1] {
				if x := &lists[i-1][k]; x.cost+switchCost < off.cost[x.at] {
					off.cost[x.at], off.from[x.at] = x.cost+switchCost, way{i - 1, k}
				}
			}
		}
		for k := range off.cost {
			off.cost[k] += offCost
		}
	}
	return m.trace(lists, off)
}

// arrive is the least cost of coming to a point of the line from the choices of the node before, and which.
func (m *matcher) arrive(before []choice, at int, v *node) (cost float64, from int) {
	cost = math.Inf(1)
	sigma := m.opt.AdvanceM + m.opt.AdvanceShare*v.goneM
	reach := at - int(math.Ceil((v.goneM+6*sigma)/m.step))
	for k := range before {
		b := &before[k]
		if b.at > at {
			break
		}
		c := b.cost
		if v.cut {
			c++ // anywhere further on
		} else {
			if b.at < reach {
				continue
			}
			d := (float64(at-b.at)*m.step - v.goneM) / sigma
			c += d * d / 2
		}
		if c < cost {
			cost, from = c, k
		}
	}
	return cost, from
}

// trace follows the best way back.
func (m *matcher) trace(lists [][]choice, off *absence) (points []int, ok []bool) {
	points, ok = make([]int, len(lists)), make([]bool, len(lists))
	off.sum()
	if len(lists) == 0 {
		return points, ok
	}
	end := len(off.low) - 1
	best, at := off.low[end], off.best[end]
	for k := range lists[len(lists)-1] {
		if c := lists[len(lists)-1][k].cost; c <= best {
			best, at = c, way{len(lists) - 1, k}
		}
	}
	for at.node >= 0 {
		c := &lists[at.node][at.choice]
		points[at.node], ok[at.node] = c.at-m.lead, true
		at = c.from
	}
	return points, ok
}
