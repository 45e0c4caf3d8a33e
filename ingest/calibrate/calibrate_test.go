package calibrate

import (
	"encoding/json"
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"stanchion/ingest"
	"stanchion/ingest/setup"
)

// reference holds values from testdata/reference.py.
type reference struct {
	Velocity []struct {
		NoiseMM  float64 `json:"noise_mm"`
		RateHz   float64 `json:"rate_hz"`
		CutoffHz float64 `json:"cutoff_hz"`
		Quad     float64 `json:"quad"`
		Drawn    float64 `json:"drawn"`
	} `json:"velocity"`
	Points     [][2]float64 `json:"points"`
	ResidualMM float64      `json:"residual_mm"`
	WorstMM    float64      `json:"worst_mm"`
}

func readReference(t *testing.T) (r reference) {
	b, err := os.ReadFile("testdata/reference.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, &r); err != nil {
		t.Fatal(err)
	}
	return r
}

func near(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*math.Abs(want)) {
		t.Errorf("%s is %.10g, want %.10g within %g of it", what, got, want, relative)
	}
}

// point makes a point of a still hold.
func point(mm, reading float64) Point {
	return Point{Name: "point", TravelMM: mm, Reading: reading, Noise: 0.6, RateHz: 1000, Samples: 2000}
}

func options() Options { return Options{Unit: ingest.UnitCounts, ADCBits: 12, ForkTravelMM: 160} }

// The velocity that noise gives: against quadrature by SciPy and against noise drawn and differentiated by NumPy.
func TestVelocityAgainstSciPy(t *testing.T) {
	for _, c := range readReference(t).Velocity {
		a, b := point(0, 0.1), point(160, 2.1)
		a.RateHz, b.RateHz = c.RateHz, c.RateHz
		a.Noise, b.Noise = c.NoiseMM/80, c.NoiseMM/80 // 80 mm a unit
		r, err := Fit([]Point{a, b}, Options{Unit: ingest.UnitVolts, ForkTravelMM: 160})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "cutoff", r.CutoffHz, c.CutoffHz, 1e-12)
		near(t, "velocity", r.VelocityMMS, 3*c.Quad, 1e-9)
		near(t, "velocity of drawn noise", r.VelocityMMS, 3*c.Drawn, 0.01)
	}
}

func TestResidualAgainstSciPy(t *testing.T) {
	ref := readReference(t)
	var p []Point
	for _, v := range ref.Points {
		p = append(p, point(v[1], v[0]))
	}
	r, err := Fit(p, options())
	if err != nil {
		t.Fatal(err)
	}
	near(t, "residual", r.ResidualMM, ref.ResidualMM, 1e-9)
	near(t, "worst", r.WorstMM, ref.WorstMM, 1e-9)
	if r.Sensor.Method != ingest.CalibrateLinear {
		t.Errorf("method %s, want a line for points within %g mm", r.Sensor.Method, r.WorstMM)
	}
}

// A hold with a movement before and after it, noise of known size, and lost readings.
func TestMeasure(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	h := Hold{Name: "hold", TravelMM: 80, RateHz: 1000}
	for i := range 8000 {
		v := 2000.0
		if i < 2500 || i > 6000 {
			v += 300 * math.Sin(float64(i)/200)
		}
		v += 1.5 * rng.NormFloat64()
		if i%50 == 7 {
			v = math.NaN()
		}
		h.Readings = append(h.Readings, v)
	}
	p, err := Measure(h)
	if err != nil {
		t.Fatal(err)
	}
	// The mean of 2000 samples of noise 1.5 is within 0.15 by over four standard deviations; their RMS within a tenth by more.
	near(t, "reading", p.Reading, 2000, 0.15/2000)
	near(t, "noise", p.Noise, 1.5, 0.1)
	if p.Samples != 2000 || p.Wander > 0.3 {
		t.Errorf("%d samples that wander by %g, want 2000 by next to nothing", p.Samples, p.Wander)
	}
}

func TestMeasureRefuses(t *testing.T) {
	nan := make([]float64, 1000)
	for i := range nan {
		nan[i] = math.NaN()
	}
	for name, c := range map[string]struct {
		h    Hold
		want string
	}{
		"short":   {Hold{RateHz: 1000, Readings: make([]float64, 300)}, "too few"},
		"no rate": {Hold{Readings: make([]float64, 3000)}, "too few"},
		"empty":   {Hold{RateHz: 1000}, "too few"},
		"nan":     {Hold{RateHz: 1000, Readings: nan}, "no reading"},
	} {
		if _, err := Measure(c.h); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want %q", name, err, c.want)
		}
	}
}

