package analyze

import (
	"math"
	"testing"
)

// A sine of 40 mm at 1 Hz about 40 mm, x = 40 + 40·sin u, speed 80π·|cos u|. Rebound at 25 to 40 % of 160 mm is u' = π − u in
// (0, asin 0.6), the fastest at 0: the 95 % speed lies at 0.05·asin 0.6. Compression past 15 % is u in (−asin 0.4, π/2 − e) with e where the
// fork is still; the fastest lie about 0: the 80 % speed at half of a fifth of that.
func TestDepthSpeedsOfASine(t *testing.T) {
	r := rideOf(t, 1000, sine(1000, 60, 40, 40, 1))
	got := r.velocity().AtDepth
	peak := 80 * math.Pi
	near(t, "rebound", got.ReboundQ95MMS, peak*math.Cos(0.05*math.Asin(0.6)), 0.1)
	still := math.Asin(5 / peak)
	near(t, "compression", got.CompressionQ80MMS, peak*math.Cos(0.1*(math.Asin(0.4)+math.Pi/2-still)), 0.3)
	if n := got.ReboundQ95MMS.N(); n < 59 || n > 61 {
		t.Errorf("%d rebounds through that travel, want about 60", n)
	}
}

// A fork that never gets that deep has no such speed, and says why.
func TestDepthSpeedsNeedTheDepth(t *testing.T) {
	got := rideOf(t, 1000, sine(1000, 20, 12, 8, 2)).velocity().AtDepth
	if got.ReboundQ95MMS.OK() || got.CompressionQ80MMS.OK() || got.ReboundQ95MMS.Reason() == "" {
		t.Errorf("rebound %v, compression %v", got.ReboundQ95MMS, got.CompressionQ80MMS)
	}
}
