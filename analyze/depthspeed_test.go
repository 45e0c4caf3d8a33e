package analyze

import (
	"math"
	"testing"
)

// A sine of 40 mm at 1 Hz about 40 mm, x = 40 + 40·sin u, speed 80π·|cos u|. Rebound at 15 to 30 % of 160 mm has sin u from −0.4 to 0.2: by
// distance the mean of |cos u| is ∫cos² / ∫cos over that, with ∫cos² = (u + sin u·cos u)/2. Compression past 15 % is u in
// (−asin 0.4, π/2 − e) with e where the fork is still; the fastest lie about 0: the 70 % speed at half of three tenths of that.
func TestDepthSpeedsOfASine(t *testing.T) {
	r := rideOf(t, 1000, sine(1000, 60, 40, 40, 1))
	got := r.velocity().AtDepth
	peak := 80 * math.Pi
	half := func(s float64) float64 { return (math.Asin(s) + s*math.Sqrt(1-s*s)) / 2 }
	near(t, "rebound", got.ReboundMMS, peak*(half(0.2)-half(-0.4))/0.6, 0.3)
	still := math.Asin(5 / peak)
	near(t, "compression", got.CompressionQ70MMS, peak*math.Cos(0.15*(math.Asin(0.4)+math.Pi/2-still)), 0.5)
	if n := got.ReboundMMS.N(); n < 59 || n > 61 {
		t.Errorf("%d rebounds through that travel, want about 60", n)
	}
}

// A fork that never gets that deep has no such speed, and says why.
func TestDepthSpeedsNeedTheDepth(t *testing.T) {
	got := rideOf(t, 1000, sine(1000, 20, 12, 8, 2)).velocity().AtDepth
	if got.ReboundMMS.OK() || got.CompressionQ70MMS.OK() || got.ReboundMMS.Reason() == "" {
		t.Errorf("rebound %v, compression %v", got.ReboundMMS, got.CompressionQ70MMS)
	}
}
