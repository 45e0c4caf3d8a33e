package trail

import (
	"math"
	"strings"
	"testing"

	"stanchion/ingest"
)

// moved is the track of the tour as ridden elsewhere on earth.
func moved(track *ingest.Track, to Frame) *ingest.Track {
	from := Frame{46.5, 8.3}
	out := *track
	out.Fixes = nil
	for _, f := range track.Fixes {
		e, n := from.ToPlane(f.LatDeg, f.LonDeg)
		f.LatDeg, f.LonDeg = to.ToDegrees(e, n)
		out.Fixes = append(out.Fixes, f)
	}
	return &out
}

// The same ride is as long, and as fast, everywhere on earth; across the antimeridian too.
func TestSmoothElsewhere(t *testing.T) {
	tr := newTour()
	track := tr.track(faults{rateHz: 5, whiteM: 0.5, wanderM: 1, speedMS: 0.1, seed: 2})
	home, err := Smooth(track, DefaultSmoothOptions())
	if err != nil {
		t.Fatal(err)
	}
	for name, place := range map[string]Frame{
		"south and east": {-33.9, 151.2}, "south and west": {-22.9, -43.2}, "north and west": {49.3, -123.1}, "on the equator": {0.0001, 9.5},
		"across the antimeridian": {-16.8, 179.9998}, "beside it": {65, -179.9999},
	} {
		t.Run(name, func(t *testing.T) {
			there := moved(track, place)
			east, west := false, false
			for _, f := range there.Fixes {
				east, west = east || f.LonDeg > 179, west || f.LonDeg < -179
				if !(f.LonDeg >= -180 && f.LonDeg < 180) {
					t.Fatalf("longitude %g", f.LonDeg)
				}
			}
			if strings.Contains(name, "across") && !(east && west) {
				t.Fatal("the track does not cross the antimeridian")
			}
			p, err := Smooth(there, DefaultSmoothOptions())
			if err != nil {
				t.Fatal(err)
			}
			checkPath(t, p)
			last := len(home.AlongM) - 1
			if len(p.AlongM)-1 != last || p.Outliers != 0 || p.Piece[last] != 0 {
				t.Fatalf("%d points, %d outliers, %d pieces", len(p.AlongM), p.Outliers, p.Piece[len(p.Piece)-1]+1)
			}
			// The plane is exact to 1e-6 within 1 km; the tour reaches 0.6 km.
			if d := math.Abs(p.AlongM[last]/home.AlongM[last] - 1); d > 1e-4 {
				t.Errorf("the way is %.4f %% off", 100*d)
			}
			for k := range p.SpeedMS {
				if math.Abs(p.SpeedMS[k]-home.SpeedMS[k]) > 0.01 {
					t.Fatalf("speed at %g s is %g, at home %g m/s", p.TimeS[k], p.SpeedMS[k], home.SpeedMS[k])
				}
			}
		})
	}
}

// Points far off the way are dropped and counted, whether alone, in a row, first or last; a jump that is not undone cuts the path.
func TestTeleports(t *testing.T) {
	tr := newTour()
	clean := tr.track(faults{rateHz: 5, whiteM: 0.5, speedMS: 0.1, seed: 4})
	home, err := Smooth(clean, DefaultSmoothOptions())
	if err != nil {
		t.Fatal(err)
	}
	n := len(clean.Fixes)
	for _, c := range []struct {
		name     string
		from, to int // fixes that are moved 3 km north
		outliers int
		pieces   int
	}{{"one", 300, 301, 1, 1}, {"five in a row", 300, 305, 5, 1}, {"the first", 0, 1, 1, 1}, {"the last", n - 1, n, 1, 1}, {"for good", 300, n, 0, 2}} {
		t.Run(c.name, func(t *testing.T) {
			track := *clean
			track.Fixes = append([]ingest.Fix(nil), clean.Fixes...)
			for i := c.from; i < c.to; i++ {
				track.Fixes[i].LatDeg += 0.027
			}
			p, err := Smooth(&track, DefaultSmoothOptions())
			if err != nil {
				t.Fatal(err)
			}
			checkPath(t, p)
			if got := p.Piece[len(p.Piece)-1] + 1; p.Outliers != c.outliers || got != c.pieces {
				t.Errorf("%d outliers, %d pieces; want %d and %d", p.Outliers, got, c.outliers, c.pieces)
			}
			way, want := p.AlongM[len(p.AlongM)-1], home.AlongM[len(home.AlongM)-1]
			if math.Abs(way-want) > 3 {
				t.Errorf("%.1f m ridden, %.1f without", way, want)
			}
		})
	}
}

// A track that no path can be made of is refused with what to do.
func TestTracksOfNothing(t *testing.T) {
	nan := math.NaN()
	fix := func(s float64) ingest.Fix {
		return ingest.Fix{TimeS: s, LatDeg: 46.5 + s*5e-5, LonDeg: 8, EleM: nan, SpeedMS: nan}
	}
	for _, c := range []struct {
		name  string
		fixes []ingest.Fix
		want  string
	}{
		{"no point", nil, "no points"},
		{"one point", []ingest.Fix{fix(0)}, "1 points with a time"},
		{"no time", []ingest.Fix{fix(nan), fix(nan), fix(nan), fix(nan), fix(nan)}, "have no times"},
		{"a minute apart", []ingest.Fix{fix(0), fix(60), fix(120), fix(180), fix(240)}, "over 10 s apart"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if _, err := Smooth(&ingest.Track{Fixes: c.fixes}, DefaultSmoothOptions()); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%v, want %q", err, c.want)
			}
		})
	}
	if _, err := Smooth(nil, DefaultSmoothOptions()); err == nil {
		t.Error("nil was taken")
	}
}
