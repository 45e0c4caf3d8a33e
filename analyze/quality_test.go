package analyze

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"stanchion/analyze/signal"
	"stanchion/ingest"
)

// noisyRest is riding for 10 s, then 30 s at rest with white noise of sigma mm throughout.
func noisyRest(fs, sigma float64) []float64 {
	rng := rand.New(rand.NewPCG(5, 6))
	x := append(sine(fs, 10, 50, 40, 2), constant(int(30*fs), 50)...)
	for i := range x {
		x[i] += sigma * rng.NormFloat64()
	}
	return x
}

// whiteNoiseSpeed is the RMS velocity of filtered white noise: σ²·2/fs·∫₀^(fs/2) (2πf·|H|²)² df under the root.
func whiteNoiseSpeed(fs, sigma, cutoff float64, order int) float64 {
	f := signal.LowPass{RateHz: fs, CutoffHz: cutoff, Order: order}
	const n = 20000
	sum := 0.0
	for k := range n {
		hz := (float64(k) + 0.5) * fs / 2 / n
		g := 2 * math.Pi * hz * f.Gain(hz)
		sum += g * g
	}
	return sigma * math.Sqrt(sum/n)
}

// The quietest of the windows lies a little under the closed form: some 400 effective samples each scatter by 4 %.
func TestNoiseFloor(t *testing.T) {
	for _, sigma := range []float64{0.02, 0.1, 0.3} {
		q := rideOf(t, 1000, noisyRest(1000, sigma)).quality()
		want := whiteNoiseSpeed(1000, sigma, 100, 4)
		near(t, "noise floor", q.NoiseMMS, 0.94*want, 0.07*want)
		suggested, ok := q.SuggestedCutoffHz.Get()
		if ok != (want > 20) {
			t.Errorf("σ %g: suggested cutoff %v with a noise floor of %g", sigma, q.SuggestedCutoffHz, want)
		}
		if !ok {
			gone(t, "suggested cutoff", q.SuggestedCutoffHz)
			continue
		}
		if low := whiteNoiseSpeed(1000, sigma, suggested, 4); low > 20*1.1 {
			t.Errorf("σ %g: the suggested cutoff of %g Hz leaves %g mm/s", sigma, suggested, low)
		}
		if high := whiteNoiseSpeed(1000, sigma, suggested*1.27, 4); high < 20*0.9 {
			t.Errorf("σ %g: the suggested cutoff of %g Hz is lower than it need be", sigma, suggested)
		}
	}
	q := rideOf(t, 1000, sine(1000, 1.5, 50, 40, 2)).quality()
	gone(t, "noise floor of 1.5 s", q.NoiseMMS)
}

// The quietest 2 s are found wherever they lie, at a rate where 8 cells hold 600 samples or 601.
func TestQuietestAtOddRates(t *testing.T) {
	for first := range 12 {
		r := bare(t, 300.3, constant(2000, 50))
		s := &r.segs[0]
		quiet := span{s.cells[first].lo, s.cells[first+7].hi}
		for i := quiet.lo; i < quiet.hi; i++ {
			s.v[i] = 1
		}
		if _, got, ok := r.quietest(); !ok || got != quiet {
			t.Errorf("quietest %v, want %v", got, quiet)
		}
	}
}

// A fork that extends to a reading of 3 mm has its zero there; one that never extends tells nothing.
func TestZeroOffset(t *testing.T) {
	for _, offset := range []float64{0, 3, -4} {
		x := path(20, [2]float64{60, 300})
		for range 30 {
			x = append(x, path(60, [2]float64{offset, 200}, [2]float64{offset, 50}, [2]float64{60, 300})...)
		}
		r := rideOf(t, 1000, x)
		near(t, "zero offset", r.quality().ZeroOffsetMM, offset, 1e-9)
		warned := has(caveatsOf(t, r), Warning, "zero")
		if warned != (math.Abs(offset) > 2) {
			t.Errorf("offset %g mm: warned %v", offset, warned)
		}
	}
	r := rideOf(t, 1000, sine(1000, 20, 50, 30, 2))
	gone(t, "zero offset", r.quality().ZeroOffsetMM)
	if !has(caveatsOf(t, r), Note, "zero") {
		t.Error("no note that the zero is not known")
	}
}

func caveatsOf(t *testing.T, r *ride) []Caveat {
	t.Helper()
	res, _, err := runOf(r)
	if err != nil {
		t.Fatal(err)
	}
	return res.Caveats
}

func has(list []Caveat, severity, topic string) bool {
	for _, c := range list {
		if c.Severity == severity && c.Topic == topic {
			return true
		}
	}
	return false
}

// Under 100 Hz every figure that uses velocity is absent, and what rests on travel alone is there.
func TestNoVelocityUnder100Hz(t *testing.T) {
	x := sine(80, 60, 80, 79, 1)
	r := rideOf(t, 80, x)
	res, _, err := runOf(r)
	if err != nil {
		t.Fatal(err)
	}
	present := 0
	for _, s := range res.Scalars() {
		if strings.HasPrefix(s.Key, "velocity.") || strings.HasPrefix(s.Key, "reversals.") || strings.Contains(s.Key, "mm_s") ||
			strings.HasSuffix(s.Key, "_hard") || strings.HasPrefix(s.Key, "rough.") {
			if s.Figure.OK() && !strings.HasPrefix(s.Key, "spectrum.") {
				t.Errorf("%s is there", s.Key)
			}
			continue
		}
		if s.Figure.OK() {
			present++
		}
	}
	for _, s := range []Figure{res.Travel.Q95MM, res.Sag.DynamicMM, res.Travel.BottomOuts, res.Strokes.Rebound.MeanDurationS} {
		if !s.OK() {
			t.Errorf("a travel figure is absent: %s", s.Reason())
		}
	}
	if len(res.Travel.Bottoms) == 0 {
		t.Fatal("no bottom-outs to look at")
	}
	b, err := json.Marshal(res.Travel.Bottoms[0])
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(string(b), "mm_s") {
		t.Errorf("a bottom-out has velocities: %s", b)
	}
	if len(res.Velocity.TimeShare) != 0 || len(res.Density.Share) != 0 {
		t.Error("velocity histograms are not empty")
	}
	if !has(res.Caveats, Warning, "rate") {
		t.Error("no warning about the rate")
	}
}

