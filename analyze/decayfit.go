package analyze

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// A dampedSine is x(t) = c + e^(−σt)·(a·cos ωt + b·sin ωt): the free motion of a damped oscillator about c.
// σ = ζ·ωn in 1/s, ω = ωn·√(1−ζ²) in rad/s (Rao, Mechanical Vibrations, free vibration; from memory).
type dampedSine struct {
	sigma, omega float64
	a, b, c      float64
}

func (d dampedSine) zeta() float64 { return d.sigma / math.Hypot(d.sigma, d.omega) }

func (d dampedSine) naturalHz() float64 { return math.Hypot(d.sigma, d.omega) / (2 * math.Pi) }

// Limits of the fit.
const (
	fitIterations = 60
	fitTolerance  = 1e-11 // relative change of σ and ω at which the fit has converged
	fitMaxLambda  = 1e10
)

// fitDampedSine fits a damped sinusoid with offset to samples x that are dt s apart, by least squares, starting from
// sigma and omega. It is variable projection: for given σ and ω the rest is linear and solved exactly; σ and ω move
// by Levenberg–Marquardt steps with Kaufman's Jacobian (Golub & Pereyra, Inverse Problems 19, 2003; from memory).
// r2 is 1 − (residual sum of squares)/(sum of squares about the mean). It is not ok where the samples do not
// determine the curve: fewer than 6, constant, or a degenerate start.
func fitDampedSine(x []float64, dt, sigma, omega float64) (fit dampedSine, r2 float64, ok bool) {
	n := len(x)
	if n < 6 || !(sigma >= 0) || !(omega > 0) {
		return dampedSine{}, 0, false
	}
	centre, total := sumOfSquares(x)
	if !(total > 0) {
		return dampedSine{}, 0, false
	}
	// In units of the window, so that all columns are of order 1.
	span := float64(n) * dt
	p := &projection{x: x, centre: centre, s: sigma * span, w: omega * span}
	if !p.solve() {
		return dampedSine{}, 0, false
	}
	for lambda, i := 1e-3, 0; i < fitIterations && lambda < fitMaxLambda; i++ {
		ds, dw, solved := p.step(lambda)
		next := &projection{x: x, centre: centre, s: max(0, p.s+ds), w: math.Abs(p.w + dw)}
		if !solved || !next.solve() || !(next.rss < p.rss) {
			lambda *= 10
			continue
		}
		done := math.Abs(next.s-p.s) <= fitTolerance*(1+next.s) && math.Abs(next.w-p.w) <= fitTolerance*(1+next.w)
		p, lambda = next, max(lambda/10, 1e-12)
		if done {
			break
		}
	}
	fit = dampedSine{sigma: p.s / span, omega: p.w / span, a: p.a, b: p.b, c: p.c + centre}
	return fit, 1 - p.rss/total, fit.omega > 0
}

// A projection is the fit with σ and ω given: s and w are σ and ω times the window.
type projection struct {
	x       []float64
	centre  float64 // mean of x
	s, w    float64
	a, b, c float64 // c is over the centre
	rss     float64 // residual sum of squares
}

// each calls f with the time (in windows), the residual and the two basis functions at every sample.
func (p *projection) each(f func(t, x, e1, e2 float64)) {
	h := 1 / float64(len(p.x))
	decay := math.Exp(-p.s * h)
	qr, qi := decay*math.Cos(p.w*h), decay*math.Sin(p.w*h)
	e1, e2 := 1.0, 0.0
	for k, x := range p.x {
		f(float64(k)*h, x-p.centre, e1, e2)
		e1, e2 = e1*qr-e2*qi, e1*qi+e2*qr
	}
}

// solve finds a, b, c and the residual sum of squares.
func (p *projection) solve() bool {
	var g [6]float64 // 11 12 1c 22 2c, and x times the basis
	var y [3]float64
	p.each(func(_, x, e1, e2 float64) {
		g[0] += e1 * e1
		g[1] += e1 * e2
		g[2] += e1
		g[3] += e2 * e2
		g[4] += e2
		y[0] += e1 * x
		y[1] += e2 * x
		y[2] += x
	})
	g[5] = float64(len(p.x))
	gram := mat.NewSymDense(3, []float64{g[0], g[1], g[2], g[1], g[3], g[4], g[2], g[4], g[5]})
	var chol mat.Cholesky
	if !chol.Factorize(gram) {
		return false
	}
	var sol mat.VecDense
	if err := chol.SolveVecTo(&sol, mat.NewVecDense(3, y[:])); err != nil {
		return false
	}
	p.a, p.b, p.c = sol.AtVec(0), sol.AtVec(1), sol.AtVec(2)
	p.rss = 0
	p.each(func(_, x, e1, e2 float64) {
		d := x - p.c - p.a*e1 - p.b*e2
		p.rss += d * d
	})
	return !math.IsNaN(p.rss) && !math.IsInf(p.rss, 0)
}

// step is the Levenberg–Marquardt step of s and w. The linear parameters take part, undamped.
func (p *projection) step(lambda float64) (ds, dw float64, ok bool) {
	var g [25]float64
	var y [5]float64
	p.each(func(t, x, e1, e2 float64) {
		j := [5]float64{e1, e2, 1, -t * (p.a*e1 + p.b*e2), t * (p.b*e1 - p.a*e2)}
		d := x - p.c - p.a*e1 - p.b*e2
		for r := range j {
			y[r] += j[r] * d
			for c := r; c < len(j); c++ {
				g[5*r+c] += j[r] * j[c]
			}
		}
	})
	g[5*3+3] *= 1 + lambda
	g[5*4+4] *= 1 + lambda
	var chol mat.Cholesky
	if !chol.Factorize(mat.NewSymDense(5, g[:])) {
		return 0, 0, false
	}
	var sol mat.VecDense
	if err := chol.SolveVecTo(&sol, mat.NewVecDense(5, y[:])); err != nil {
		return 0, 0, false
	}
	return sol.AtVec(3), sol.AtVec(4), true
}

// sumOfSquares is the mean of x and the sum of squares about it; x must not be empty.
func sumOfSquares(x []float64) (centre, total float64) {
	centre = mean(x)
	for _, v := range x {
		total += (v - centre) * (v - centre)
	}
	return centre, total
}
