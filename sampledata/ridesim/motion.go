package ridesim

import "math"

// motion is the state of the quarter car: heights in m (up) and speeds in m/s of the sprung and unsprung mass, and
// the deflection in m of the friction element. zs = zu means zero travel.
type motion struct {
	zs, vs, zu, vu, slip float64
}

func (m motion) plus(d motion, h float64) motion {
	return motion{m.zs + h*d.zs, m.vs + h*d.vs, m.zu + h*d.zu, m.vu + h*d.vu, m.slip + h*d.slip}
}

// input is what acts on the front end at one instant.
type input struct {
	road     float64 // height of the road under the wheel, m
	roadRate float64 // its rate of change, m/s
	gravity  float64 // apparent gravity, m/s²
	load     float64 // extra vertical load on the sprung mass, N
}

// system holds the fork with what is constant over a ride worked out once.
type system struct {
	Fork
	sinA      float64
	stickRate float64 // N/m of the friction element while it sticks
	stickDamp float64 // N·s/m, damps the sticking element only
}

func newSystem(f Fork) system {
	s := system{Fork: f, sinA: f.sin()}
	if f.FrictionN > 0 {
		s.stickRate = f.FrictionN / f.FrictionSlipM
		// Half critical damping of the unsprung mass on the sticking element: enough to kill its ringing. The force stays
		// within ±FrictionN whatever it is.
		s.stickDamp = math.Sqrt(s.stickRate * f.UnsprungKg)
	}
	return s
}

// travel returns travel in m and stanchion velocity in m/s.
func (s *system) travel(m motion) (x, v float64) {
	return (m.zu - m.zs) / s.sinA, (m.vu - m.vs) / s.sinA
}

// tyreForce is the wheel load in N.
func (s *system) tyreForce(m motion, in input) float64 {
	return s.Tyre.force(in.road-m.zu, in.roadRate-m.vu)
}

// derivative is the right-hand side of the equations of motion.
func (s *system) derivative(m motion, in input) motion {
	x, v := s.travel(m)
	f := s.Spring.ForceN(x) + s.Damper.ForceN(v) +
		s.BumpStop.force(x-s.BumpStartM, v) - s.TopOut.force(-x, -v)
	slipRate := 0.0
	if s.FrictionN > 0 {
		f += clamp(s.stickRate*m.slip+s.stickDamp*v, s.FrictionN)
		if (m.slip < s.FrictionSlipM || v < 0) && (m.slip > -s.FrictionSlipM || v > 0) {
			slipRate = v
		}
	}
	vertical := f / s.sinA
	return motion{
		zs: m.vs, vs: (vertical-in.load)/s.SprungKg - in.gravity,
		zu: m.vu, vu: (s.tyreForce(m, in)-vertical)/s.UnsprungKg - in.gravity,
		slip: slipRate,
	}
}

// step advances the state by h seconds with the classical fourth-order Runge–Kutta method. The inputs are those
// at the beginning, in the middle and at the end of the step.
func (s *system) step(m motion, h float64, begin, middle, end input) motion {
	k1 := s.derivative(m, begin)
	k2 := s.derivative(m.plus(k1, h/2), middle)
	k3 := s.derivative(m.plus(k2, h/2), middle)
	k4 := s.derivative(m.plus(k3, h), end)
	m = m.plus(k1, h/6).plus(k2, h/3).plus(k3, h/3).plus(k4, h/6)
	m.slip = clamp(m.slip, s.FrictionSlipM)
	return m
}

// atRest is the state of equilibrium on a road of height h under apparent gravity g, friction relaxed.
func (s *system) atRest(h, g float64) motion {
	zu := h - (s.SprungKg+s.UnsprungKg)*g/s.Tyre.Rate
	return motion{zs: zu - s.sinA*s.TravelAtLoad(s.SprungKg*g*s.sinA), zu: zu}
}

// falling is the state of a front end that has hung in free fall for long: at height above the road, at rest, with the
// spring held by the top-out stop.
func (s *system) falling(height float64) motion {
	return motion{zs: height - s.sinA*s.TravelAtLoad(0), zu: height}
}
