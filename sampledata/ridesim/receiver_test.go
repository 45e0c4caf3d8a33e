package ridesim

import (
	"math"
	"reflect"
	"testing"

	"stanchion/ingest"
)

// standing is a passage that stands at the start for seconds.
func standing(t *testing.T, seconds float64) Passage {
	t.Helper()
	n := int(seconds*10) + 1
	return Passage{Trail: lay(t, descent(), Shape{}), Truth: &Truth{RateHz: 10, DistanceM: make([]float64, n), SpeedMS: make([]float64, n)}}
}

// steady is a passage at constant speed in m/s.
func steady(t *testing.T, speed, seconds float64) Passage {
	t.Helper()
	p := standing(t, seconds)
	for i := range p.Truth.DistanceM {
		p.Truth.DistanceM[i], p.Truth.SpeedMS[i] = speed*float64(i)/10, speed
	}
	return p
}

func track(t *testing.T, r Receiver, p Passage) *ingest.Track {
	t.Helper()
	out, err := r.Track(p, "test")
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// errorsOf is the east, north and up errors of each fix against the truth.
func errorsOf(r Receiver, p Passage, t *ingest.Track) (east, north, up []float64) {
	for _, f := range t.Fixes {
		at := p.At(f.TimeS + r.OffsetS())
		e, n, _ := newPlane(at).enu(Place{f.LatDeg, f.LonDeg, at.EleM})
		east, north, up = append(east, e), append(north, n), append(up, f.EleM-at.EleM)
	}
	return east, north, up
}

// autocorrelation is Σx[i]x[i+lag]/(n−lag): the process has mean zero.
func autocorrelation(x []float64, lag int) float64 {
	sum := 0.0
	for i := range len(x) - lag {
		sum += x[i] * x[i+lag]
	}
	return sum / float64(len(x)-lag)
}

// The wander's autocovariance is σ²·exp(−t/τ), to which the white noise adds its variance at lag 0 alone. 200 000 fixes with τ = 10 fixes are about
// 10 000 independent values: 5 % is over three standard errors of each figure.
func TestErrorsAreAsStated(t *testing.T) {
	r := Receiver{Seed: 4, RateHz: 10, NoiseM: 1, WanderM: 2, WanderS: 1, EleNoiseM: 1.5, EleWanderM: 3}
	p := standing(t, 20000)
	east, north, up := errorsOf(r, p, track(t, r, p))
	for _, c := range []struct {
		name          string
		x             []float64
		white, wander float64 // variances
	}{{"east", east, 0.5, 2}, {"north", north, 0.5, 2}, {"up", up, 1.5 * 1.5, 9}} {
		total := c.white + c.wander
		if got := autocorrelation(c.x, 0); math.Abs(got-total) > 0.05*total {
			t.Errorf("%s: variance %.4f m², want %.4f", c.name, got, total)
		}
		for _, lag := range []int{1, 5, 10, 20} {
			want := c.wander * math.Exp(-float64(lag)/10)
			if got := autocorrelation(c.x, lag); math.Abs(got-want) > 0.05*c.wander {
				t.Errorf("%s: covariance %.4f m² after %g s, want %.4f", c.name, got, float64(lag)/10, want)
			}
		}
	}
	cross := 0.0
	for i := range east {
		cross += east[i] * north[i] / float64(len(east))
	}
	if math.Abs(cross) > 0.05*2.5 {
		t.Errorf("east and north go together: covariance %.4f m²", cross)
	}
}

// The default's horizontal error is 3 m RMS, over the first fixes of 2000 tracks, each a fresh draw of the wander; 0.1 m is over four standard
// errors.
func TestOpenGroundErrsBy3M(t *testing.T) {
	p := standing(t, 1)
	sum := 0.0
	const tracks = 2000
	for seed := range uint64(tracks) {
		r := OpenGround(1)
		r.Seed = seed
		east, north, _ := errorsOf(r, p, track(t, r, p))
		sum += (east[0]*east[0] + north[0]*north[0]) / tracks
	}
	if got := math.Sqrt(sum); math.Abs(got-3) > 0.1 {
		t.Errorf("horizontal error %.3f m RMS, want 3", got)
	}
	if got := OpenGround(5).Reception().ErrorM; got != 3 {
		t.Errorf("states %g m", got)
	}
	if got := FineReceiver(5).Reception().ErrorM; got != 0.5 {
		t.Errorf("the fine one states %g m", got)
	}
}

// A receiver without errors shows the truth to its rounding, all over the earth: 1e-7° is at most 11 mm, so half of it each way is under 8 mm.
func TestCleanFixesAreTheTruth(t *testing.T) {
	for name, start := range grounds() {
		p := steady(t, 7, 40)
		p.Trail = lay(t, descent(), Shape{Seed: 2, Start: start, HeadingDeg: 70})
		p.Line = Line{Seed: 8, RMSM: 0.4}
		r := CleanReceiver(5)
		r.ClockOffsetS, r.LatencyS, r.TailS = -3.3, 0.12, 2
		got := track(t, r, p)
		if want := 227; len(got.Fixes) != want { // 45.3 s at 5 Hz
			t.Errorf("%s: %d fixes, want %d", name, len(got.Fixes), want)
		}
		east, north, up := errorsOf(r, p, got)
		for i, f := range got.Fixes {
			if math.Hypot(east[i], north[i]) > 0.008 || math.Abs(up[i]) > 0.0051 {
				t.Fatalf("%s: fix %d is off by %.4f, %.4f, %.4f m", name, i, east[i], north[i], up[i])
			}
			if f.TimeS != float64(i)/5 || f.LonDeg < -180 || f.LonDeg >= 180 {
				t.Fatalf("%s: fix %+v", name, f)
			}
			moving := f.TimeS-3.3-0.12 > 0 && f.TimeS-3.3-0.12 < 40
			if want := map[bool]float64{true: 7}[moving]; math.Abs(f.SpeedMS-want) > 0.005 {
				t.Fatalf("%s: speed %g at %g s, want %g", name, f.SpeedMS, f.TimeS, want)
			}
		}
		if name == "antimeridian" && (got.Fixes[0].LonDeg < 179 || got.Fixes[len(got.Fixes)-1].LonDeg > -179) {
			t.Errorf("runs from %g to %g and does not cross", got.Fixes[0].LonDeg, got.Fixes[len(got.Fixes)-1].LonDeg)
		}
	}
}

// Speed noise is the receiver's own: 3 % of its RMS at 40 000 fixes is over eight standard errors.
func TestSpeedNoise(t *testing.T) {
	r := CleanReceiver(10)
	r.SpeedNoiseMS = 0.2
	var off []float64
	for _, f := range track(t, r, steady(t, 6, 4000)).Fixes {
		off = append(off, f.SpeedMS-6)
	}
	if got := rms(off); math.Abs(got-0.2) > 0.006 {
		t.Errorf("speed noise %.4f m/s RMS, want 0.2", got)
	}
	r.NoSpeed, r.NoEle = true, true
	if f := track(t, r, steady(t, 6, 1)).Fixes[3]; !math.IsNaN(f.SpeedMS) || !math.IsNaN(f.EleM) {
		t.Errorf("what is not written shows: %+v", f)
	}
}

// A drop-out leaves a hole of its length and begins a new piece; the fixes around it are those of the track without it.
func TestDropouts(t *testing.T) {
	p := steady(t, 6, 50)
	whole := OpenGround(5)
	whole.Seed = 11
	holed := whole
	holed.Dropouts, holed.DropoutS = 3, 4
	all, some := track(t, whole, p).Fixes, track(t, holed, p).Fixes
	if len(all)-len(some) != 3*20 {
		t.Errorf("%d fixes lost, want 60", len(all)-len(some))
	}
	holes := 0
	for i, f := range some {
		if want := all[int(math.Round(f.TimeS*5))]; f.LatDeg != want.LatDeg || f.LonDeg != want.LonDeg || f.SpeedMS != want.SpeedMS {
			t.Fatalf("fix at %g s changed with the drop-outs", f.TimeS)
		}
		if i > 0 {
			hole := f.TimeS-some[i-1].TimeS > 0.3
			if (f.Piece == some[i-1].Piece+1) != hole {
				t.Errorf("piece %d after %d over %.1f s", f.Piece, some[i-1].Piece, f.TimeS-some[i-1].TimeS)
			}
			if hole {
				holes++
			}
		}
	}
	if holes != 3 {
		t.Errorf("%d holes, want 3", holes)
	}
}

func TestReceiverIsDeterministicAndChecked(t *testing.T) {
	p := steady(t, 6, 10)
	a, b := OpenGround(5), OpenGround(5)
	b.Seed = 1
	if !reflect.DeepEqual(track(t, a, p), track(t, a, p)) || reflect.DeepEqual(track(t, a, p), track(t, b, p)) {
		t.Error("the seed does not decide")
	}
	for _, bad := range []Receiver{{}, {RateHz: math.NaN()}, {RateHz: 5, WanderM: 1}, {RateHz: 5, NoiseM: -1}, {RateHz: 5, ClockOffsetS: 11},
		{RateHz: 5, ClockOffsetS: math.Inf(-1)}} {
		if _, err := bad.Track(p, ""); err == nil {
			t.Errorf("%+v passes", bad)
		}
	}
}
