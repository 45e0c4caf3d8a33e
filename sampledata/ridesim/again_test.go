package ridesim

import (
	"math"
	"reflect"
	"testing"
)

// A ride again is the same for the same seed, another for another, and leaves the first ride's parameters alone.
func TestAgain(t *testing.T) {
	p := DefaultParams()
	before := p.Course.Sections[0].SpeedMS
	a, b, other := p.Again(7, DefaultVariation()), p.Again(7, DefaultVariation()), p.Again(8, DefaultVariation())
	if !reflect.DeepEqual(a, b) || reflect.DeepEqual(a, other) {
		t.Error("the seed does not decide")
	}
	if p.Course.Sections[0].SpeedMS != before || a.Seed != p.Seed || a.RiderSeed == 0 {
		t.Error("the first ride changed, or the trail did")
	}
	still := p.Again(7, Variation{})
	if still.Course.Sections[0].SpeedMS != before || still.Fork.SprungKg != p.Fork.SprungKg || still.Course.LineShare != 0 {
		t.Error("something varies without a variation")
	}
	bad := p.Course
	bad.LineShare = 1.5
	if bad.Validate() == nil {
		t.Error("a share over 1 passes")
	}
}

// The line changes the ground and not its roughness: with a share q of the power, profiles correlate at √(1 − q) with the trail's own, since
// trail and line are independent.
func TestLineShare(t *testing.T) {
	road := func(share float64) []float64 {
		c := Course{LineShare: share, LineSeed: 99, Sections: []Section{{LengthM: 240, GdN0: 5000e-6, SpeedMS: 6}}}
		h := c.road(3).h
		for i := range len(h) - 1 {
			h[i] = h[i+1] - h[i] // slopes: a few long waves hold nearly all the power of heights
		}
		return h[:len(h)-1]
	}
	base := road(0)
	dot := func(a, b []float64) (s float64) {
		for i := range a {
			s += a[i] * b[i]
		}
		return s
	}
	for _, share := range []float64{0.25, 0.6, 1} {
		h := road(share)
		r := dot(base, h) / math.Sqrt(dot(base, base)*dot(h, h))
		if math.Abs(r-math.Sqrt(1-share)) > 0.05 {
			t.Errorf("share %g: correlation %.3f, want %.3f", share, r, math.Sqrt(1-share))
		}
		if ratio := dot(h, h) / dot(base, base); math.Abs(ratio-1) > 0.1 {
			t.Errorf("share %g: power changed by a factor of %.2f", share, ratio)
		}
	}
}
