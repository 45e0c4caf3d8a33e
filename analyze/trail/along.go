package trail

import "math"

// The state of a run along a reference line: station, speed and acceleration along it, and the receiver's slow error against the line, east and north.
const (
	alStation = iota
	alSpeed
	alAccel
	alEast
	alNorth
	alongN
)

type (
	alongVector [alongN]float64
	alongMatrix [alongN]alongVector
)

// AlongOptions are the model of a run along its line. They have no source but trial on simulated runs.
type AlongOptions struct {
	OwnLineM float64 `json:"own_line_m"` // how far riders' lines differ across the trail, standard deviation …
	OwnLineS float64 `json:"own_line_s"` // … and for how long they differ alike
	AccelS   float64 `json:"accel_s"`    // correlation time of the acceleration along the line
	Rounds   int     `json:"rounds"`     // of projecting the fixes on the line at the stations found
}

// DefaultAlongOptions are for riders of mountain bikes.
func DefaultAlongOptions() AlongOptions {
	return AlongOptions{OwnLineM: 0.4, OwnLineS: 2, AccelS: 1, Rounds: 3}
}

// An alongMeasure is one number measured: z = h·x + noise of variance r.
type alongMeasure struct {
	h    alongVector
	z, r float64
}

// An alongStep is one moment of a run: what was measured, the estimates before and after, and what the smoother made of them.
type alongStep struct {
	at              int // index in the Path
	timeS           float64
	measured        []alongMeasure
	before, after   alongVector
	pBefore, pAfter alongMatrix
	move            alongMatrix // from the step before
	x               alongVector // smoothed
	p               alongMatrix
	gain            alongMatrix // of the smoother, to the step after
}

// An alongTrack is a run along its line as one process: of its stations it knows not only how uncertain they are but how far they err alike.
//
// The speed that a receiver measures tells how station follows upon station; its positions, laid on the line in the direction of the line and not of the
// fixes, tell where it all lies. A slow error of the receiver then moves a run as a whole rather than stretching it. The acceleration is a first-order
// Gauss–Markov process (Singer, IEEE Trans. Aerospace and Electronic Systems 6, 1970), the slow error another for each coordinate. The estimate is
// Kalman's filter with the smoother of Rauch, Tung and Striebel (AIAA Journal 3, 1965).
type alongTrack struct {
	steps []alongStep
	of    []int // step of each index of the Path, −1 where there is none
}

// along estimates the stations of a run from a first guess; on tells which of its positions are on the line. The guess is replaced.
func (l *Line) along(p *Path, station []float64, on []bool, opt AlongOptions) *alongTrack {
	a := &alongTrack{of: make([]int, len(p.TimeS))}
	for i := range p.TimeS {
		a.of[i] = -1
		if on[i] {
			a.of[i] = len(a.steps)
			a.steps = append(a.steps, alongStep{at: i, timeS: p.TimeS[i]})
		}
	}
	m := motion{accelMS2: 1.5, accelS: opt.AccelS, wanderM: p.WanderM, wanderS: p.WanderS}
	for round := range max(1, opt.Rounds) {
		a.measure(l, p, station, opt)
		if round == 0 {
			m = a.likeliest(m)
		}
		a.forward(m, a.steps)
		a.backward()
		for k := range a.steps {
			station[a.steps[k].at] = a.steps[k].x[alStation]
		}
	}
	return a
}

// measure lays the fixes on the line at the stations given.
func (a *alongTrack) measure(l *Line, p *Path, station []float64, opt AlongOptions) {
	for k := range a.steps {
		a.steps[k].measured = a.steps[k].measured[:0]
		if i := a.steps[k].at; p.SpeedMS[i] == 0 { // standing
			a.steps[k].add(alongVector{alSpeed: 1}, 0, standMS*standMS)
		}
	}
	white := p.NoiseM * p.NoiseM
	own := opt.OwnLineM * opt.OwnLineM * max(1, 2*opt.OwnLineS*p.RateHz) // as much as if it were new with each fix
	for _, f := range p.Fixes {
		if a.of[f.At] < 0 {
			continue
		}
		s := &a.steps[a.of[f.At]]
		e, n, de, dn := l.at(station[f.At])
		east, north := f.EastM-e, f.NorthM-n
		s.add(alongVector{alStation: 1, alEast: de, alNorth: dn}, station[f.At]+east*de+north*dn, white)
		s.add(alongVector{alEast: dn, alNorth: -de}, east*dn-north*de, white+own)
		if !math.IsNaN(f.SpeedMS) && p.SpeedMS[f.At] > 0 {
			s.add(alongVector{alSpeed: 1}, f.SpeedMS, p.SpeedSigmaMS*p.SpeedSigmaMS)
		}
	}
}

func (s *alongStep) add(h alongVector, z, r float64) {
	s.measured = append(s.measured, alongMeasure{h, z, r})
}

