package setup

import (
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
)

const goodRuns = `
[adjuster.hsc]
kind = "high-speed compression"

[[run]]
file = "r1.csv"
order = 1
time = 10:42:00
clicks = { hsc = 3, rebound = 8.5 }
temperature_c = 14
rider = "one"
wet = true

[[run]]
file = "sub/r2.csv"
name = "second"
`

func TestParseRuns(t *testing.T) {
	path := filepath.Join(t.TempDir(), "runs.toml")
	if err := os.WriteFile(path, []byte(goodRuns), 0o644); err != nil {
		t.Fatal(err)
	}
	list, err := LoadRuns(path)
	if err != nil {
		t.Fatal(err)
	}
	if len(list.Runs) != 2 || list.Adjusters["hsc"].Kind != "high-speed compression" {
		t.Fatalf("got %+v", list)
	}
	r := list.Runs[0]
	if r.File != filepath.Join(filepath.Dir(path), "r1.csv") || r.Order != 1 || r.Line != 5 {
		t.Errorf("first run: %+v", r)
	}
	if want := map[string]float64{"hsc": 3, "rebound": 8.5}; !reflect.DeepEqual(r.Clicks, want) {
		t.Errorf("clicks %v, want %v", r.Clicks, want)
	}
	if want := map[string]string{"temperature_c": "14", "rider": "one", "wet": "true"}; !reflect.DeepEqual(r.Notes, want) {
		t.Errorf("notes %v, want %v", r.Notes, want)
	}
	if got := list.Runs[1]; got.Name != "second" || len(got.Notes) != 0 {
		t.Errorf("second run: %+v", got)
	}
}

func TestParseRunsNamesWhatIsWrong(t *testing.T) {
	for text, want := range map[string]string{
		"":                                  "run is missing",
		"[[run]]\norder = 1":                "runs.toml:1: run[1].file is missing",
		"[[run]]\nfile = 7":                 "run[1].file is 7, but must be text",
		"[[run]]\nfile = \"a\"\norder = 0":  "runs.toml:3: run[1].order is 0, but must be a whole number from 1",
		"[[run]]\nfile = \"a\"\nx = [1]":    "run[1].x is a list, but a note must be text or a number",
		"[[run]]\nfile = \"a\"\nclicks = 3": "run[1].clicks is 3, but must be a table",
		"[[run]]\nfile = \"a\"\nr = 1\nclicks = { r = 2 }": "leave one out",
		"[[run]]\nfile = \"a\"\nclicks = { r = \"in\" }":   "but must be a number",
		"[[runs]]\nfile = \"a\"":                           "runs is not a known key; did you mean run?",
		"run = 3":                                          "run is 3, but must be a list",
		"[adjuster.x]\nknd = \"rebound\"":                  "did you mean kind?",
		"[[run]]\nfile = \"a\"\ntime = \"noon\"":           "but must be a time like 10:42:00",
		"[[run]]\nfile = \"a":                              "runs.toml:2",
		"file = \"" + strings.Repeat("x", MaxBytes) + "\"": "larger than",
	} {
		_, err := ParseRuns("runs.toml", []byte(text))
		var e *Error
		if !errors.As(err, &e) || !strings.Contains(err.Error(), want) {
			t.Errorf("%.40q: %v, want %q", text, err, want)
		}
	}
}

func TestRunsAreOrderedByTime(t *testing.T) {
	list, err := ParseRuns("runs.toml", []byte("[[run]]\nfile = \"a\"\ntime = \"10:42\"\n[[run]]\nfile = \"b\"\ntime = 09:05:30\n[[run]]\nfile = \"c\"\ntime = \"11:00:01\""))
	if err != nil {
		t.Fatal(err)
	}
	if got := []int{list.Runs[0].Order, list.Runs[1].Order, list.Runs[2].Order}; !reflect.DeepEqual(got, []int{2, 1, 3}) {
		t.Errorf("order %v, want [2 1 3]", got)
	}
	list, err = ParseRuns("runs.toml", []byte("[[run]]\nfile = \"a\"\ntime = \"10:42\"\n[[run]]\nfile = \"b\""))
	if err != nil || list.Runs[0].Order != 0 {
		t.Errorf("one run without time: order %d, %v", list.Runs[0].Order, err)
	}
}

func FuzzParseRuns(f *testing.F) {
	f.Add([]byte(goodRuns))
	f.Add([]byte("[[run]]\nfile = \"a\"\nclicks = { r = nan }"))
	f.Add([]byte("run = [ { file = \"a\" }, 3 ]"))
	f.Fuzz(func(t *testing.T, data []byte) {
		list, err := ParseRuns("runs.toml", data)
		if err != nil {
			if len(list.Runs) > 0 {
				t.Error("an error comes with runs")
			}
			return
		}
		for _, r := range list.Runs {
			if r.File == "" || r.Order < 0 {
				t.Errorf("a run without file or with a negative order: %+v", r)
			}
			for _, v := range r.Clicks {
				if !(v >= -1e6 && v <= 1e6) {
					t.Errorf("position %g", v)
				}
			}
		}
	})
}
