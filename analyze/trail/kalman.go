package trail

import "math"

// The state of a rider on the plane, for each of the axes east and north: position, velocity, acceleration and the receiver's slow
// error, in m and s.
const (
	stPos = iota
	stVel
	stAcc
	stWander
	axisN  // states of an axis; those of north follow those of east
	stateN = 2 * axisN
)

type (
	vector [stateN]float64
	matrix [stateN]vector
)

// A motion is the model that the smoother works with. The acceleration of each axis and the receiver's slow error (its wander) are
// first-order Gauss–Markov processes: the model of Singer (IEEE Trans. Aerospace and Electronic Systems 6, 1970) with a wander.
type motion struct {
	accelMS2, accelS float64 // standard deviation and correlation time of the acceleration
	wanderM, wanderS float64 // of the wander of one coordinate
}

// A transition is the model over a step of time: x ← Fx + noise. F and the noise are the same for both axes.
type transition struct {
	pv, pa, va, aa, bb float64
	noise              [axisN][axisN]float64
}

func (m motion) over(dt float64) transition {
	a := 1 / m.accelS
	x := a * dt
	e := math.Exp(-x)
	t := transition{pv: dt, va: (1 - e) / a, aa: e, bb: math.Exp(-dt / m.wanderS)}
	t.pa = (x - 1 + e) / (a * a)
	q := 2 * a * m.accelMS2 * m.accelMS2
	n := &t.noise
	if x < 0.02 { // the closed form cancels; white jerk is its limit
		t.pa = dt * dt / 2 * (1 - x/3)
		n[stPos][stPos], n[stPos][stVel], n[stPos][stAcc] = math.Pow(dt, 5)/20, math.Pow(dt, 4)/8, dt*dt*dt/6
		n[stVel][stVel], n[stVel][stAcc], n[stAcc][stAcc] = dt*dt*dt/3, dt*dt/2, dt
	} else {
		n[stPos][stPos] = (1 - e*e + 2*x + 2*x*x*x/3 - 2*x*x - 4*x*e) / (2 * math.Pow(a, 5))
		n[stPos][stVel] = (e*e + 1 - 2*e + 2*x*e - 2*x + x*x) / (2 * math.Pow(a, 4))
		n[stPos][stAcc] = (1 - e*e - 2*x*e) / (2 * a * a * a)
		n[stVel][stVel] = (4*e - 3 - e*e + 2*x) / (2 * a * a * a)
		n[stVel][stAcc] = (e*e + 1 - 2*e) / (2 * a * a)
		n[stAcc][stAcc] = (1 - e*e) / (2 * a)
	}
	for i := range stWander {
		for j := i; j < stWander; j++ {
			n[i][j] *= q
			n[j][i] = n[i][j]
		}
	}
	n[stWander][stWander] = m.wanderM * m.wanderM * (1 - t.bb*t.bb)
	return t
}

// state applies F to x.
func (t *transition) state(x *vector) {
	for o := 0; o < stateN; o += axisN {
		x[o+stPos] += t.pv*x[o+stVel] + t.pa*x[o+stAcc]
		x[o+stVel] += t.va * x[o+stAcc]
		x[o+stAcc] *= t.aa
		x[o+stWander] *= t.bb
	}
}

// costate applies the transpose of F to x.
func (t *transition) costate(x *vector) {
	for o := 0; o < stateN; o += axisN {
		x[o+stAcc] = t.pa*x[o+stPos] + t.va*x[o+stVel] + t.aa*x[o+stAcc]
		x[o+stVel] += t.pv * x[o+stPos]
		x[o+stWander] *= t.bb
	}
}

// both applies f to the columns of the symmetric matrix p and then to its rows: with f = F it gives FpFᵀ.
func both(p *matrix, f func(*vector)) {
	for range 2 {
		for i := range p {
			f(&p[i])
		}
		for i := range p {
			for j := range i {
				p[i][j], p[j][i] = p[j][i], p[i][j]
			}
		}
	}
}

// A scalar is one number measured: z = c₁x[i₁] + c₂x[i₂] + noise of variance r.
type scalar struct {
	i1, i2 int
	c1, c2 float64
	z, r   float64
}

// An update is what a scalar did: its innovation y, the innovation's variance s and the gain k.
type update struct {
	scalar
	y, s float64
	k    vector
}

// An epoch is a moment of the path: of a fix, or in between.
type epoch struct {
	timeS    float64
	fix      int      // of the track, -1 where there is none
	measured []scalar // positions first
	updates  []update
	trust    bool // false where the fix was an outlier
	// after the updates, and the rows of the covariance that the smoother needs
	x    vector
	rows [4]vector // of position and velocity east, position and velocity north
}

var smoothedRows = [4]int{stPos, stVel, axisN + stPos, axisN + stVel}

// An estimate is the smoothed state at an epoch: position and velocity with their covariances (east, north, both).
type estimate struct {
	x      vector
	posVar [3]float64 // m²
	velVar [3]float64 // m²/s²
}

// gateSigmas is how many standard deviations a position may be from where it is expected; for longer than distrustS at a time
// nothing is taken for outliers, since then it is the expectation that is wrong.
const (
	gateSigmas = 5
	distrustS  = 3
)

