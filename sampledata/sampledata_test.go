package sampledata

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"io"
	"io/fs"
	"os"
	"runtime"
	"strings"
	"testing"

	"stanchion/sampledata/ridesim"
	"stanchion/sampledata/ridesim/demo"
)

// Files and the embedded folder list the same names, and each opens.
func TestFilesListsAllThatIsEmbedded(t *testing.T) {
	listed := map[string]bool{}
	for _, f := range Files() {
		listed[f.Name] = true
		if f.Description == "" || strings.Contains(f.Description, "\n") {
			t.Errorf("%s: description %q must be one line", f.Name, f.Description)
		}
		h, err := Open(f.Name)
		if err != nil {
			t.Error(err)
			continue
		}
		h.Close()
	}
	entries, err := fs.ReadDir(FS(), ".")
	if err != nil {
		t.Fatal(err)
	}
	total := int64(0)
	for _, e := range entries {
		if !listed[e.Name()] {
			t.Errorf("%s is embedded and not listed", e.Name())
		}
		info, err := e.Info()
		if err != nil {
			t.Fatal(err)
		}
		total += info.Size()
	}
	if len(entries) != len(listed) {
		t.Errorf("%d files embedded, %d listed", len(entries), len(listed))
	}
	if total > 2_600_000 {
		t.Errorf("the demo files are %d bytes together: they go into the binary, keep them under 2.6 MB", total)
	}
	if _, err := Open("absent.csv"); err == nil || !strings.Contains(err.Error(), "absent.csv") {
		t.Errorf("opening an absent file: %v", err)
	}
	if _, err := ReadFile("absent.csv"); err == nil || !strings.Contains(err.Error(), "absent.csv") {
		t.Errorf("reading an absent file: %v", err)
	}
}

func unpack(t *testing.T, name string, data []byte) []byte {
	t.Helper()
	if !strings.HasSuffix(name, ".gz") {
		return data
	}
	z, err := gzip.NewReader(bytes.NewReader(data))
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	if !z.ModTime.IsZero() {
		t.Errorf("%s: its header holds the time %v, want none", name, z.ModTime)
	}
	out, err := io.ReadAll(z)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return out
}

// The embedded files are what the simulator makes. By default the quick ones are made anew; with CI=true all are.
// Content is compared unpacked, since another Go release may compress otherwise. Other architectures may round the last bit otherwise.
func TestFilesAreWhatTheSimulatorMakes(t *testing.T) {
	if runtime.GOARCH != "amd64" {
		t.Skip("the demo files were made on amd64; floating point may fuse operations elsewhere")
	}
	for _, b := range demo.Builders() {
		if strings.HasPrefix(b.Name, "enduro") && os.Getenv("CI") != "true" {
			continue
		}
		files, err := b.Build()
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			have, err := ReadFile(f.Name)
			if err != nil {
				t.Error(err)
				continue
			}
			if !bytes.Equal(unpack(t, f.Name, have), unpack(t, f.Name, f.Data)) {
				t.Errorf("%s is not what the simulator makes: run go generate ./sampledata", f.Name)
			}
		}
	}
}

func truthOf(t *testing.T, name string) ridesim.Summary {
	t.Helper()
	data, err := ReadFile("truth-" + name + ".json")
	if err != nil {
		t.Fatal(err)
	}
	var s ridesim.Summary
	if err := json.Unmarshal(data, &s); err != nil {
		t.Fatal(err)
	}
	return s
}

// The runs hold what their descriptions promise.
func TestRunsHoldWhatTheyPromise(t *testing.T) {
	for _, name := range []string{"enduro-run-a", "enduro-run-b"} {
		s := truthOf(t, name)
		if n := len(s.BottomOuts); n < 2 || n > 6 {
			t.Errorf("%s: %d bottom-outs, want 2 to 6", name, n)
		}
		if sag := s.StaticSagMM / s.TravelMM; sag < 0.18 || sag > 0.22 {
			t.Errorf("%s: static sag is %.1f %%, want 18 to 22 %%", name, 100*sag)
		}
		if s.DurationS < 170 || s.DurationS > 190 {
			t.Errorf("%s: lasts %.1f s, want about 180", name, s.DurationS)
		}
		long := 0
		for _, f := range s.Flights {
			if f.EndS-f.StartS >= 0.3 {
				long++
			}
		}
		if long < 3 {
			t.Errorf("%s: %d flights of 0.3 s or more, want at least 3", name, long)
		}
		first := s.Sections[0]
		if first.Kind != "stand" || first.EndS < 4 {
			t.Errorf("%s: begins with %+v, want to stand for 4 s", name, first)
		}
	}
}

// The 32-bit counter of each run wraps exactly once.
func TestRunCountersWrapOnce(t *testing.T) {
	for _, name := range []string{"enduro-run-a.csv.gz", "enduro-run-b.csv.gz"} {
		data, err := ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		wraps, last := 0, ""
		for line := range strings.Lines(string(unpack(t, name, data))) {
			stamp, _, _ := strings.Cut(line, ",")
			if stamp == "" || stamp[0] < '0' || stamp[0] > '9' {
				continue
			}
			if len(last) == 10 && len(stamp) < 10 {
				wraps++
			}
			last = stamp
		}
		if wraps != 1 {
			t.Errorf("%s: counter wraps %d times, want once", name, wraps)
		}
	}
}
