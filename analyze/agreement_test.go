package analyze_test

import (
	"math"
	"strings"
	"testing"

	"stanchion/analyze"
	"stanchion/ingest"
	"stanchion/sampledata/ridesim"
)

// tolerance is how far a figure may be off when the same ride is logged in another way: a share of its value plus an
// absolute part in its unit.
type tolerance struct {
	key      string // full key, or the end of one after "*"
	relative float64
	absolute float64
}

// tolerances is tried from the top. Every scalar figure must find its row.
func tolerances() []tolerance {
	return []tolerance{
		{"quality.noise_floor_mm_s", 0, 3}, // rounding to codes is noise
		{"quality.shortest_reversal_s", 0, 1e-3},
		{"quality.*", 0, 0.05},
		{"packing.per_min", 0, 0.05},
		{"*per_min", 0.01, 0},
		{"ride.*", 0, 0.25}, // one cell
		{"air.extended_s", 0, 0.005},
		{"air.*", 0, 0}, // events: exact
		{"travel.bottom_outs*", 0, 0},
		{"travel.top_outs*", 0, 0},
		{"brake_dive.*", 0, 0},
		{"packing.count", 0, 0},
		{"packing.reference_mm", 0, 0.1},
		{"packing.*", 0, 0.1},
		{"return.not_back_share", 0, 0.01},
		{"return.*", 0, 0.004},
		{"reversals.*", 0, 0.003},
		{"strokes.compression.count", 0.01, 0},
		{"strokes.rebound.count", 0.01, 0},
		{"*duration_s", 0, 0.003},
		{"*short_share", 0, 0.02},
		{"strokes.*amplitude_mm", 0, 0.5},
		{"strokes.*", 0.01, 0},
		{"sag.*", 0, 0.1},
		{"travel.*", 0, 0.1},
		{"velocity.*share", 0, 0.005},
		{"velocity.*", 0.01, 0},
		{"spectrum.windows", 0, 0},
		{"spectrum.*hz", 0, 0.05},
		{"spectrum.*", 0.005, 0},
		{"rough.*", 0.005, 0},
		{"damping.*", 0, 0.02},
	}
}

// toleranceOf finds the row of a key. "*" stands for anything, once.
func toleranceOf(key string) (tolerance, bool) {
	for _, t := range tolerances() {
		before, after, star := strings.Cut(t.key, "*")
		if t.key == key || (star && len(key) >= len(before)+len(after) && strings.HasPrefix(key, before) && strings.HasSuffix(key, after)) {
			return t, true
		}
	}
	return tolerance{}, false
}

// scalarsOf takes a simulated ride, logged by the sensor of p, all the way to its figures.
func scalarsOf(t *testing.T, p ridesim.Params) []analyze.Scalar {
	t.Helper()
	log, _, err := ridesim.Ride(p)
	if err != nil {
		t.Fatal(err)
	}
	trace, err := ingest.Prepare(log.Recording("ride"), log.Setup(p.Fork), ingest.DefaultPrepareOptions())
	if err != nil {
		t.Fatal(err)
	}
	res, _, err := analyze.Run(trace, analyze.DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	return res.Scalars()
}

// The same simulated ride gives the same figures however it was logged: at half the rate, in ADC counts instead of mm,
// in volts, with unsteady stamps, with one sample in a hundred lost, or with all of it together.
func TestSameRideLoggedDifferently(t *testing.T) {
	ride := ridesim.DefaultParams()
	ride.Sensor = ridesim.CleanSensor(1000)
	want := scalarsOf(t, ride)
	sensors := map[string]func(*ridesim.Sensor){
		"500 Hz":   func(s *ridesim.Sensor) { s.RateHz = 500 },
		"counts":   func(s *ridesim.Sensor) { *s = ridesim.DefaultSensor(); s.NoiseMM, s.JitterS = 0, 0 },
		"percent":  func(s *ridesim.Sensor) { s.Unit = ingest.UnitPercent },
		"jitter":   func(s *ridesim.Sensor) { s.JitterS = 150e-6 },
		"1 % lost": func(s *ridesim.Sensor) { s.LostShare = 0.01 },
		"all at once": func(s *ridesim.Sensor) {
			*s = ridesim.DefaultSensor()
			s.RateHz, s.JitterS, s.LostShare, s.Spikes, s.SpikeMM = 500, 150e-6, 0.01, 5, 30
		},
	}
	for name, change := range sensors {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			p := ride
			change(&p.Sensor)
			got := scalarsOf(t, p)
			for i, w := range want {
				compareScalars(t, w, got[i])
			}
		})
	}
}

func compareScalars(t *testing.T, want, got analyze.Scalar) {
	t.Helper()
	tol, ok := toleranceOf(want.Key)
	if !ok {
		t.Errorf("%s has no row in the table of tolerances", want.Key)
		return
	}
	w, present := want.Figure.Get()
	g, also := got.Figure.Get()
	switch {
	case present != also:
		t.Errorf("%s: present %v, logged differently %v (%s%s)", want.Key, present, also, want.Figure.Reason(), got.Figure.Reason())
	case math.Abs(g-w) > tol.absolute+tol.relative*math.Abs(w):
		t.Errorf("%s: %.6g, logged differently %.6g: more than %g + %g %% apart", want.Key, w, g, tol.absolute, 100*tol.relative)
	}
}
