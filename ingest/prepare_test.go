package ingest

import "testing"

func TestPrepareRideLog(t *testing.T) {
	for _, c := range []struct {
		name      string
		jitter    float64
		lose      int
		samples   int
		lost      int
		resampled bool
	}{
		{"clean", 0, 0, 60000, 0, false},
		{"jittered", 60, 0, 60000, 0, true},
		{"every 200th sample lost", 5, 200, 59999, 299, false}, // the last one is lost without trace
	} {
		t.Run(c.name, func(t *testing.T) {
			tr, err := Prepare(rideLog(60000, c.jitter, c.lose), benchSetup, DefaultPrepareOptions())
			if err != nil {
				t.Fatal(err)
			}
			q := tr.Quality
			if q.Samples != c.samples || q.LostSamples != c.lost || q.Resampled != c.resampled || tr.RateHz != 1000 {
				t.Errorf("got %+v", q)
			}
		})
	}
}