// forward runs the Kalman filter and returns the logarithm of the likelihood of the positions and speeds measured, constants left out.
func (m motion) forward(epochs []epoch, x vector, p matrix) (logLikelihood float64) {
	last := epochs[0].timeS // of a fix that was believed
	for k := range epochs {
		e := &epochs[k]
		if k > 0 {
			t := m.over(e.timeS - epochs[k-1].timeS)
			t.state(&x)
			both(&p, t.state)
			for o := 0; o < stateN; o += axisN {
				for i := range axisN {
					for j := range axisN {
						p[o+i][o+j] += t.noise[i][j]
					}
				}
			}
		}
		e.updates, e.trust = e.updates[:0], true
		if len(e.measured) > 0 && k > 0 && e.timeS-last <= distrustS && !plausiblePosition(&x, &p, e.measured) {
			e.trust = false
			logLikelihood -= gateSigmas * gateSigmas
		} else {
			for _, z := range e.measured {
				u := z.update(&x, &p)
				logLikelihood -= (u.y*u.y/u.s + math.Log(u.s)) / 2
				e.updates = append(e.updates, u)
			}
			if len(e.measured) > 0 {
				last = e.timeS
			}
		}
		e.x = x
		for i, row := range smoothedRows {
			e.rows[i] = p[row]
		}
	}
	return logLikelihood
}

// plausiblePosition tells whether the first two scalars, east and north, are within the gate.
func plausiblePosition(x *vector, p *matrix, measured []scalar) bool {
	sum := 0.0
	for _, z := range measured[:2] {
		y := z.z - z.c1*x[z.i1] - z.c2*x[z.i2]
		s := z.r + z.c1*z.c1*p[z.i1][z.i1] + 2*z.c1*z.c2*p[z.i1][z.i2] + z.c2*z.c2*p[z.i2][z.i2]
		sum += y * y / s
	}
	return sum <= gateSigmas*gateSigmas
}

// update takes one scalar into x and its covariance p.
func (z scalar) update(x *vector, p *matrix) update {
	u := update{scalar: z}
	var ph vector
	for i := range ph {
		ph[i] = z.c1*p[i][z.i1] + z.c2*p[i][z.i2]
	}
	u.y = z.z - z.c1*x[z.i1] - z.c2*x[z.i2]
	u.s = z.c1*ph[z.i1] + z.c2*ph[z.i2] + z.r
	for i := range ph {
		u.k[i] = ph[i] / u.s
		x[i] += u.k[i] * u.y
	}
	for i := range ph {
		for j := range ph {
			p[i][j] -= u.k[i] * ph[j]
		}
	}
	return u
}

// backward is the fixed-interval smoother in the form of Bryson and Frazier as modified by Bierman (IEEE CDC 1973), which needs no
// inverse. It gives what the Rauch–Tung–Striebel form gives.
func (m motion) backward(epochs []epoch) []estimate {
	out := make([]estimate, len(epochs))
	var l vector
	var ll matrix
	for k := len(epochs) - 1; k >= 0; k-- {
		e := &epochs[k]
		out[k] = e.smoothed(&l, &ll)
		for i := len(e.updates) - 1; i >= 0; i-- {
			e.updates[i].back(&l, &ll)
		}
		if k > 0 {
			t := m.over(e.timeS - epochs[k-1].timeS)
			t.costate(&l)
			both(&ll, t.costate)
		}
	}
	return out
}

// smoothed corrects the filtered state by what came later.
func (e *epoch) smoothed(l *vector, ll *matrix) estimate {
	out := estimate{x: e.x}
	var lr [4]vector // Λ times the rows
	for i, row := range smoothedRows {
		r := &e.rows[i]
		for j := range r {
			out.x[row] -= r[j] * l[j]
			for n := range r {
				lr[i][j] += ll[j][n] * r[n]
			}
		}
	}
	covariance := func(i, j int) float64 {
		c := e.rows[i][smoothedRows[j]]
		for n := range lr[j] {
			c -= e.rows[i][n] * lr[j][n]
		}
		return c
	}
	out.posVar = [3]float64{covariance(0, 0), covariance(2, 2), covariance(0, 2)}
	out.velVar = [3]float64{covariance(1, 1), covariance(3, 3), covariance(1, 3)}
	return out
}

// back takes λ and Λ over the update, against time: λ ← (I−KH)ᵀλ − Hᵀy/s, Λ ← (I−KH)ᵀΛ(I−KH) + HᵀH/s.
func (u *update) back(l *vector, ll *matrix) {
	clear := func(v *vector) {
		kv := 0.0
		for i := range v {
			kv += u.k[i] * v[i]
		}
		v[u.i1] -= u.c1 * kv
		v[u.i2] -= u.c2 * kv
	}
	clear(l)
	l[u.i1] -= u.c1 * u.y / u.s
	l[u.i2] -= u.c2 * u.y / u.s
	both(ll, clear)
	ll[u.i1][u.i1] += u.c1 * u.c1 / u.s
	ll[u.i1][u.i2] += u.c1 * u.c2 / u.s
	ll[u.i2][u.i1] += u.c1 * u.c2 / u.s
	ll[u.i2][u.i2] += u.c2 * u.c2 / u.s
}
