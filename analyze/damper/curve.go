package damper

import (
	"sort"

	"stanchion/ingest"
)

// A curve is force in N over velocity in mm/s, linear between points.
type curve struct {
	v, f []float64
}

// curveOf adds the origin, where no force was measured at rest: friction and gas force are not the damper's.
func curveOf(c *ingest.DamperCurve) curve {
	var out curve
	for i, p := range c.Points {
		if p.VelocityMMS > 0 && (i == 0 || c.Points[i-1].VelocityMMS < 0) {
			out.v, out.f = append(out.v, 0), append(out.f, 0)
		}
		out.v, out.f = append(out.v, p.VelocityMMS), append(out.f, p.ForceN)
	}
	return out
}

// at is the force at a velocity. Beyond the ends the last slope goes on, but never so that the force would drive the fork; inside tells
// whether the velocity was measured.
func (c *curve) at(v float64) (force float64, inside bool) {
	n := len(c.v)
	inside = v >= c.v[0] && v <= c.v[n-1]
	i := max(1, min(sort.SearchFloat64s(c.v, v), n-1))
	force = c.f[i-1] + (v-c.v[i-1])*(c.f[i]-c.f[i-1])/(c.v[i]-c.v[i-1])
	if force*v < 0 {
		force = 0
	}
	return force, inside
}