func TestRateWarning(t *testing.T) {
	for fs, want := range map[float64]bool{1000: false, 334: false, 300: true, 100: true} {
		if got := has(caveatsOf(t, rideOf(t, fs, sine(fs, 30, 50, 30, 2))), Warning, "rate"); got != want {
			t.Errorf("%g Hz: warned %v", fs, got)
		}
	}
}

// Each count of the recording's quality that matters shows up as a caveat, and a clean recording has no warning.
func TestRecordingCaveats(t *testing.T) {
	clean := rideOf(t, 1000, append(constant(4000, 30), sine(1000, 60, 40, 40.5, 2)...))
	for _, c := range caveatsOf(t, clean) {
		if c.Severity == Warning {
			t.Errorf("clean recording: %+v", c)
		}
	}
	for _, c := range []struct {
		severity, topic string
		set             func(*ingest.Quality)
	}{
		{Warning, "clipping", func(q *ingest.Quality) { q.ClippingKnown, q.ClippedHigh = true, 7 }},
		{Note, "clipping", func(q *ingest.Quality) { q.MMPerCount = 0.05 }},
		{Warning, "rows", func(q *ingest.Quality) { q.Rows, q.BadRows = 100, 3 }},
		{Warning, "gaps", func(q *ingest.Quality) { q.Splits = []ingest.Gap{{StartS: 3, DurationS: 2}} }},
		{Note, "gaps", func(q *ingest.Quality) { q.LostSamples = 4 }},
		{Note, "gaps", func(q *ingest.Quality) { q.ShortSegments, q.ShortSegmentsS = 1, 0.2 }},
		{Note, "clock", func(q *ingest.Quality) { q.BackwardStamps = 2 }},
		{Note, "clock", func(q *ingest.Quality) { q.Resampled = true }},
		{Note, "spikes", func(q *ingest.Quality) { q.SpikeRuns, q.SpikeSamples = 1, 2 }},
		{Warning, "spikes", func(q *ingest.Quality) { q.LongSpikeRuns = 1 }},
	} {
		r := *clean
		trace := *clean.trace
		c.set(&trace.Quality)
		r.trace = &trace
		before, after := len(clean.recordingCaveats()), r.recordingCaveats()
		if len(after) != before+1 || !has(after, c.severity, c.topic) {
			t.Errorf("want a %s about %s, got %+v", c.severity, c.topic, after)
		}
	}
}

// Without riding every figure about riding is absent with that reason, and the result is still valid JSON.
func TestNoRiding(t *testing.T) {
	r := rideOf(t, 1000, constant(20000, 35))
	res, _, err := runOf(r)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range res.Scalars() {
		if s.Group == "Travel" || s.Group == "Velocity" || s.Group == "Strokes" || s.Group == "Reversals" || s.Group == "Air" {
			gone(t, s.Key, s.Figure)
		}
	}
	near(t, "riding time", res.Ride.RidingS, 0, 0)
	if res.Travel.MaxAtS != nil {
		t.Errorf("the deepest travel of nothing is at %g s", *res.Travel.MaxAtS)
	}
	near(t, "static sag", res.Sag.StaticMM, 35, 1e-9)
	if !has(res.Caveats, Warning, "riding") {
		t.Error("no warning that there was no riding")
	}
	if _, err := json.Marshal(res); err != nil {
		t.Error(err)
	}
}

func TestRunErrors(t *testing.T) {
	good := traceOf(1000, constant(1000, 30))
	with := func(change func(*ingest.Trace, *Options)) error {
		trace, opt := *good, DefaultOptions()
		trace.Segments = append([]ingest.Segment(nil), good.Segments...)
		change(&trace, &opt)
		_, _, err := Run(&trace, opt)
		return err
	}
	if err := with(func(*ingest.Trace, *Options) {}); err != nil {
		t.Fatal(err)
	}
	for want, change := range map[string]func(*ingest.Trace, *Options){
		"no segment":        func(tr *ingest.Trace, _ *Options) { tr.Segments = nil },
		"no samples":        func(tr *ingest.Trace, _ *Options) { tr.Segments = []ingest.Segment{{}} },
		"fork travel":       func(tr *ingest.Trace, _ *Options) { tr.Fork.TravelMM = 0 },
		"sample rate":       func(tr *ingest.Trace, _ *Options) { tr.RateHz = math.NaN() },
		"calibration":       func(tr *ingest.Trace, _ *Options) { tr.Segments[0].TravelMM = []float64{1, math.NaN(), 3} },
		"cutoff_hz":         func(_ *ingest.Trace, o *Options) { o.CutoffHz = 600 },
		"filter_order":      func(_ *ingest.Trace, o *Options) { o.FilterOrder = 0 },
		"cell_s":            func(_ *ingest.Trace, o *Options) { o.CellS = 0 },
		"velocity_bin_mm_s": func(_ *ingest.Trace, o *Options) { o.VelocityBinMMS = 1e-6 },
	} {
		if err := with(change); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("error %v, want one about %q", err, want)
		}
	}
}
