package analyze

import (
	"math"

	"stanchion/analyze/signal"
)

// measured holds all that one pass over the riding samples yields: the counts and sums behind the travel, sag and
// velocity figures. One pass and no copy of the samples, because an hour at 1 kHz is 29 MB an array.
type measured struct {
	n      int // riding samples
	sumX   float64
	maxX   float64
	maxSeg int // where the first largest x is
	maxAt  int
	atTop  int // samples at exactly T, which belong to the last bin
	// density counts samples by travel bin and velocity bin, each with an extra bin below and above its range.
	density [][]int
	// travelled is Σ|v| by velocity bin, with the two extra bins.
	travelled []float64
	regimes   [5]int // in the order of Regimes
	side      [2]speedSide
	depth     [2]depthSide
	x, raw    sieve
}

// speedSide is about the samples of one direction that are not still.
type speedSide struct {
	n    int
	sum  float64
	max  float64
	fast sieve
}

// Directions index measured.side.
const (
	compressing = iota
	rebounding
)

// piece is a stretch of samples of segment seg.
type piece struct{ seg, lo, hi int }

// chunkSamples is the size of the pieces of work of a pass. It is fixed, not a share of the number of processors,
// so that sums are added in the same order everywhere.
const chunkSamples = 1 << 17

// chunks splits the riding time into lists of pieces of about chunkSamples each.
func (r *ride) chunks() [][]piece {
	var out [][]piece
	var now []piece
	room := chunkSamples
	for k := range r.segs {
		for _, p := range r.segs[k].ridingSpans() {
			for lo := p.lo; lo < p.hi; {
				hi := min(p.hi, lo+room)
				now = append(now, piece{k, lo, hi})
				room -= hi - lo
				lo = hi
				if room == 0 {
					out, now, room = append(out, now), nil, chunkSamples
				}
			}
		}
	}
	if len(now) > 0 {
		out = append(out, now)
	}
	return out
}

// travelBins and velocityBins are the bins of the histograms.
func (r *ride) travelBins() signal.Binner {
	return signal.Binner{First: 0, Width: r.T / travelBinCount, Bins: travelBinCount}
}

func (r *ride) velocityBins() signal.Binner {
	half := int(math.Ceil(r.opt.VelocityLimitMMS/r.opt.VelocityBinMMS - 1e-9)) // whole bins each way: an edge at 0
	return signal.Binner{First: -float64(half) * r.opt.VelocityBinMMS, Width: r.opt.VelocityBinMMS, Bins: 2 * half}
}

func (r *ride) newMeasured() *measured {
	nv := r.velocityBins().Bins + 2
	m := &measured{maxX: math.Inf(-1), density: make([][]int, travelBinCount+2), travelled: make([]float64, nv)}
	cells := make([]int, (travelBinCount+2)*nv)
	for i := range m.density {
		m.density[i] = cells[i*nv : (i+1)*nv]
	}
	// The sieves' ranges only set how fast they are: what lies outside is counted in their end bins.
	m.x, m.raw = newSieve(-r.T/2, r.T*3/2), newSieve(-r.T/2, r.T*3/2)
	for d := range m.side {
		m.side[d].fast = newSieve(0, r.opt.VelocityLimitMMS)
		m.depth[d].fast = newSieve(0, r.opt.VelocityLimitMMS)
	}
	return m
}

// measure makes the pass.
func (r *ride) measure() *measured {
	chunks := r.chunks()
	parts := make([]*measured, len(chunks))
	signal.OnAllCores(len(chunks), func() func(int) {
		return func(i int) {
			parts[i] = r.newMeasured()
			for _, p := range chunks[i] {
				parts[i].add(r, p)
			}
		}
	})
	total := r.newMeasured()
	for _, p := range parts {
		total.merge(p)
	}
	return total
}

// add counts the samples of p.
func (m *measured) add(r *ride, p piece) {
	s := &r.segs[p.seg]
	tb, vb := r.travelBins(), r.velocityBins()
	for i := p.lo; i < p.hi; i++ {
		x, v := s.x[i], s.v[i]
		m.sumX += x
		if x > m.maxX {
			m.maxX, m.maxSeg, m.maxAt = x, p.seg, i
		}
		if x == r.T {
			m.atTop++
		}
		m.x.add(x)
		m.raw.add(s.raw[i])
		speed := math.Abs(v)
		k := vb.Index(v) + 1
		m.density[tb.Index(x)+1][k]++
		m.travelled[k] += speed
		m.addDepth(r, s, i, speed)
		if speed < r.opt.StillMMS || speed == 0 {
			m.regimes[still]++
			continue
		}
		side, regime := &m.side[compressing], lowCompression
		if v < 0 {
			side, regime = &m.side[rebounding], lowRebound
		}
		if speed >= r.opt.SplitMMS {
			regime++
		}
		m.regimes[regime]++
		side.n++
		side.sum += speed
		side.max = max(side.max, speed)
		side.fast.add(speed)
	}
	m.n += p.hi - p.lo
}

// addDepth counts sample i of s for the DepthSpeeds.
func (m *measured) addDepth(r *ride, s *segment, i int, speed float64) {
	direction, ok := r.atDepth(s.x[i], s.v[i])
	if !ok {
		return
	}
	before := false
	if i > 0 {
		d, also := r.atDepth(s.x[i-1], s.v[i-1])
		before = also && d == direction
	}
	m.depth[direction].add(speed, before)
}

// merge adds the counts of p, whose samples come after those of m.
func (m *measured) merge(p *measured) {
	m.n += p.n
	m.sumX += p.sumX
	m.atTop += p.atTop
	if p.maxX > m.maxX {
		m.maxX, m.maxSeg, m.maxAt = p.maxX, p.maxSeg, p.maxAt
	}
	for i := range m.density {
		for k, n := range p.density[i] {
			m.density[i][k] += n
		}
	}
	for k, v := range p.travelled {
		m.travelled[k] += v
	}
	for k, n := range p.regimes {
		m.regimes[k] += n
	}
	for d := range m.side {
		a, b := &m.side[d], &p.side[d]
		a.n, a.sum, a.max = a.n+b.n, a.sum+b.sum, max(a.max, b.max)
		a.fast.merge(b.fast)
		m.depth[d].merge(&p.depth[d])
	}
	m.x.merge(p.x)
	m.raw.merge(p.raw)
}
