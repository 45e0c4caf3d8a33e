package trail

import "math"

// The WGS84 ellipsoid (NIMA TR8350.2, table 3.1).
const (
	wgs84A  = 6378137.0             // m, equatorial radius
	wgs84F  = 1 / 298.257223563     // flattening
	wgs84B  = wgs84A * (1 - wgs84F) // m, polar radius
	wgs84E2 = wgs84F * (2 - wgs84F) // first eccentricity squared
	// meanRadiusM is the mean radius of the ellipsoid (2a+b)/3, for the sphere that takes its place near antipodes.
	meanRadiusM = (2*wgs84A + wgs84B) / 3
)

const degree = math.Pi / 180

// DistanceM is the length in m of the shortest line on the WGS84 ellipsoid between two positions in degrees, by Vincenty's
// inverse formula (Survey Review 23, 1975), which is within 0.5 mm. Between positions that are nearly opposite on the globe the
// formula does not settle; the distance on the sphere, within 0.6 %, is returned then.
func DistanceM(lat1, lon1, lat2, lon2 float64) float64 {
	if m, ok := vincenty(lat1, lon1, lat2, lon2, wgs84A, wgs84F); ok {
		return m
	}
	return haversine(lat1, lon1, lat2, lon2, meanRadiusM)
}

// vincenty is the inverse formula on an ellipsoid of equatorial radius a in m and flattening f.
func vincenty(lat1, lon1, lat2, lon2, a, f float64) (m float64, ok bool) {
	l := math.Remainder(lon2-lon1, 360) * degree
	u1, u2 := math.Atan((1-f)*math.Tan(lat1*degree)), math.Atan((1-f)*math.Tan(lat2*degree))
	sin1, cos1 := math.Sincos(u1)
	sin2, cos2 := math.Sincos(u2)
	lambda := l
	for range 100 {
		sinL, cosL := math.Sincos(lambda)
		sinS := math.Hypot(cos2*sinL, cos1*sin2-sin1*cos2*cosL)
		cosS := sin1*sin2 + cos1*cos2*cosL
		if sinS == 0 {
			return 0, cosS > 0
		}
		sigma := math.Atan2(sinS, cosS)
		sinA := cos1 * cos2 * sinL / sinS
		cos2A := 1 - sinA*sinA
		mid := 0.0 // cos 2σm, 0 along the equator
		if cos2A > 0 {
			mid = cosS - 2*sin1*sin2/cos2A
		}
		c := f / 16 * cos2A * (4 + f*(4-3*cos2A))
		next := l + (1-c)*f*sinA*(sigma+c*sinS*(mid+c*cosS*(2*mid*mid-1)))
		if math.Abs(next) > math.Pi {
			return 0, false
		}
		if math.Abs(next-lambda) < 1e-12 {
			b := a * (1 - f)
			u := cos2A * (a*a - b*b) / (b * b)
			k1 := 1 + u/16384*(4096+u*(u*(320-175*u)-768))
			k2 := u / 1024 * (256 + u*(u*(74-47*u)-128))
			delta := k2 * sinS * (mid + k2/4*(cosS*(2*mid*mid-1)-k2/6*mid*(4*sinS*sinS-3)*(4*mid*mid-3)))
			return b * k1 * (sigma - delta), true
		}
		lambda = next
	}
	return 0, false
}

// haversine is the distance on a sphere of the given radius.
func haversine(lat1, lon1, lat2, lon2, radiusM float64) float64 {
	s1, s2 := math.Sin((lat2-lat1)*degree/2), math.Sin((lon2-lon1)*degree/2)
	h := s1*s1 + math.Cos(lat1*degree)*math.Cos(lat2*degree)*s2*s2
	return 2 * radiusM * math.Asin(math.Sqrt(min(1, h)))
}
