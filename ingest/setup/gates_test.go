package setup

import (
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
)

const goodGates = `
[[gate]]
name = "start"
station_m = 20

[[gate]]
name = "bridge"
lat = -45.0312
lon = 170.1284

[[gate]]
name = "finish"
station_m = 812.5
`

func TestLoadGates(t *testing.T) {
	path := filepath.Join(t.TempDir(), "gates.toml")
	if err := os.WriteFile(path, []byte(goodGates), 0o644); err != nil {
		t.Fatal(err)
	}
	file, err := LoadGates(path)
	if err != nil {
		t.Fatal(err)
	}
	want := []GatePlace{{Name: "start", StationM: 20, Line: 2}, {Name: "bridge", OnGround: true, LatDeg: -45.0312, LonDeg: 170.1284, Line: 6}, {Name: "finish", StationM: 812.5, Line: 11}}
	if !reflect.DeepEqual(file.Gates, want) {
		t.Errorf("got %+v, want %+v", file.Gates, want)
	}
	if _, err := LoadGates(filepath.Join(t.TempDir(), "none.toml")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a file that is not there: %v", err)
	}
}

func TestParseGatesNamesWhatIsWrong(t *testing.T) {
	const two = "\n[[gate]]\nname = \"z\"\nstation_m = 900"
	for text, want := range map[string]string{
		"":                                    "gate is missing: at least two tables",
		"[[gate]]\nname = \"a\"\nstation_m=1": "gate is missing: at least two tables",
		"[[gate]]\nstation_m = 1" + two:       "gates.toml:1: gate[1].name is missing",
		"[[gate]]\nname = \"\"\nstation_m = 1" + two:                    "gates.toml:2: gate[1].name is empty",
		"[[gate]]\nname = \"a\"" + two:                                  "gate[1] has no place: give station_m, or lat and lon",
		"[[gate]]\nname = \"a\"\nlat = 3" + two:                         "gate[1] has only one of lat and lon",
		"[[gate]]\nname = \"a\"\nlat = 3\nlon = 4\nstation_m = 1" + two: "leave one out",
		"[[gate]]\nname = \"a\"\nlat = 91\nlon = 4" + two:               "gates.toml:3: gate[1].lat is 91, but must be a number from -90 to 90",
		"[[gate]]\nname = \"a\"\nstation_m = -1" + two:                  "but must be a number from 0",
		"[[gate]]\nname = \"a\"\nstation_m = nan" + two:                 "but must be a number from 0",
		"[[gate]]\nname = \"z\"\nstation_m = 1" + two:                   "like that of a gate before",
		"[[gate]]\nname = \"a\"\nstation_m = 950" + two:                 "gates.toml:6: gate[2].station_m is 900, but must be further on than the gate before, at 950",
		"[[gate]]\nname = \"a\"\nstation = 1" + two:                     "gates.toml:3: gate[1].station is not a known key; did you mean station_m?",
		"[[gates]]\nname = \"a\"":                                       "gates is not a known key; did you mean gate?",
		"gate = 3":                                                      "gate is 3, but must be a list",
		"[[gate]]\nname = \"a":                                          "gates.toml:2",
	} {
		_, err := ParseGates("gates.toml", []byte(text))
		var e *Error
		if !errors.As(err, &e) || !strings.Contains(err.Error(), want) {
			t.Errorf("%.60q: %v, want %q", text, err, want)
		}
	}
}

func FuzzParseGates(f *testing.F) {
	f.Add([]byte(goodGates))
	f.Add([]byte("[[gate]]\nname = \"a\"\nlat = nan\nlon = inf"))
	f.Add([]byte("gate = [ { name = \"a\", station_m = 1 }, 3 ]"))
	f.Fuzz(func(t *testing.T, data []byte) {
		file, err := ParseGates("gates.toml", data)
		if err != nil {
			if len(file.Gates) > 0 {
				t.Error("an error comes with gates")
			}
			return
		}
		if n := len(file.Gates); n < 2 || n > maxGates {
			t.Errorf("%d gates", n)
		}
		for _, g := range file.Gates {
			if g.Name == "" || !(g.StationM >= 0 && g.StationM <= maxStationM && g.LatDeg >= -90 && g.LatDeg <= 90 && g.LonDeg >= -180 && g.LonDeg <= 180) {
				t.Errorf("gate %+v", g)
			}
		}
	})
}
