package trail

import "math"

// ToPlane gives a position in degrees as m east and north of the frame's origin, on the ellipsoid (height is left out of account: at
// 1000 m above it the ground is 0.016 % longer).
//
// Distance and direction from the origin are those of the line on the ellipsoid (the azimuthal equidistant projection), within 1 mm at
// 10 km. Between two other points within 10 km of the origin distances are too long by up to 0.4 mm a km, the curvature of the
// Earth. The antimeridian is a line like any other; a frame at a pole has no east.
func (f Frame) ToPlane(latDeg, lonDeg float64) (eastM, northM float64) {
	sin0, cos0 := math.Sincos(f.LatDeg * degree)
	sin1, cos1 := math.Sincos(latDeg * degree)
	sinL, cosL := math.Sincos(math.Remainder(lonDeg-f.LonDeg, 360) * degree)
	n0, n1 := normalRadius(sin0), normalRadius(sin1)
	// The chord from the origin, in axes through the Earth's centre: x towards the origin's meridian, y east of it, z north.
	x := n1*cos1*cosL - n0*cos0
	y := n1 * cos1 * sinL
	z := (1 - wgs84E2) * (n1*sin1 - n0*sin0)
	east, north, up := y, cos0*z-sin0*x, cos0*x+sin0*z
	flat := math.Hypot(east, north)
	if flat == 0 {
		return 0, 0
	}
	// Along the curve the way is longer than the chord: c(1 + c²/24R² + 3c⁴/640R⁴), R by Euler's formula for the direction.
	chord := math.Hypot(flat, up)
	cosA, sinA := north/flat, east/flat
	r := 1 / (cosA*cosA/meridianRadius(sin0) + sinA*sinA/n0)
	q := chord / r
	arc := chord * (1 + q*q/24 + 3*q*q*q*q/640)
	return arc * sinA, arc * cosA
}

// ToDegrees is the inverse of ToPlane, to 1 µm.
func (f Frame) ToDegrees(eastM, northM float64) (latDeg, lonDeg float64) {
	sin0, cos0 := math.Sincos(f.LatDeg * degree)
	perLat := meridianRadius(sin0) * degree
	perLon := max(normalRadius(sin0)*cos0, 1) * degree
	latDeg, lonDeg = f.LatDeg, f.LonDeg
	e, n := 0.0, 0.0
	for range 30 {
		latDeg += (northM - n) / perLat
		lonDeg += (eastM - e) / perLon
		if e, n = f.ToPlane(latDeg, lonDeg); math.Hypot(eastM-e, northM-n) < 1e-6 {
			break
		}
	}
	return latDeg, wrapLon(lonDeg)
}

// normalRadius and meridianRadius are the radii of curvature in m across and along the meridian.
func normalRadius(sinLat float64) float64 { return wgs84A / math.Sqrt(1-wgs84E2*sinLat*sinLat) }

func meridianRadius(sinLat float64) float64 {
	w := 1 - wgs84E2*sinLat*sinLat
	return wgs84A * (1 - wgs84E2) / (w * math.Sqrt(w))
}

// wrapLon brings a longitude to −180 … under 180.
func wrapLon(deg float64) float64 {
	deg = math.Remainder(deg, 360)
	if deg >= 180 {
		deg -= 360
	}
	return deg
}
