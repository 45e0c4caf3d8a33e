package analyze

import (
	"math"
	"testing"
)

// A sine of 50 mm at 2 Hz about 80 mm. Closed forms (recomputed by hand): v_max 628.3185 mm/s, mean |v| 4Af = 400,
// RMS 444.2883; time at speed |v| by the arcsine law. The filter passes 2 Hz at 100 Hz cutoff with a gain of
// 1 − 2e-14; what is left is sampling and the ends.
func TestSine(t *testing.T) {
	r := rideOf(t, 1000, sine(1000, 60, 80, 50, 2))
	res, _, err := runOf(r)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "riding time", res.Ride.RidingS, 60, 0)
	v := res.Velocity
	peak := 2 * math.Pi * 2 * 50
	near(t, "compression max", v.Compression.MaxMMS, peak, 0.5)
	near(t, "rebound max", v.Rebound.MaxMMS, peak, 0.5)
	// Speeds of 5 mm/s and more: v = peak·sin u with u in (u0, π/2), u0 = asin(5/peak): mean peak·cos u0/(π/2−u0),
	// quantile p at peak·sin(u0 + p(π/2−u0)).
	u0 := math.Asin(5 / peak)
	at := func(p float64) float64 { return peak * math.Sin(u0+p*(math.Pi/2-u0)) }
	for _, s := range []SpeedSummary{v.Compression, v.Rebound} {
		near(t, "mean speed", s.MeanMMS, peak*math.Cos(u0)/(math.Pi/2-u0), 0.7)
		near(t, "median speed", s.MedianMMS, at(0.5), 1.5)
		near(t, "95 % speed", s.Q95MMS, at(0.95), 0.5)
		near(t, "99 % speed", s.Q99MMS, at(0.99), 0.5)
	}
	near(t, "rebound ratio", v.ReboundRatio, 1, 1e-3)
	near(t, "travelled", v.TravelledM, 0.400*60, 0.001)
	near(t, "still", v.Regimes.Still, 2*u0/math.Pi, 2e-3) // 500 phases a period: one sample is 2e-3
	high := math.Acos(200/peak) / math.Pi
	near(t, "high-speed compression", v.Regimes.HighCompression, high, 2e-3)
	near(t, "high-speed rebound", v.Regimes.HighRebound, high, 2e-3)
	// Share of time in [lo, hi) mm/s by the arcsine law, and of travel by its integral.
	for k, share := range v.TimeShare {
		lo := v.FirstEdgeMMS + v.BinMMS*float64(k)
		clamp := func(a float64) float64 { return max(-1, min(1, a/peak)) }
		a, b := clamp(lo), clamp(lo+v.BinMMS)
		if want := (math.Asin(b) - math.Asin(a)) / math.Pi; math.Abs(share-want) > 4e-3 {
			t.Errorf("time share of bin at %g mm/s: %g, want %g", lo, share, want)
		}
		want := math.Abs(math.Sqrt(1-a*a)-math.Sqrt(1-b*b)) / 2
		if math.Abs(v.TravelShare[k]-want) > 4e-3 {
			t.Errorf("travel share of bin at %g mm/s: %g, want %g", lo, v.TravelShare[k], want)
		}
	}
}

// runOf runs the figures on an analysed trace.
func runOf(r *ride) (*Result, *Signals, error) { return Run(r.trace, r.opt) }

// Travel of the same sine: the arcsine law again, over 5 % bins of 160 mm.
func TestSineTravel(t *testing.T) {
	r := rideOf(t, 1000, sine(1000, 60, 80, 50, 2))
	got := r.travel(r.strokes().List)
	at := func(p float64) float64 { return 80 - 50*math.Cos(math.Pi*p) }
	for _, c := range []struct {
		f Figure
		p float64
	}{{got.Q05MM, .05}, {got.Q25MM, .25}, {got.Q50MM, .5}, {got.Q75MM, .75}, {got.Q95MM, .95}, {got.Q99MM, .99}} {
		near(t, "travel quantile", c.f, at(c.p), 0.35) // a quarter period has 125 samples: half a step is 0.3 mm
	}
	near(t, "max", got.MaxMM, 130, 1e-6)
	near(t, "max", got.MaxPct, 81.25, 1e-6)
	sum, mean := 0.0, 0.0
	for k, share := range got.TimeShare {
		lo, hi := max(-1, min(1, (8*float64(k)-80)/50)), max(-1, min(1, (8*float64(k+1)-80)/50))
		if want := (math.Asin(hi) - math.Asin(lo)) / math.Pi; math.Abs(share-want) > 4e-3 {
			t.Errorf("bin %d: %g, want %g", k, share, want)
		}
		sum += share
		mean += share * (8*float64(k) + 4)
		if math.Abs(got.Cumulative[k]-sum) > 1e-12 {
			t.Errorf("bin %d: cumulative %g, want %g", k, got.Cumulative[k], sum)
		}
	}
	if math.Abs(sum-1) > 1e-12 {
		t.Errorf("shares sum to %g", sum)
	}
	near(t, "bottom-outs", got.BottomOuts, 0, 0)
}

// Strokes of the same sine: half periods of 250 ms and 100 mm.
func TestSineStrokes(t *testing.T) {
	r := rideOf(t, 1000, sine(1000, 60, 80, 50, 2))
	got := r.strokes()
	// 120 periods have 120 peaks and 120 valleys, all confirmed by the quarter period after the last. The first sample is
	// a turning point too: from there x first departs by the gate.
	peaks, valleys := 120, 120
	if n := len(got.List); n != peaks+valleys {
		t.Fatalf("%d strokes, want %d", n, peaks+valleys)
	}
	near(t, "compression strokes", got.Compression.Count, 120, 0)
	near(t, "rebound strokes", got.Rebound.Count, 120, 0)
	near(t, "per minute", got.Rebound.PerMin, 120, 1e-9)
	for _, s := range []StrokeSummary{got.Compression, got.Rebound} {
		near(t, "median duration", s.MedianDurationS, 0.25, 1e-12)
		near(t, "95 % amplitude", s.Q95AmplitudeMM, 100, 1e-6)
		near(t, "median peak", s.MedianPeakMMS, 200*math.Pi, 0.5)
		near(t, "95 % peak", s.Q95PeakMMS, 200*math.Pi, 0.5)
		near(t, "short strokes", s.ShortShare, 0, 0)
	}
	for i, s := range got.List[1:] {
		if want := 0.125 + 0.25*float64(i); math.Abs(s.StartS-want) > 1e-9 || math.Abs(s.DurationS-0.25) > 1e-9 {
			t.Fatalf("stroke %d starts at %g s and lasts %g, want %g and 0.25", i+1, s.StartS, s.DurationS, want)
		}
		if math.Abs(s.MeanMMS-400) > 1e-6 {
			t.Fatalf("stroke %d: mean speed %g, want 400", i+1, s.MeanMMS)
		}
	}
	if want := float64(len(got.List)) / 2; got.RainflowSum != want {
		t.Errorf("rainflow counts sum to %g, want %g", got.RainflowSum, want)
	}
}