func TestFitRefuses(t *testing.T) {
	moved := point(160, 3700)
	moved.Wander = 40
	for name, c := range map[string]struct {
		p    []Point
		want string
	}{
		"one":         {[]Point{point(0, 300)}, "needs two points"},
		"same travel": {[]Point{point(0, 300), point(0, 400), point(160, 3700)}, "both at 0 mm"},
		"too deep":    {[]Point{point(0, 300), point(190, 3700)}, "not within the fork's travel"},
		"too close":   {[]Point{point(0, 300), point(30, 900)}, "only 30 mm apart"},
		"dead":        {[]Point{point(0, 300), point(160, 301)}, "hardly changes"},
		"turns back":  {[]Point{point(0, 300), point(80, 3800), point(160, 3700)}, "turns back"},
		"end stop":    {[]Point{point(0, 300), point(110, 3650), point(160, 3652)}, "end of its stroke"},
		"saturated":   {[]Point{point(0, 0), point(160, 3700)}, "end of the converter's range"},
		"moved":       {[]Point{point(0, 300), moved}, "moved by 1.9 mm"},
	} {
		_, err := Fit(c.p, options())
		var h ingest.Hinted
		if err == nil || !strings.Contains(err.Error(), c.want) || !errors.As(err, &h) || h.Hint == "" {
			t.Errorf("%s: error %v, want %q and a hint", name, err, c.want)
		}
	}
}

func TestFitWarns(t *testing.T) {
	quiet := point(160, 3700)
	quiet.Noise = 0
	noisy := point(0, 300)
	noisy.Noise = 2
	for name, c := range map[string]struct {
		p    []Point
		want string
	}{
		"no zero":    {[]Point{point(10, 300), point(160, 3700)}, "lowest point is at 10 mm"},
		"short":      {[]Point{point(0, 300), point(60, 1500)}, "cover 38 % of the travel"},
		"small":      {[]Point{point(0, 300), point(160, 500)}, "only 5 % of the converter's range"},
		"near end":   {[]Point{point(0, 300), point(100, 2700)}, "at full travel the reading comes to 4140"},
		"stands":     {[]Point{noisy, quiet}, "does not change at all"},
		"near start": {[]Point{point(0, 20), point(160, 3700)}, "at full extension"},
	} {
		r, err := Fit(c.p, options())
		if err != nil {
			t.Errorf("%s: %v", name, err)
		} else if got := strings.Join(r.Warnings, "\n"); !strings.Contains(got, c.want) {
			t.Errorf("%s: warnings %q, want %q", name, got, c.want)
		}
	}
	r, err := Fit([]Point{point(0, 310), point(80, 2015), point(160, 3720)}, options())
	if err != nil || len(r.Warnings) != 0 || r.Falling {
		t.Errorf("a good calibration: %v, warnings %q, falling %v", err, r.Warnings, r.Falling)
	}
}

// A sensor on a lever is off a line: the curve is chosen.
func TestCurve(t *testing.T) {
	r, err := Fit([]Point{point(0, 3800), point(50, 3000), point(100, 1900), point(160, 300)}, options())
	if err != nil {
		t.Fatal(err)
	}
	if r.Sensor.Method != ingest.CalibratePCHIP || !r.Falling {
		t.Errorf("method %s, falling %v, want a curve that falls", r.Sensor.Method, r.Falling)
	}
}

// Whatever the sensor, the calibration gives back its travel, and its file is read back as it was.
func TestFitGivesBackTravel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		travel := rapid.Float64Range(80, 220).Draw(t, "travel")
		zero := rapid.Float64Range(400, 1500).Draw(t, "zero")
		span := rapid.Float64Range(500, 2400).Draw(t, "span")
		n := rapid.IntRange(2, 6).Draw(t, "points")
		if rapid.Bool().Draw(t, "falling") {
			zero, span = zero+span, -span
		}
		var p []Point
		for i := range n {
			mm := math.Round(travel * float64(i) / float64(n-1))
			p = append(p, point(min(mm, travel), zero+span*min(mm, travel)/travel))
		}
		r, err := Fit(p, Options{Unit: ingest.UnitCounts, ADCBits: 12, ForkTravelMM: travel})
		if err != nil {
			t.Fatal(err)
		}
		s := ingest.Setup{Fork: ingest.Fork{TravelMM: travel}, Sensor: r.Sensor}
		file, err := setup.Parse("fork.toml", []byte(setup.Format(s, r.Warnings)))
		if err != nil {
			t.Fatal(err)
		}
		of, err := ingest.TravelOf(ingest.UnitCounts, file.Setup)
		if err != nil {
			t.Fatal(err)
		}
		for _, mm := range []float64{0, travel / 3, travel} {
			// Readings are rounded to a thousandth of a millimetre.
			if got := of(zero + span*mm/travel); math.Abs(got-mm) > 0.002 {
				t.Fatalf("%g mm reads %g mm", mm, got)
			}
		}
	})
}
