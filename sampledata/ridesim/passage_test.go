package ridesim

import (
	"math"
	"reflect"
	"testing"
)

// descentRuns are three short runs of one trail.
func descentRuns() TrailRuns {
	return TrailRuns{
		Base:  Params{Seed: 2, Fork: DefaultFork(), Course: descent(), Sensor: CleanSensor(200)},
		Shape: Shape{Seed: 2}, Seed: 6, Paces: []float64{0.9, 1, 1.1}, Variation: DefaultVariation(), LineM: 0.3,
		Receiver: OpenGround(5), OffsetStepS: -2.5,
		Gates: []Gate{{"start", 20}, {"split", 150}, {"finish", 290}},
	}
}

func TestTrailRuns(t *testing.T) {
	runs, err := descentRuns().Ride()
	if err != nil {
		t.Fatal(err)
	}
	first := descentRuns()
	first.Paces = first.Paces[:1]
	again, err := first.Ride()
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(runs[0], again[0]) {
		t.Error("not the same run again")
	}
	last := math.Inf(1)
	for i, r := range runs {
		s := r.Passage.Truth.Summary
		if took := s.Gates[2].TimeS - s.Gates[0].TimeS; took >= last {
			t.Errorf("run %d takes %.2f s at a faster pace, the one before %.2f", i+1, took, last)
		} else {
			last = took
		}
		if want := -2.5 * float64(i); r.Offset != want || s.Receiver.OffsetS != want {
			t.Errorf("run %d: offset %g, want %g", i+1, r.Offset, want)
		}
		if r.Passage.Trail != runs[0].Passage.Trail {
			t.Errorf("run %d is on another trail", i+1)
		}
		if i > 0 && (r.Track.Fixes[0] == runs[0].Track.Fixes[0] || r.Passage.Line == runs[0].Passage.Line) {
			t.Errorf("run %d has the errors or the line of run 1", i+1)
		}
		for _, g := range s.Gates { // station and time agree: 1e-6 m of interpolation at up to 8 m/s
			if off := math.Abs(r.Passage.StationM(g.TimeS) - g.StationM); off > 1e-6 {
				t.Errorf("run %d, %s: off by %g m", i+1, g.Name, off)
			}
		}
		if len(s.Flights) == 0 {
			t.Fatalf("run %d: no flight over a jump", i+1)
		}
		for _, f := range s.Flights { // stations of a flight are those of its times
			if math.Abs(r.Passage.StationM(f.StartS)-f.StartM) > 1e-9 || math.Abs(r.Passage.StationM(f.EndS)-f.EndM) > 1e-9 {
				t.Errorf("run %d: flight %+v", i+1, f)
			}
		}
	}
	if _, err := (TrailRuns{Base: DefaultParams()}).Ride(); err == nil {
		t.Error("no runs, no error")
	}
}

// On a steady ride the times at stations are known exactly.
func TestTimeAt(t *testing.T) {
	p := steady(t, 5, 20)
	for _, station := range []float64{0, 0.3, 12.34, 99.99, 100} {
		got, err := p.TimeAt(station)
		if err != nil || math.Abs(got-station/5) > 1e-9 {
			t.Errorf("%g m at %g s, %v; want %g", station, got, err, station/5)
		}
	}
	for _, station := range []float64{-1, 100.01, math.NaN()} {
		if _, err := p.TimeAt(station); err == nil {
			t.Errorf("reaches %g m", station)
		}
	}
	if _, err := p.Gates([]Gate{{"far", 1000}}); err == nil {
		t.Error("passes a gate beyond the ride")
	}
	stands := Passage{Trail: p.Trail, Truth: &Truth{RateHz: 10, DistanceM: []float64{0, 0, 0, 1, 1, 1}, SpeedMS: make([]float64, 6)}}
	for station, want := range map[float64]float64{0: 0.2, 0.5: 0.25, 1: 0.3} {
		if got, err := stands.TimeAt(station); err != nil || math.Abs(got-want) > 1e-12 {
			t.Errorf("standing: %g m at %g s, %v; want %g", station, got, err, want)
		}
	}
}

// A line lies RMSM from the middle, on either side.
func TestLineHasItsRMS(t *testing.T) {
	l := Line{Seed: 3, RMSM: 0.4}
	var off []float64
	mean := 0.0
	for s := 0.0; s < 20000; s++ {
		off = append(off, l.rightM(s))
		mean += off[len(off)-1] / 20000
	}
	if got := rms(off); math.Abs(got-0.4) > 0.01 || math.Abs(mean) > 0.01 {
		t.Errorf("RMS %.4f m about %.4f, want 0.4 about 0", got, mean)
	}
}
