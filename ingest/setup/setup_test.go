package setup

import (
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"stanchion/ingest"
	"stanchion/ingest/csvlog"
)

const whole = `# a fork
[fork]
name = "160 mm demo fork"
travel_mm = 160
head_angle_deg = 64.5
[sensor]
unit = "counts"
adc_bits = 12
method = "linear"
points = [ { reading = 310, travel_mm = 0.0 }, { reading = 3720, travel_mm = 160.0 } ]
zero_offset_mm = -1.5
[log]
delimiter = ";"
decimal_comma = true
skip_lines = 2
time_column = "t_us"
time_unit = "us"
tick_s = 1e-6
rate_hz = 1000
travel_column = 3
marker_column = "none"
no_extra = true
max_bad_share = 0
max_bytes = 1_000_000
`

func TestParse(t *testing.T) {
	want := File{
		Setup: ingest.Setup{
			Fork: ingest.Fork{Name: "160 mm demo fork", TravelMM: 160, HeadAngleDeg: 64.5},
			Sensor: ingest.Sensor{Unit: ingest.UnitCounts, ADCBits: 12, Method: ingest.CalibrateLinear, ZeroOffsetMM: -1.5,
				Points: []ingest.CalibrationPoint{{Reading: 310, TravelMM: 0}, {Reading: 3720, TravelMM: 160}}},
		},
		Log: csvlog.Options{Delimiter: ";", DecimalComma: true, SkipLines: 2, TimeColumn: "t_us", TimeUnit: "us", TickS: 1e-6, RateHz: 1000,
			TravelColumn: "3", SensorUnit: "counts", MarkerColumn: "none", NoExtra: true, MaxBadShare: -1, MaxBytes: 1e6},
	}
	got, err := Parse("fork.toml", []byte(whole))
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got %+v\nwant %+v", got, want)
	}
	got, err = Parse("fork.toml", []byte("[fork]\ntravel_mm = 20.0\n"))
	if err != nil || !reflect.DeepEqual(got, File{Setup: ingest.Setup{Fork: ingest.Fork{TravelMM: 20}}}) {
		t.Errorf("the least file gives %+v, %v", got, err)
	}
}

func TestLoad(t *testing.T) {
	path := filepath.Join(t.TempDir(), "fork.toml")
	if err := os.WriteFile(path, []byte(whole), 0o600); err != nil {
		t.Fatal(err)
	}
	if f, err := Load(path); err != nil || f.Setup.Fork.TravelMM != 160 {
		t.Errorf("%+v, %v", f, err)
	}
	if _, err := Load(path + "x"); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("missing file: %v", err)
	}
	if _, err := Load(filepath.Dir(path)); err == nil {
		t.Error("a folder was read")
	}
}

// TestProblems takes a good file with one thing changed, and the one line that must come of it.
func TestProblems(t *testing.T) {
	cases := []struct{ old, new, want string }{
		{"travel_mm = 160\n", "travel_mm = 16\n", "f:4: fork.travel_mm is 16, but must be a number from 20 to 400"},
		{"travel_mm = 160\n", "travel_mm = nan\n", "f:4: fork.travel_mm is NaN, but must be a number from 20 to 400"},
		{"travel_mm = 160\n", "travel_mm = \"160\"\n", `f:4: fork.travel_mm is "160", but must be a number from 20 to 400`},
		{"travel_mm = 160\n", "\n", "f:2: fork.travel_mm is missing: the fork's usable travel in mm must be given"},
		{"travel_mm = 160\n", "travel_mm = 160\ntravle_mm = 3\n", "f:5: fork.travle_mm is not a known key; did you mean travel_mm?"},
		{"head_angle_deg = 64.5", "head_angle_deg = 25.5", "f:5: fork.head_angle_deg is 25.5, but must be a number from 40 to 90"},
		{`unit = "counts"`, `unit = "count"`, `f:7: sensor.unit is "count", but must be one of counts, volts, percent, mm; did you mean counts?`},
		{"adc_bits = 12", "adc_bits = 7", "f:8: sensor.adc_bits is 7, but must be a whole number from 8 to 24"},
		{"adc_bits = 12", "adc_bits = 11", "f:10: sensor.points[2].reading is 3720, but 11 bits hold 0 to 2047"},
		{`"linear"`, `"cubic"`, `f:9: sensor.method is "cubic", but must be one of linear, pchip`},
		{`"linear"`, `"pchip"`, "f:10: sensor.points has 2, but at least 3 are needed"},
		{"3720, travel_mm = 160.0", "310, travel_mm = 160.0", "f:10: sensor.points has the reading 310 twice: readings must be distinct"},
		{"3720, travel_mm = 160.0", "3720, travel_mm = 0", "f:10: sensor.points all have the same travel_mm, 0"},
		{"3720, travel_mm = 160.0", "3720", "f:10: sensor.points[2].travel_mm is missing"},
		{"3720, travel_mm = 160.0", "inf, travel_mm = 160.0", "f:10: sensor.points[2].reading is +Inf, but must be a number from -1e+09 to 1e+09"},
		{"points = [ {", "points = [ 7, {", "f:10: sensor.points[1] is 7, but must be like { reading = 310, travel_mm = 0.0 }"},
		{"points = [ { reading = 310, travel_mm = 0.0 }, { reading = 3720, travel_mm = 160.0 } ]", "",
			"f:6: sensor.points is missing: counts become travel only by two or more points, each with reading and travel_mm"},
		{"rate_hz = 1000", "rate_hz = 0", "f:19: log.rate_hz is 0, but must be a number from 0.001 to 1e+07"},
		{"decimal_comma = true", "decimal_comma = 1", "f:14: log.decimal_comma is 1, but must be true or false"},
		{`delimiter = ";"`, `delimiter = ";;"`, `f:12: log delimiter ";;" is not known (allowed are , ; | tab and space)`},
		{`time_unit = "us"`, `time_unit = "fortnight"`, `f:12: log time unit "fortnight" is not known (allowed are s, ms, us, ns, min, date and clock)`},
		{"travel_column = 3", "travel_column = 3.5", "f:20: log.travel_column is 3.5, but must be text in quotes"},
		{"[log]", "[logs]", "f:12: logs is not a known key; did you mean log?"},
		{"[log]", "[log", "f:13: expected '.' or ']' to end table name, but got '\\n' instead"},
	}
	for _, c := range cases {
		text := strings.Replace(whole, c.old, c.new, 1)
		if text == whole {
			t.Fatalf("%q is not in the file", c.old)
		}
		_, err := Parse("f", []byte(text))
		if err == nil {
			t.Errorf("%q: no error", c.new)
			continue
		}
		if err.Error() != c.want {
			t.Errorf("%q:\ngot  %s\nwant %s", c.new, err, c.want)
		}
	}
}

