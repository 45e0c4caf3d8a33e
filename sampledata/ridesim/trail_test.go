package ridesim

import (
	"math"
	"reflect"
	"testing"
)

// grounds are starts all over the earth.
func grounds() map[string]Place {
	return map[string]Place{
		"invented":     InventedGround(),
		"south east":   {LatDeg: -47.25, LonDeg: 98.5, EleM: 1200},
		"south west":   {LatDeg: -33.1, LonDeg: -112.4},
		"antimeridian": {LatDeg: 12.5, LonDeg: 179.9995, EleM: 300},
		"far north":    {LatDeg: 84.2, LonDeg: 3.3},
	}
}

func descent() Course {
	return Course{StartHoldS: 3, EndHoldS: 3, EnvelopeM: 0.16, Sections: []Section{
		{Kind: "start", LengthM: 25, GdN0: 500e-6, SpeedMS: 5},
		{Kind: "flow", LengthM: 60, GdN0: 800e-6, SpeedMS: 7},
		{Kind: "berm", LengthM: 16, GdN0: 100e-6, SpeedMS: 5.5, LoadG: 0.6},
		{Kind: "rough", LengthM: 90, GdN0: 5000e-6, SpeedMS: 5.5},
		{Kind: "berm", LengthM: 14, GdN0: 100e-6, SpeedMS: 5, LoadG: 0.6},
		{Kind: "jump", LengthM: 40, GdN0: 300e-6, SpeedMS: 8, Features: []Feature{
			{Kind: Jump, AtM: 18, HeightM: 0.6, LengthM: 4, GapM: 2.9, LandingM: 5, DropM: 0.6}}},
		{Kind: "flow", LengthM: 50, GdN0: 800e-6, SpeedMS: 7},
		{Kind: "stop", LengthM: 40, GdN0: 300e-6},
	}}
}

func lay(t *testing.T, c Course, s Shape) *Trail {
	t.Helper()
	trail, err := c.Trail(s)
	if err != nil {
		t.Fatal(err)
	}
	return trail
}

// The trail is as long on the ellipsoid as the course: steps of 0.5 m added up on the map, at its own height and at sea level. Tolerance 1e-3 as a share:
// chords of 0.5 m in a bend of 4 m radius are short by 0.5²/(24·4²) = 0.07 %, and 1200 m up there is 0.02 % more of it.
func TestTrailIsAsLongAsItsCourse(t *testing.T) {
	for name, start := range grounds() {
		for _, crossing := range []bool{false, true} {
			trail := lay(t, descent(), Shape{Seed: 5, Start: start, HeadingDeg: 200, Crossing: crossing})
			want := 335.0
			if trail.LengthM() != want {
				t.Fatalf("length %g m, want %g", trail.LengthM(), want)
			}
			sum, level := 0.0, 0.0
			for s := 0.0; s < want; s += 0.5 {
				a, b := trail.At(s, 0), trail.At(min(s+0.5, want), 0)
				a.EleM = start.EleM
				b.EleM = start.EleM
				sum += chord(a, b)
				a.EleM, b.EleM = 0, 0
				level += chord(a, b)
			}
			if math.Abs(sum/want-1) > 1e-3 || math.Abs(level/want-1) > 1e-3 {
				t.Errorf("%s: %.4f m on the ground, %.4f m at sea level, want %g", name, sum, level, want)
			}
		}
	}
}

// Nowhere does the trail bend more tightly than its speed allows, and it is straight where the rider flies.
func TestBendsStayWithinTheirSpeed(t *testing.T) {
	c := descent()
	for seed := range uint64(20) {
		trail := lay(t, c, Shape{Seed: seed, Crossing: seed%2 == 0})
		tight, swing := 0.0, 0.0
		at := 0.0
		for k, sec := range c.Sections {
			for s := at + 0.5; s < at+sec.LengthM-0.5; s += 0.5 {
				bend := math.Abs(trail.HeadingRad(s+0.25)-trail.HeadingRad(s-0.25)) / 0.5
				v := c.fastest(k)
				limit := loopMS2
				if sec.LoadG > 0 {
					v, limit = sec.SpeedMS, bermMS2
				}
				if bend*v*v > limit*1.001 {
					t.Fatalf("seed %d, %s at %.1f m: %.2f m/s² at %g m/s, limit %g", seed, sec.Kind, s, bend*v*v, v, limit)
				}
				if sec.flies() && bend > 1e-9 {
					t.Fatalf("seed %d: bends in flight at %.1f m", seed, s)
				}
				tight, swing = max(tight, bend), max(swing, math.Abs(trail.HeadingRad(s)))
			}
			at += sec.LengthM
		}
		if tight < 0.05 || swing < 0.5 {
			t.Errorf("seed %d: tightest bend %.3f 1/m, widest swing %.2f rad: hardly a trail", seed, tight, swing)
		}
	}
}

