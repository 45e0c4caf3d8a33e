package ridesim

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func chord(a, b Place) float64 {
	p, q := a.ecef(), b.ecef()
	return math.Sqrt((p.x-q.x)*(p.x-q.x) + (p.y-q.y)*(p.y-q.y) + (p.z-q.z)*(p.z-q.z))
}

// along adds up chords of 0.001° (their arcs are longer by a share of 1e-11).
func along(lat0, lat1 float64) float64 {
	n := int(math.Round((lat1 - lat0) * 1000))
	sum := 0.0
	for i := range n {
		sum += chord(Place{LatDeg: lat0 + float64(i)/1000}, Place{LatDeg: lat0 + float64(i+1)/1000})
	}
	return sum
}

// Arcs of the WGS84 ellipsoid computed with GeographicLib, to the printed mm. The geodesic of 1° of longitude at 60° N is reached from its chord by
// the arc of the circle with the normal's radius of curvature across the meridian, right to 0.01 m here.
func TestArcsAgainstGeographicLib(t *testing.T) {
	degree := math.Pi / 180
	equator := 2 * wgs84A * math.Asin(chord(Place{}, Place{LonDeg: 1})/(2*wgs84A))
	n60 := primeVertical(math.Sin(60 * degree))
	sixty := 2 * n60 * math.Asin(chord(Place{LatDeg: 60}, Place{LatDeg: 60, LonDeg: 1})/(2*n60))
	for _, c := range []struct {
		name             string
		got, want, tight float64
	}{
		{"1° of longitude at the equator", equator, 111319.491, 1e-3},
		{"1° of longitude at 60° N", sixty, 55799.470, 1e-2},
		{"1° of latitude from 0°", along(0, 1), 110574.389, 1e-3},
		{"1° of latitude from 45°", along(45, 46), 111141.548, 1e-3},
		{"quarter meridian", along(0, 90), 10001965.729, 2e-3},
	} {
		if math.Abs(c.got-c.want) > c.tight {
			t.Errorf("%s: %.4f m, want %.3f", c.name, c.got, c.want)
		}
	}
}

// The example of Geoscience Australia for Vincenty's inverse formula: Flinders Peak to Buninyong, 54972.271 m at 306°52′05.37″ (GRS80, whose
// axes are those of WGS84 within 0.1 mm). The chord is shorter by d³/24R² = 0.170 m, and the azimuth of the plane's normal section differs
// from the geodesic's by less than 0.1″.
func TestPlaneAgainstPublishedLine(t *testing.T) {
	dms := func(d, m, s float64) float64 { return d + m/60 + s/3600 }
	flinders := Place{LatDeg: -dms(37, 57, 3.72030), LonDeg: dms(144, 25, 29.52440)}
	buninyong := Place{LatDeg: -dms(37, 39, 10.15610), LonDeg: dms(143, 55, 35.38390)}
	const want = 54972.271
	if got := chord(flinders, buninyong) + want*want*want/(24*6.37e6*6.37e6); math.Abs(got-want) > 0.005 {
		t.Errorf("%.4f m, want %.3f", got, want)
	}
	e, n, u := newPlane(flinders).enu(buninyong)
	azimuth := math.Mod(math.Atan2(e, n)*180/math.Pi+360, 360)
	if off := (azimuth - dms(306, 52, 5.37)) * 3600; math.Abs(off) > 0.1 {
		t.Errorf("azimuth is off by %.3f″", off)
	}
	if drop := want * want / (2 * 6.37e6); math.Abs(u+drop) > 1 {
		t.Errorf("the far end lies %.1f m below the plane, want about %.1f", -u, drop)
	}
}

// Degrees to earth-centred metres and back: 1e-11° is a µm. Height within 10 nm.
func TestPlacesComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := Place{
			LatDeg: rapid.Float64Range(-90, 90).Draw(t, "lat"),
			LonDeg: rapid.Float64Range(-180, 179.999).Draw(t, "lon"),
			EleM:   rapid.Float64Range(-500, 9000).Draw(t, "ele"),
		}
		q := p.ecef().place()
		lon := math.Abs(q.LonDeg-p.LonDeg) * math.Cos(p.LatDeg*math.Pi/180)
		if math.Abs(q.LatDeg-p.LatDeg) > 1e-11 || min(lon, 360-lon) > 1e-11 || math.Abs(q.EleM-p.EleM) > 1e-8 {
			t.Fatalf("%+v comes back as %+v", p, q)
		}
	})
}

func TestWrapLon(t *testing.T) {
	for in, want := range map[float64]float64{0: 0, 180: -180, -180: -180, 179.5: 179.5, 181: -179, -181: 179, 540: -180} {
		if got := wrapLon(in); got != want {
			t.Errorf("%g wraps to %g, want %g", in, got, want)
		}
	}
}
