package analyze

import (
	"math"
	"testing"

	"stanchion/ingest"
)

// traceOf makes a trace of a 160 mm fork. Segments are 100 s apart.
func traceOf(fs float64, segments ...[]float64) *ingest.Trace {
	t := &ingest.Trace{Source: "test", Fork: ingest.Fork{TravelMM: 160}, RateHz: fs, Options: ingest.DefaultPrepareOptions()}
	for i, x := range segments {
		t.Segments = append(t.Segments, ingest.Segment{StartS: 100 * float64(i), TravelMM: x})
		t.Quality.Samples += len(x)
	}
	t.Quality.RateHz = fs
	return t
}

// rideOf analyses the segments with default options.
func rideOf(t testing.TB, fs float64, segments ...[]float64) *ride {
	t.Helper()
	r, err := newRide(traceOf(fs, segments...), DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// sine is seconds of centre + amplitude·sin(2π·hz·t).
func sine(fs, seconds, centre, amplitude, hz float64) []float64 {
	x := make([]float64, int(math.Round(seconds*fs)))
	for i := range x {
		x[i] = centre + amplitude*math.Sin(2*math.Pi*hz*float64(i)/fs)
	}
	return x
}

// near fails unless the figure is present and within tol of want.
func near(t *testing.T, what string, f Figure, want, tol float64) {
	t.Helper()
	v, ok := f.Get()
	if !ok {
		t.Errorf("%s is absent (%s), want %g", what, f.Reason(), want)
		return
	}
	if math.Abs(v-want) > tol {
		t.Errorf("%s is %.9g, want %.9g ± %g", what, v, want, tol)
	}
}

// gone fails unless the figure is absent with a reason.
func gone(t *testing.T, what string, f Figure) {
	t.Helper()
	if v, ok := f.Get(); ok {
		t.Errorf("%s is %g, want it absent", what, v)
	} else if f.Reason() == "not computed" {
		t.Errorf("%s is absent without a reason", what)
	}
}
