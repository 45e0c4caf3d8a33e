package ridesim

import "math"

// A Valve is one direction of a digressive damper: slope Low up to the knee speed, slope High above it.
// Low and High are in N·s/m along the stanchion, KneeMS in m/s. A linear damper has Low = High.
type Valve struct {
	Low, High float64
	KneeMS    float64
}

// force is the resisting force in N at speed ≥ 0 in m/s.
func (v Valve) force(speed float64) float64 {
	if speed <= v.KneeMS {
		return v.Low * speed
	}
	return v.Low*v.KneeMS + v.High*(speed-v.KneeMS)
}

// AtClicks is the valve with its adjuster `clicks` open from fully closed, where the receiver is the valve at
// `reference` clicks. Each click closed multiplies the low-speed slope by ratio and the high-speed slope by its square root
// (a needle mostly governs the low-speed port; that split is common practice, no source).
func (v Valve) AtClicks(clicks, reference int, ratio float64) Valve {
	k := math.Pow(ratio, float64(reference-clicks))
	return Valve{Low: v.Low * k, High: v.High * math.Sqrt(k), KneeMS: v.KneeMS}
}

// A Damper resists motion along the stanchion.
type Damper struct {
	Compression Valve
	Rebound     Valve
}

// LinearDamper has the same slope c in N·s/m both ways at every speed.
func LinearDamper(c float64) Damper {
	v := Valve{Low: c, High: c}
	return Damper{Compression: v, Rebound: v}
}

// ForceN is the force in N at stanchion velocity v in m/s; it has the sign of v.
func (d Damper) ForceN(v float64) float64 {
	if v >= 0 {
		return d.Compression.force(v)
	}
	return -d.Rebound.force(-v)
}

// LowSpeedSlope is the mean of the two low-speed slopes in N·s/m, the slope used for linearisation.
func (d Damper) LowSpeedSlope() float64 {
	return (d.Compression.atRest() + d.Rebound.atRest()) / 2
}

// atRest is the slope at speed 0.
func (v Valve) atRest() float64 {
	if v.KneeMS <= 0 {
		return v.High
	}
	return v.Low
}
