package ingest

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// reference holds the values of testdata/prepare_reference.json, made with SciPy 1.10 (PchipInterpolator) and NumPy
// (polyfit, median) by the script beside it.
type reference struct {
	Curves []struct {
		Reading, Travel, At, Want []float64
	}
	Lines []struct {
		Reading, Travel    []float64
		Slope, Offset, RMS float64
	}
	Bridges []struct {
		Steps, X, Want []float64
	}
	Resampled []struct {
		T, X, Want []float64
		Period     float64
	}
	Hampel []struct {
		X           []float64
		Half        int
		MADs, Least float64
		Want        [][2]float64
	}
}

func loadReference(t *testing.T) (r reference) {
	t.Helper()
	raw, err := os.ReadFile("testdata/prepare_reference.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, &r); err != nil {
		t.Fatal(err)
	}
	return r
}

// near fails the test unless got and want agree to 1e-9 everywhere.
func near(t *testing.T, what string, got, want []float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Errorf("%s: %d values, want %d", what, len(got), len(want))
		return
	}
	for i := range want {
		if !(math.Abs(got[i]-want[i]) <= 1e-9) {
			t.Errorf("%s: value %d is %.12g, want %.12g", what, i, got[i], want[i])
			return
		}
	}
}

func points(reading, travel []float64) []CalibrationPoint {
	var p []CalibrationPoint
	for i := range reading {
		p = append(p, CalibrationPoint{Reading: reading[i], TravelMM: travel[i]})
	}
	return p
}

func TestCalibrationCurveReference(t *testing.T) {
	for _, c := range loadReference(t).Curves {
		cal, err := newCalibration(UnitVolts, Setup{Fork: Fork{TravelMM: 170}, Sensor: Sensor{Method: CalibratePCHIP, Points: points(c.Reading, c.Travel)}})
		if err != nil {
			t.Fatal(err)
		}
		cal.apply(c.At)
		near(t, "curve", c.At, c.Want)
	}
}

func TestCalibrationLineReference(t *testing.T) {
	for _, c := range loadReference(t).Lines {
		cal, err := newCalibration(UnitCounts, Setup{Fork: Fork{TravelMM: 170}, Sensor: Sensor{Points: points(c.Reading, c.Travel)}})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "slope, offset, RMS, mm per count", []float64{cal.slope, cal.offset, cal.rmsMM, cal.mmPerUnit},
			[]float64{c.Slope, c.Offset, c.RMS, math.Abs(c.Slope)})
	}
}

func TestBridgeReference(t *testing.T) {
	for _, c := range loadReference(t).Bridges {
		got := make([]float64, len(c.Want))
		fillHoles(got, c.X, findHoles(c.Steps, 1))
		near(t, "bridge", got, c.Want)
	}
}

func TestResampleReference(t *testing.T) {
	for _, c := range loadReference(t).Resampled {
		got := make([]float64, len(c.Want))
		resample(got, c.T, c.X, c.Period)
		near(t, "resampled", got, c.Want)
	}
}

func TestHampelReference(t *testing.T) {
	for _, c := range loadReference(t).Hampel {
		opt := PrepareOptions{SpikeHalfWindow: c.Half, SpikeMADs: c.MADs, SpikeMinMM: c.Least}
		var got, want []float64
		for _, s := range findSpikes(c.X, opt) {
			got = append(got, float64(s.at), s.median)
		}
		for _, w := range c.Want {
			want = append(want, w[0], w[1])
		}
		if len(want) == 0 {
			t.Error("the reference holds no spike")
		}
		near(t, "spikes", got, want)
	}
}

// A march may begin at any instant: the curve is the same.
func TestResampleFromAnyInstant(t *testing.T) {
	for _, c := range loadReference(t).Resampled {
		for first := range c.Want {
			got := make([]float64, len(c.Want)-first)
			resampleFrom(got, c.T, c.X, c.Period, first)
			near(t, "resampled", got, c.Want[first:])
		}
	}
}
