package ingest

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
)

// steady is a log of n equal readings at 1 kHz.
func steady(n int, unit Unit, reading float64) *Recording {
	return &Recording{Source: "run.csv", Unit: unit, Clock: Clock{Kind: ClockNone, RateHz: 1000},
		Travel: slices.Repeat([]float64{reading}, n)}
}

func TestUnits(t *testing.T) {
	two := []CalibrationPoint{{Reading: 200, TravelMM: 0}, {Reading: 3600, TravelMM: 170}}
	tests := []struct {
		name    string
		log     Unit
		reading float64
		sensor  Sensor
		want    float64
		caution string
	}{
		{"mm", UnitMM, 42, Sensor{}, 42, ""},
		{"per cent", UnitPercent, 50, Sensor{}, 85, ""},
		{"counts", UnitCounts, 1900, Sensor{Points: two}, 85, ""},
		{"the setup names the unit", UnitUnknown, 1900, Sensor{Unit: UnitCounts, Points: two}, 85, ""},
		{"the setup overrules", UnitMM, 1900, Sensor{Unit: UnitCounts, Points: two}, 85, "the log says its travel is in mm, the fork's setup says counts"},
		{"volts", UnitVolts, 2.5, Sensor{Points: []CalibrationPoint{{4.5, 0}, {0.5, 160}}}, 80, ""},
		{"mm through points", UnitMM, 10, Sensor{Points: []CalibrationPoint{{0, 5}, {20, 45}}}, 25, ""},
		{"re-zeroed", UnitMM, 42, Sensor{ZeroOffsetMM: 1.5}, 40.5, ""},
		{"re-zeroed curve", UnitVolts, 2, Sensor{Method: CalibratePCHIP, ZeroOffsetMM: 1, Points: []CalibrationPoint{{1, 0}, {2, 70}, {3, 150}}}, 69, ""},
		{"does not fit", UnitCounts, 4000, Sensor{Points: []CalibrationPoint{{0, 0}, {1000, 170}}}, 680, "travel reads 680…680 mm on a fork with 170 mm"},
		{"crooked points", UnitVolts, 0, Sensor{Points: []CalibrationPoint{{0, 0}, {1, 40}, {2, 0}, {3, 60}}}, 4, "20.7 mm (RMS) off a straight line"},
	}
	for _, c := range tests {
		t.Run(c.name, func(t *testing.T) {
			tr, err := Prepare(steady(600, c.log, c.reading), Setup{Fork: Fork{TravelMM: 170}, Sensor: c.sensor}, DefaultPrepareOptions())
			if err != nil {
				t.Fatal(err)
			}
			if got := tr.Segments[0].TravelMM[300]; math.Abs(got-c.want) > 1e-9 {
				t.Errorf("travel %g, want %g", got, c.want)
			}
			if c.caution == "" && len(tr.Cautions) > 0 || !hasCaution(tr, c.caution) && c.caution != "" {
				t.Errorf("cautions %q, want %q", tr.Cautions, c.caution)
			}
		})
	}
}

func TestClipping(t *testing.T) {
	codes := slices.Concat(
		slices.Repeat([]float64{0}, 5),                            // 5 low
		slices.Repeat([]float64{100}, 300), []float64{0, 0, 0, 0}, // too short a run
		slices.Repeat([]float64{100}, 300), slices.Repeat([]float64{1023}, 7), // 7 high
		slices.Repeat([]float64{0}, 6)) // 6 low
	points := []CalibrationPoint{{0, 0}, {1023, 170}}
	for _, c := range []struct {
		bits      int
		known     bool
		low, high int
	}{{10, true, 11, 7}, {0, false, 0, 0}, {9, false, 0, 0}, {12, true, 11, 0}} {
		rec := steady(0, UnitCounts, 0)
		rec.Travel = slices.Clone(codes)
		tr, err := Prepare(rec, Setup{Fork: Fork{TravelMM: 170}, Sensor: Sensor{ADCBits: c.bits, Points: points}}, DefaultPrepareOptions())
		if err != nil {
			t.Fatal(err)
		}
		q := tr.Quality
		if q.ClippingKnown != c.known || q.ClippedLow != c.low || q.ClippedHigh != c.high {
			t.Errorf("%d bits: known %v, low %d, high %d; want %+v", c.bits, q.ClippingKnown, q.ClippedLow, q.ClippedHigh, c)
		}
		if c.bits == 9 && !hasCaution(tr, "7 readings are outside 0…511") {
			t.Errorf("cautions %q", tr.Cautions)
		}
	}
}

