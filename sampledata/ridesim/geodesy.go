package ridesim

import "math"

// The WGS84 ellipsoid (NIMA TR8350.2): semi-major axis in m and flattening. They are written here on purpose and not shared with
// the analysis: the simulator is the outside truth that the analysis is checked against.
const (
	wgs84A = 6378137.0
	wgs84F = 1 / 298.257223563
	wgs84E = wgs84F * (2 - wgs84F) // first eccentricity squared
)

// A Place is a point on or above the WGS84 ellipsoid.
type Place struct {
	LatDeg float64 // −90 to 90
	LonDeg float64 // −180 to under 180
	EleM   float64 // above the ellipsoid
}

// vector is earth-centred and earth-fixed: x through 0° N 0° E, y through 0° N 90° E, z through the north pole; m.
type vector struct{ x, y, z float64 }

// primeVertical is N, the radius of curvature across the meridian, in m.
func primeVertical(sinLat float64) float64 {
	return wgs84A / math.Sqrt(1-wgs84E*sinLat*sinLat)
}

// ecef is the place in earth-centred coordinates (closed form).
func (p Place) ecef() vector {
	sinLat, cosLat := math.Sincos(p.LatDeg * math.Pi / 180)
	sinLon, cosLon := math.Sincos(p.LonDeg * math.Pi / 180)
	n := primeVertical(sinLat)
	return vector{
		(n + p.EleM) * cosLat * cosLon,
		(n + p.EleM) * cosLat * sinLon,
		(n*(1-wgs84E) + p.EleM) * sinLat,
	}
}

// place is the inverse of ecef, by iteration on the latitude until it stands still. Good near the ground; not at the earth's centre.
func (v vector) place() Place {
	p := math.Hypot(v.x, v.y)
	lat := math.Atan2(v.z, p*(1-wgs84E))
	for range 12 {
		sinLat := math.Sin(lat)
		next := math.Atan2(v.z+wgs84E*primeVertical(sinLat)*sinLat, p)
		if next == lat {
			break
		}
		lat = next
	}
	sinLat, cosLat := math.Sincos(lat)
	return Place{
		LatDeg: lat * 180 / math.Pi,
		LonDeg: wrapLon(math.Atan2(v.y, v.x) * 180 / math.Pi),
		EleM:   p*cosLat + v.z*sinLat - wgs84A*math.Sqrt(1-wgs84E*sinLat*sinLat),
	}
}

// wrapLon brings a longitude in degrees into −180 to under 180.
func wrapLon(deg float64) float64 {
	if deg >= -180 && deg < 180 {
		return deg
	}
	return deg - 360*math.Floor((deg+180)/360)
}

// plane is the tangent plane at a place: axes east and north in it, up out of it.
type plane struct {
	origin          vector
	east, north, up vector
}

func newPlane(at Place) plane {
	sinLat, cosLat := math.Sincos(at.LatDeg * math.Pi / 180)
	sinLon, cosLon := math.Sincos(at.LonDeg * math.Pi / 180)
	return plane{
		origin: at.ecef(),
		east:   vector{-sinLon, cosLon, 0},
		north:  vector{-sinLat * cosLon, -sinLat * sinLon, cosLat},
		up:     vector{cosLat * cosLon, cosLat * sinLon, sinLat},
	}
}

// place is the point that lies e m east and n m north in the plane, and there at the height ele m above the ellipsoid. Dropping it
// from the plane to that height shortens nothing by more than the share height/earth radius.
func (p plane) place(e, n, ele float64) Place {
	at := vector{
		p.origin.x + e*p.east.x + n*p.north.x,
		p.origin.y + e*p.east.y + n*p.north.y,
		p.origin.z + e*p.east.z + n*p.north.z,
	}.place()
	at.EleM = ele
	return at
}

// enu is where a place lies from the plane's origin, in m east, north and up.
func (p plane) enu(at Place) (e, n, u float64) {
	v := at.ecef()
	d := vector{v.x - p.origin.x, v.y - p.origin.y, v.z - p.origin.z}
	dot := func(a vector) float64 { return a.x*d.x + a.y*d.y + a.z*d.z }
	return dot(p.east), dot(p.north), dot(p.up)
}
