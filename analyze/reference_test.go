package analyze

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// rideReference is testdata/ride_reference.json, made by ride_reference.py with SciPy 1.10.1 and NumPy 1.24.2.
type rideReference struct {
	RidingSamples  int                  `json:"riding_samples"`
	CellRMS        []float64            `json:"cell_rms"`
	StaticSag      float64              `json:"static_sag_mm"`
	Quantiles      []float64            `json:"travel_quantiles"`
	Mean           float64              `json:"travel_mean"`
	Max            float64              `json:"travel_max"`
	TravelCounts   []int                `json:"travel_counts"`
	BelowRange     int                  `json:"below_range"`
	VelocityCounts []int                `json:"velocity_counts"`
	TravelShare    []float64            `json:"velocity_travel_share"`
	Regimes        []float64            `json:"regimes"`
	Speeds         map[string][]float64 `json:"speeds"`
	AtDepth        []float64            `json:"at_depth"`
	TravelledM     float64              `json:"travelled_m"`
	Density        [][]int              `json:"density"`
	Strokes        [][5]float64         `json:"strokes"`
	Reversals      map[string][]float64 `json:"reversals"`
	ZeroQuantile   float64              `json:"zero_quantile"`
}

// referenceRide is the same made-up ride as in ride_reference.py.
func referenceRide() []float64 {
	x := make([]float64, 20000)
	for i := range x {
		t := float64(i) / 1000
		s := func(k float64) float64 { return math.Sin(k * 2 * math.Pi * t) }
		gust := s(0.11) * s(0.11)
		x[i] = 42 + 17*s(1.31) + gust*(38*math.Sin(2.83*2*math.Pi*t+1)+15*s(7.9)+5*s(23.3)) + 3*s(0.29)
		if t < 3 {
			x[i] = 41 + 0.4*s(0.6)
		}
		if x[i] < 1 {
			x[i] = 1 + 0.1*(x[i]-1)
		}
	}
	return x
}

func readRideReference(t *testing.T) rideReference {
	t.Helper()
	b, err := os.ReadFile("testdata/ride_reference.json")
	if err != nil {
		t.Fatal(err)
	}
	var ref rideReference
	if err := json.Unmarshal(b, &ref); err != nil {
		t.Fatal(err)
	}
	return ref
}

// listNear fails where two lists differ by more than tol anywhere.
func listNear(t *testing.T, what string, got, want []float64, tol float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%s: %d values, want %d", what, len(got), len(want))
	}
	for i := range got {
		if !(math.Abs(got[i]-want[i]) <= tol) {
			t.Errorf("%s %d: %.9g, want %.9g ± %g", what, i, got[i], want[i], tol)
		}
	}
}

func values(t *testing.T, figures ...Figure) []float64 {
	t.Helper()
	out := make([]float64, len(figures))
	for i, f := range figures {
		v, ok := f.Get()
		if !ok {
			t.Fatalf("figure %d is absent: %s", i, f.Reason())
		}
		out[i] = v
	}
	return out
}

// Tolerances: travel 1e-6 mm (the filters agree to 1e-8 but at the very ends); velocity 1 mm/s, because the finite differences
// of the reference fall 1e-3 short at 100 Hz, and the ride has a step in it; counts of velocity bins may therefore move
// by two samples.
func TestAgainstSciPy(t *testing.T) {
	ref := readRideReference(t)
	r := rideOf(t, 1000, referenceRide())
	if r.all.n != ref.RidingSamples {
		t.Errorf("%d riding samples, want %d", r.all.n, ref.RidingSamples)
	}
	var rms []float64
	for _, c := range r.segs[0].cells {
		rms = append(rms, c.rms)
	}
	listNear(t, "cell RMS", rms, ref.CellRMS, 0.5)

	strokes := r.strokes().List
	tr := r.travel(strokes)
	listNear(t, "travel quantile", values(t, tr.Q05MM, tr.Q25MM, tr.Q50MM, tr.Q75MM, tr.Q95MM, tr.Q99MM), ref.Quantiles, 1e-6)
	near(t, "deepest", tr.MaxMM, ref.Max, 1e-6)
	for k, n := range ref.TravelCounts {
		if got := int(math.Round(tr.TimeShare[k] * float64(r.all.n))); got != n {
			t.Errorf("travel bin %d: %d samples, want %d", k, got, n)
		}
	}
	if tr.BelowRange != ref.BelowRange || tr.AboveRange != 0 {
		t.Errorf("%d samples below and %d above the range, want %d and 0", tr.BelowRange, tr.AboveRange, ref.BelowRange)
	}
	sag := r.sag()
	near(t, "dynamic sag, mean", sag.DynamicMeanMM, ref.Mean, 1e-6)
	near(t, "dynamic sag, median", sag.DynamicMM, ref.Quantiles[2], 1e-6)
	near(t, "static sag", sag.StaticMM, ref.StaticSag, 1e-6)
	near(t, "zero offset", r.zeroOffset(), ref.ZeroQuantile, 1e-9)
	compareVelocity(t, r, ref)
	rev := r.reversals(compareStrokes(t, strokes, ref), nil)
	listNear(t, "reversal, compression to rebound", rev.TimesCR, ref.Reversals["cr"], 2e-5)
	listNear(t, "reversal, rebound to compression", rev.TimesRC, ref.Reversals["rc"], 2e-5)
}