// Whatever cannot be used is refused with what, where and how to mend it.
func TestPrepareRefuses(t *testing.T) {
	nan := math.NaN()
	mm := Setup{Fork: Fork{TravelMM: 170}}
	with := func(s Sensor) Setup { return Setup{Fork: mm.Fork, Sensor: s} }
	stamped := func(stamps ...float64) *Recording {
		return &Recording{Source: "run.csv", Unit: UnitMM, Clock: Clock{Kind: ClockElapsed, TickS: 1}, Stamps: stamps, Travel: make([]float64, len(stamps))}
	}
	var sparse []float64 // four bursts of 100 ms
	for i := range 400 {
		sparse = append(sparse, float64(i)*1e-3+float64(i/100))
	}
	var bursts []float64 // three samples in a row, 12 lost, over and over
	for i := range 3000 {
		bursts = append(bursts, float64(i)*1e-3+0.013*float64(i/3))
	}
	tests := []struct {
		name  string
		rec   *Recording
		setup Setup
		text  string
	}{
		{"no travel", steady(600, UnitMM, 0), Setup{}, "its travel is not known"},
		{"travel not a number", steady(600, UnitMM, 0), Setup{Fork: Fork{TravelMM: nan}}, "a travel of NaN mm"},
		{"no samples", steady(0, UnitMM, 0), mm, "run.csv: no samples"},
		{"no readings", steady(600, UnitMM, nan), mm, "run.csv: 600 of 600 rows have no usable"},
		{"absurd readings", steady(600, UnitMM, 1e9), mm, "600 of 600 rows have no usable"},
		{"unit unknown", steady(600, UnitUnknown, 0), mm, "the unit of the travel column is not known"},
		{"unit unheard of", steady(600, "furlongs", 0), mm, `unknown travel unit "furlongs"`},
		{"counts without points", steady(600, UnitCounts, 0), mm, "the log holds counts"},
		{"one point", steady(600, UnitCounts, 0), with(Sensor{Points: []CalibrationPoint{{1, 1}}}), "one calibration point"},
		{"same reading", steady(600, UnitCounts, 0), with(Sensor{Points: []CalibrationPoint{{1, 1}, {1, 2}}}), "reading 1 is given twice"},
		{"same point", steady(600, UnitCounts, 0), with(Sensor{Points: []CalibrationPoint{{1, 1}, {1, 1}}}), "do not tell"},
		{"same travel", steady(600, UnitCounts, 0), with(Sensor{Points: []CalibrationPoint{{1, 1}, {2, 1}}}), "do not tell"},
		{"point not a number", steady(600, UnitCounts, 0), with(Sensor{Points: []CalibrationPoint{{1, 1}, {nan, 2}}}), "reading NaN"},
		{"curve of two", steady(600, UnitCounts, 0), with(Sensor{Method: CalibratePCHIP, Points: []CalibrationPoint{{1, 1}, {2, 2}}}), "needs three"},
		{"curve turns", steady(600, UnitCounts, 0), with(Sensor{Method: CalibratePCHIP, Points: []CalibrationPoint{{1, 1}, {2, 9}, {3, 5}, {4, 20}}}),
			"travel turns back between readings 2 (9 mm) and 3 (5 mm)"},
		{"curve too steep", steady(600, UnitCounts, 0), with(Sensor{Method: CalibratePCHIP, Points: []CalibrationPoint{{0, 1}, {1e-200, 9}, {3, 50}, {4, 90}}}),
			"readings 0 and 1e-200 are too close"},
		{"method", steady(600, UnitCounts, 0), with(Sensor{Method: "magic", Points: []CalibrationPoint{{1, 1}, {2, 2}}}), `method "magic"`},
		{"zero offset", steady(600, UnitMM, 0), with(Sensor{ZeroOffsetMM: nan}), "zero offset of NaN"},
		{"no rate", &Recording{Source: "run.csv", Unit: UnitMM, Clock: Clock{Kind: ClockNone}, Travel: []float64{1, 2}}, mm, "sample rate is not known"},
		{"no stamp unit", &Recording{Source: "run.csv", Unit: UnitMM, Clock: Clock{Kind: ClockElapsed}, Travel: []float64{1}}, mm, "stamp unit of 0 s"},
		{"one sample", stamped(3), mm, "only 1 usable sample"},
		{"clock stands still", stamped(3, 3, 3, 3), mm, "the time stamp is the same in 4 of 4 rows"},
		{"clock runs back", stamped(9, 8, 7, 6), mm, "the time stamps do not rise: 3 of 4"},
		{"too short", steady(499, UnitMM, 0), mm, "lasts 0.499 s, and 0.5 s are needed"},
		{"too fast", stamped(0, 1e-6, 2e-6, 3e-6), mm, "sample rate of 1e+06 Hz"},
		{"too slow", stamped(0, 1000, 2000, 3000), mm, "sample rate of 0.001 Hz"},
		{"all in pieces", stamped(sparse...), mm, "4 pieces, the longest of 0.1 s"},
		{"mostly missing", stamped(bursts...), mm, "3000 samples were recorded and 12987 are missing"},
	}
	for _, c := range tests {
		t.Run(c.name, func(t *testing.T) {
			_, err := Prepare(c.rec, c.setup, DefaultPrepareOptions())
			var hinted Hinted
			if err == nil || !strings.Contains(err.Error(), c.text) {
				t.Fatalf("got error %v, want %q", err, c.text)
			}
			if !errors.As(err, &hinted) || hinted.Hint == "" {
				t.Errorf("%v carries no hint", err)
			}
		})
	}
	if _, err := Prepare(steady(600, UnitMM, 0), mm, PrepareOptions{}); err == nil || !strings.Contains(err.Error(), "outlier_jump_s") {
		t.Errorf("options without values: %v", err)
	}
}
