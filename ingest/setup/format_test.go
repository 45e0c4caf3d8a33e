package setup_test

import (
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"stanchion/ingest"
	"stanchion/ingest/setup"
)

// What Format writes, Parse reads back.
func TestFormatReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := ingest.Setup{
			Fork: ingest.Fork{Name: rapid.String().Draw(t, "name"), TravelMM: rapid.Float64Range(20, 400).Draw(t, "travel"),
				HeadAngleDeg: rapid.Float64Range(40, 90).Draw(t, "angle")},
			Sensor: ingest.Sensor{Unit: ingest.UnitVolts, ADCBits: rapid.IntRange(8, 24).Draw(t, "bits"), Method: ingest.CalibratePCHIP,
				ZeroOffsetMM: rapid.Float64Range(-10, 10).Draw(t, "zero")},
		}
		reading := rapid.Float64Range(-3, 3).Draw(t, "reading")
		for i := range rapid.IntRange(3, 6).Draw(t, "points") {
			s.Sensor.Points = append(s.Sensor.Points, ingest.CalibrationPoint{Reading: reading + float64(i)*0.37, TravelMM: float64(40 * i)})
		}
		file, err := setup.Parse("fork.toml", []byte(setup.Format(s, []string{"one\ntwo", "three"})))
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(file.Setup, s) {
			t.Fatalf("read back %+v, want %+v", file.Setup, s)
		}
	})
}