func compareVelocity(t *testing.T, r *ride, ref rideReference) {
	t.Helper()
	v := r.velocity()
	c, b := v.Compression, v.Rebound
	listNear(t, "compression speed", values(t, c.MeanMMS, c.MedianMMS, c.Q95MMS, c.Q99MMS), ref.Speeds["compression"][:4], 0.2)
	listNear(t, "rebound speed", values(t, b.MeanMMS, b.MedianMMS, b.Q95MMS, b.Q99MMS), ref.Speeds["rebound"][:4], 0.2)
	near(t, "largest compression speed", c.MaxMMS, ref.Speeds["compression"][4], 2)
	near(t, "largest rebound speed", b.MaxMMS, ref.Speeds["rebound"][4], 10) // in the step: 0.1 %
	listNear(t, "speed at a depth", values(t, v.AtDepth.ReboundMMS, v.AtDepth.CompressionQ70MMS), ref.AtDepth, 0.5)
	near(t, "travelled", v.TravelledM, ref.TravelledM, 1e-4)
	g := v.Regimes
	listNear(t, "regime", values(t, g.Still, g.LowCompression, g.HighCompression, g.LowRebound, g.HighRebound), ref.Regimes, 1e-4)
	listNear(t, "travel share", v.TravelShare, ref.TravelShare, 5e-4)
	density := r.density()
	if len(v.TimeShare) != len(ref.VelocityCounts) {
		t.Fatalf("%d velocity bins, want %d", len(v.TimeShare), len(ref.VelocityCounts))
	}
	for k, n := range ref.VelocityCounts {
		if got := v.TimeShare[k] * float64(r.all.n); math.Abs(got-float64(n)) > 2.1 {
			t.Errorf("velocity bin %d: %g samples, want %d", k, got, n)
		}
		for i := range ref.Density {
			if k == 0 { // holds the under-range samples too, which the reference leaves out
				continue
			}
			if got := density.Share[i][k] * float64(r.all.n); math.Abs(got-float64(ref.Density[i][k])) > 2.1 {
				t.Errorf("density of travel bin %d, velocity bin %d: %g samples, want %d", i, k, got, ref.Density[i][k])
			}
		}
	}
}

// compareStrokes compares all strokes but those at the ends of the recording, where prominence and hysteresis differ
// by definition. It returns what it compared.
func compareStrokes(t *testing.T, strokes []Stroke, ref rideReference) []Stroke {
	t.Helper()
	inner := strokes[:0:0]
	last := ref.Strokes[len(ref.Strokes)-1][1]
	for _, s := range strokes {
		if s.StartS >= ref.Strokes[0][0]-1e-9 && s.EndS <= last+1e-9 {
			inner = append(inner, s)
		}
	}
	if len(inner) != len(ref.Strokes) || len(strokes)-len(inner) > 2 {
		t.Fatalf("%d strokes, %d of them inner ones, want %d", len(strokes), len(inner), len(ref.Strokes))
	}
	for i, s := range inner {
		want := ref.Strokes[i]
		got := []float64{s.StartS, s.EndS, s.StartMM, s.EndMM}
		listNear(t, "stroke", got, want[:4], 1e-6)
		if math.Abs(s.PeakMMS-want[4]) > 1e-3*want[4]+0.5 {
			t.Errorf("stroke at %g s: peak speed %g, want %g", s.StartS, s.PeakMMS, want[4])
		}
	}
	return inner
}