func TestAllProblemsTogether(t *testing.T) {
	_, err := Parse("f", []byte("extra = 1\n[fork]\ntravel_mm = 5\n[sensor]\nmethod = \"pchip\"\n[[sensor.points]]\nreading = 1\ntravel_mm = 0\n[[sensor.points]]\nreading = true\ntravel_mm = 9\n"))
	want := "f:1: extra is not a known key\n" +
		"f:3: fork.travel_mm is 5, but must be a number from 20 to 400\n" +
		"f:10: sensor.points[2].reading is true, but must be a number from -1e+09 to 1e+09"
	if err == nil || err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
	if _, err := Parse("f", []byte("fork = 3")); err == nil || err.Error() != "f:1: fork is 3, but must be a table, [fork]" {
		t.Errorf("%v", err)
	}
	if _, err := Parse("f", make([]byte, MaxBytes+1)); err == nil || !strings.Contains(err.Error(), "larger than") {
		t.Errorf("%v", err)
	}
}

func TestPCHIPMustBeMonotone(t *testing.T) {
	const head = "[fork]\ntravel_mm = 160\n[sensor]\nmethod = \"pchip\"\npoints = [\n"
	file := func(points string) error {
		_, err := Parse("f", []byte(head+points+"]\n"))
		return err
	}
	if err := file("{reading = 9, travel_mm = 0},\n{reading = 1, travel_mm = 160},\n{reading = 5, travel_mm = 70}\n"); err != nil {
		t.Errorf("falling: %v", err)
	}
	want := `f:5: sensor.points must rise throughout or fall throughout for method "pchip", in order of reading`
	for _, middle := range []string{"0", "160", "170", "-1"} {
		if err := file("{reading = 1, travel_mm = 0},\n{reading = 5, travel_mm = " + middle + "},\n{reading = 9, travel_mm = 160}\n"); err == nil || err.Error() != want {
			t.Errorf("middle %s: %v", middle, err)
		}
	}
}

// FuzzParse checks that no file panics, that a result obeys the limits, and that an error has something to say.
func FuzzParse(f *testing.F) {
	f.Add(whole)
	f.Add("[fork]\ntravel_mm = 20.0\n")
	f.Add(springFile)
	f.Add("[fork]\ntravel_mm = 20.0\n[spring]\nmeasured = [ { pressure_bar = 5, sag_mm = 9 }, {} ]\n")
	f.Add("[fork]\ntravel_mm = 160\n[[sensor.points]]\nreading = 1\n[[sensor.points]]\ntravel_mm = 1\n")
	f.Add("fork.travel_mm = 160\nlog = {rate_hz = 5}\nsensor.points = [[1]]\n")
	f.Fuzz(func(t *testing.T, text string) {
		file, err := Parse("f", []byte(text))
		if err != nil {
			var e *Error
			if !errors.As(err, &e) || len(e.Problems) == 0 || file.Setup.Fork.TravelMM != 0 {
				t.Fatalf("bad error %v with %+v", err, file)
			}
			return
		}
		s := file.Setup
		if s.Fork.TravelMM < 20 || s.Fork.TravelMM > 400 || len(s.Sensor.Points) == 1 || file.Log.Check() != nil {
			t.Fatalf("%+v", file)
		}
		if again, err := Parse("f", []byte(text)); err != nil || !reflect.DeepEqual(again, file) {
			t.Fatal("a second reading differs")
		}
	})
}
