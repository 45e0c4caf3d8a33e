package trail

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// dms is degrees, minutes and seconds.
func dms(d, m, s float64) float64 { return d + m/60 + s/3600 }

func TestDistance(t *testing.T) {
	for _, c := range []struct {
		name                   string
		lat1, lon1, lat2, lon2 float64
		want, tolerance        float64
	}{
		// Example in the documentation of GeographicLib, recomputed with it.
		{"New York to London", 40.6, -73.8, 51.6, -0.5, 5551759.400, 1e-3},
		// In the tests of several public geodesy libraries, recomputed with GeographicLib.
		{"the length of an island", 50.06632, -5.71475, 58.64402, -3.07009, 969954.166314, 1e-3},
		// Recomputed with GeographicLib.
		{"1° of the equator", 0, 0, 0, 1, 111319.491, 1e-3},
		{"1° along 60° north", 60, 0, 60, 1, 55799.470, 1e-3},
		{"1° of a meridian at the equator", 0, 7, 1, 7, 110574.389, 1e-3},
		{"1° of a meridian at 45°", 45, -7, 46, -7, 111141.548, 1e-3},
		{"equator to pole", 0, 0, 90, 0, 10001965.729, 1e-3},
		{"across the antimeridian", 0, 179.5, 0, -179.5, 111319.491, 1e-3},
		{"nowhere", -16.8, 179.9, -16.8, 179.9, 0, 0},
		// Nearly opposite: example in the documentation of GeographicLib (Wellington to Salamanca).
		{"nearly opposite", -41.32, 174.81, 40.96, -5.50, 19959679.267, 0.006 * 19959679},
		{"opposite", 0, 0, 0, 180, 20003931.459, 0.006 * 20003931}, // over a pole: twice the quarter meridian
	} {
		if got := DistanceM(c.lat1, c.lon1, c.lat2, c.lon2); math.Abs(got-c.want) > c.tolerance {
			t.Errorf("%s: %.4f m, want %.4f ± %g", c.name, got, c.want, c.tolerance)
		}
	}
}

// Flinders Peak to Buninyong, the worked example of the Australian geodetic datum's manual (GRS80): 54972.271 m.
func TestVincentyOnGRS80(t *testing.T) {
	const f = 1 / 298.257222101
	got, ok := vincenty(-dms(37, 57, 3.72030), dms(144, 25, 29.52440), -dms(37, 39, 10.15610), dms(143, 55, 35.38390), 6378137, f)
	if !ok || math.Abs(got-54972.271) > 5e-4 {
		t.Errorf("%.5f m, %v", got, ok)
	}
}

func TestHaversine(t *testing.T) {
	// A worked example that many public implementations carry, recomputed.
	if got := haversine(36.12, -86.67, 33.94, -118.40, 6372800); math.Abs(got-2887259.9506071) > 1e-6 {
		t.Errorf("%.7f m", got)
	}
	// 1° of arc on the sphere of the mean radius 6371008.8 m (closed form).
	if got := haversine(0, 0, 1, 0, 6371008.8); math.Abs(got-111195.080234) > 1e-6 {
		t.Errorf("%.6f m", got)
	}
}

// Distances from the origin of a frame are those on the ellipsoid, here by another formula, to 0.6 mm within 10 km: mostly
// the 0.5 mm of that formula.
func TestFrameDistances(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := Frame{rapid.Float64Range(-80, 80).Draw(t, "lat"), rapid.Float64Range(-180, 179.9999).Draw(t, "lon")}
		e, n := rapid.Float64Range(-7000, 7000).Draw(t, "east"), rapid.Float64Range(-7000, 7000).Draw(t, "north")
		lat, lon := f.ToDegrees(e, n)
		if !(lon >= -180 && lon < 180) {
			t.Fatalf("longitude %v", lon)
		}
		back, up := f.ToPlane(lat, lon)
		if math.Hypot(back-e, up-n) > 1e-6 {
			t.Fatalf("there and back: %v, %v for %v, %v", back, up, e, n)
		}
		if got, want := math.Hypot(e, n), DistanceM(f.LatDeg, f.LonDeg, lat, lon); math.Abs(got-want) > 6e-4 {
			t.Fatalf("%.5f m in the plane, %.5f m on the ellipsoid", got, want)
		}
		// Between two points 10 km off: too long by up to d²/6R², 0.41 mm a km.
		lat2, lon2 := f.ToDegrees(n, -e)
		want := DistanceM(lat, lon, lat2, lon2)
		if got := math.Hypot(n-e, -e-n); math.Abs(got-want) > 6e-4+0.5e-6*want {
			t.Fatalf("between points: %.5f m in the plane, %.5f m on the ellipsoid", got, want)
		}
	})
}

// East is east and north is north on every side of the globe.
func TestFrameDirections(t *testing.T) {
	for _, f := range []Frame{{46, 8}, {-41, 173}, {-16.8, 179.9999}, {10, -180}, {0, 0}} {
		lat, lon := f.ToDegrees(0, 100)
		if !(lat > f.LatDeg) || math.Abs(math.Remainder(lon-f.LonDeg, 360)) > 1e-9 {
			t.Errorf("%v: 100 m north is %v, %v", f, lat, lon)
		}
		lat, lon = f.ToDegrees(100, 0)
		if !(math.Remainder(lon-f.LonDeg, 360) > 0) || math.Abs(lat-f.LatDeg) > 1e-7 {
			t.Errorf("%v: 100 m east is %v, %v", f, lat, lon)
		}
	}
}