// likeliest takes the acceleration, then the slow error, under which what was measured is likeliest.
func (a *alongTrack) likeliest(m motion) motion {
	var steps []alongStep // those with something measured
	for _, s := range a.steps {
		if len(s.measured) > 0 {
			steps = append(steps, s)
		}
	}
	if len(steps) == 0 {
		return m
	}
	choose := func(value *float64, enough float64, candidates ...float64) {
		best, most := *value, a.forward(m, steps)+enough
		for _, v := range candidates {
			*value = v
			if likely := a.forward(m, steps); likely > most {
				best, most = v, likely
			}
		}
		*value = best
	}
	choose(&m.accelMS2, 0, 0.3, 0.5, 0.8, 1.2, 2, 3)
	choose(&m.wanderM, 1, 0.05, 0.15, 0.3, 0.6, 1, 1.5, 2, 3, 4.5, 7)
	return m
}

// forward runs the filter over the steps and returns the logarithm of the likelihood of what was measured, constants left out.
func (a *alongTrack) forward(m motion, steps []alongStep) (logLikelihood float64) {
	var x alongVector
	var p alongMatrix
	p[alStation][alStation], p[alSpeed][alSpeed], p[alAccel][alAccel] = 1e8, 225, m.accelMS2*m.accelMS2
	p[alEast][alEast], p[alNorth][alNorth] = m.wanderM*m.wanderM, m.wanderM*m.wanderM
	for k := range steps {
		s := &steps[k]
		if k > 0 {
			t := m.over(s.timeS - steps[k-1].timeS)
			s.move = alongMove(&t)
			x, p = s.move.times(&x), s.move.around(&p)
			for i := range alEast {
				for j := range alEast {
					p[i][j] += t.noise[i][j]
				}
			}
			p[alEast][alEast] += t.noise[stWander][stWander]
			p[alNorth][alNorth] += t.noise[stWander][stWander]
		}
		s.before, s.pBefore = x, p
		for i := range s.measured {
			logLikelihood += s.measured[i].take(&x, &p)
		}
		s.after, s.pAfter = x, p
	}
	return logLikelihood
}

// alongMove is the model over a step of time as a matrix.
func alongMove(t *transition) alongMatrix {
	return alongMatrix{
		{alStation: 1, alSpeed: t.pv, alAccel: t.pa},
		{alSpeed: 1, alAccel: t.va},
		{alAccel: t.aa},
		{alEast: t.bb},
		{alNorth: t.bb},
	}
}

// take takes one number into x and its covariance p and returns the logarithm of its likelihood. One that is further off than gateSigmas counts only as much
// as if it were that far.
func (m *alongMeasure) take(x *alongVector, p *alongMatrix) float64 {
	var ph alongVector
	y, s := m.z, m.r
	for i := range ph {
		for j := range m.h {
			ph[i] += p[i][j] * m.h[j]
		}
	}
	for i := range ph {
		y -= m.h[i] * x[i]
		s += m.h[i] * ph[i]
	}
	s = max(s, y*y/(gateSigmas*gateSigmas))
	for i := range ph {
		x[i] += ph[i] / s * y
		for j := range ph {
			p[i][j] -= ph[i] * ph[j] / s
		}
	}
	return -(y*y/s + math.Log(s)) / 2
}

// backward is the smoother.
func (a *alongTrack) backward() {
	for k := len(a.steps) - 1; k >= 0; k-- {
		s := &a.steps[k]
		s.x, s.p = s.after, s.pAfter
		if k+1 == len(a.steps) {
			continue
		}
		next := &a.steps[k+1]
		// gain = P Fᵀ (P⁻)⁻¹: as P⁻ is symmetric, its rows solve P⁻ gᵀ = F P.
		fp := next.move.product(&s.pAfter)
		s.gain = next.pBefore.solve(&fp).transposed()
		var dx alongVector
		var dp alongMatrix
		for i := range dx {
			dx[i] = next.x[i] - next.before[i]
			for j := range dx {
				dp[i][j] = next.p[i][j] - next.pBefore[i][j]
			}
		}
		dx, dp = s.gain.times(&dx), s.gain.around(&dp)
		for i := range dx {
			s.x[i] += dx[i]
			for j := range dx {
				s.p[i][j] += dp[i][j]
			}
		}
	}
}

// covariances are those in m² of the station at an index of the Path with the stations at it and at all later ones, by index less from; NaN where there is
// no estimate.
func (a *alongTrack) covariances(from int) []float64 {
	out := make([]float64, len(a.of)-from)
	row := alongVector{alStation: 1} // of the product of the gains
	last := a.of[from]
	for i := range out {
		k := a.of[from+i]
		if last < 0 || k < 0 {
			out[i] = math.NaN()
			continue
		}
		for ; last < k; last++ {
			var next alongVector
			for c := range next {
				for r := range row {
					next[c] += row[r] * a.steps[last].gain[r][c]
				}
			}
			row = next
		}
		for c := range row {
			out[i] += row[c] * a.steps[k].p[c][alStation]
		}
	}
	return out
}