// The line meets itself exactly when asked to: two points over 15 m apart along the trail and under 1 m apart on the map.
func TestCrossing(t *testing.T) {
	for seed := range uint64(6) {
		for _, crossing := range []bool{false, true} {
			trail := lay(t, descent(), Shape{Seed: seed, Crossing: crossing})
			meets := false
			for a := 0.0; a < trail.LengthM(); a += 0.5 {
				for b := a + 15; b < trail.LengthM(); b += 0.5 {
					ae, an := trail.Plan(a, 0)
					be, bn := trail.Plan(b, 0)
					meets = meets || math.Hypot(ae-be, an-bn) < 1
				}
			}
			if meets != crossing {
				t.Errorf("seed %d: meets itself: %v, asked for %v", seed, meets, crossing)
			}
		}
	}
	fast := Course{Sections: []Section{{Kind: "fast", LengthM: 60, SpeedMS: 14}}}
	if _, err := fast.Trail(Shape{Crossing: true}); err == nil {
		t.Error("a crossing at 14 m/s in 60 m is laid out")
	}
}

// Down over all, by the grade asked for within the spread of its sections, with a climb on the way.
func TestHill(t *testing.T) {
	for seed := range uint64(10) {
		trail := lay(t, descent(), Shape{Seed: seed, Start: Place{LatDeg: 1, EleM: 500}, Descent: 0.12})
		fall := trail.EleM(0) - trail.EleM(trail.LengthM())
		if trail.EleM(0) != 500 || fall < 0.04*335 || fall > 0.16*335 {
			t.Errorf("seed %d: from %.1f m down by %.1f", seed, trail.EleM(0), fall)
		}
		climb := 0.0
		for s := 0.0; s < trail.LengthM(); s++ {
			climb += max(0, trail.EleM(s+1)-trail.EleM(s))
		}
		if climb < 0.1 || climb > 5 {
			t.Errorf("seed %d: climbs %.2f m", seed, climb)
		}
	}
}

// The right of the trail is to the right: a quarter turn clockwise of the way ahead.
func TestRightIsRight(t *testing.T) {
	trail := lay(t, descent(), Shape{Seed: 3, HeadingDeg: 90})
	for s := 0.0; s < trail.LengthM()-1; s += 0.7 {
		e, n := trail.Plan(s, 0)
		e2, n2 := trail.Plan(s, 2)
		ahead := trail.HeadingRad(s)
		if off := math.Hypot(e2-e-2*math.Sin(ahead+math.Pi/2), n2-n-2*math.Cos(ahead+math.Pi/2)); off > 1e-9 {
			t.Fatalf("at %g m: off by %g m", s, off)
		}
		// And ahead is where the next centimetre leads: bends of over 3 m radius turn by less than 0.004 rad in it.
		e3, n3 := trail.Plan(s+0.01, 0)
		if off := math.Hypot(e3-e-0.01*math.Sin(ahead), n3-n-0.01*math.Cos(ahead)); off > 0.004*0.01 {
			t.Fatalf("at %g m: the next cm is off by %g m", s, off)
		}
	}
}

func TestTrailIsDeterministic(t *testing.T) {
	a, b := lay(t, descent(), Shape{Seed: 9}), lay(t, descent(), Shape{Seed: 9})
	if !reflect.DeepEqual(a, b) || reflect.DeepEqual(a, lay(t, descent(), Shape{Seed: 10})) {
		t.Error("the seed does not decide")
	}
	for _, bad := range []Shape{{Start: Place{LatDeg: 90}}, {Start: Place{LatDeg: math.NaN()}}, {Start: Place{LonDeg: math.NaN()}}} {
		if _, err := descent().Trail(bad); err == nil {
			t.Errorf("laid out at %+v", bad.Start)
		}
	}
	if _, err := (Course{StartHoldS: 1}).Trail(Shape{}); err == nil {
		t.Error("a course without sections is laid out")
	}
}
