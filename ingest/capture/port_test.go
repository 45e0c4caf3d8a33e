package capture

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"stanchion/ingest"
)

// Ports with something plugged in come first, with the name that stays theirs.
func TestDescribePorts(t *testing.T) {
	dir := t.TempDir()
	port := filepath.Join(dir, "ttyX7")
	if err := os.WriteFile(port, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	folder := filepath.Join(dir, "by-id")
	if err := os.Mkdir(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(port, filepath.Join(folder, "usb-Sensor_42-if00")); err != nil {
		t.Skipf("SKIPPED: no symbolic links here: %v", err)
	}
	port, err := filepath.EvalSymlinks(port)
	if err != nil {
		t.Fatal(err)
	}
	got := describePorts([]string{"/dev/ttyS0", port, "/dev/ttyACM1", "/dev/ttyACM0"}, folder)
	want := []PortInfo{{"/dev/ttyACM0", ""}, {"/dev/ttyACM1", ""}, {port, "Sensor_42-if00"}, {"/dev/ttyS0", ""}}
	if !slices.EqualFunc(got, want, func(a, b PortInfo) bool { return a.Name == b.Name && a.Description == b.Description }) {
		t.Errorf("%v, want %v", got, want)
	}
	if p := Plugged(got); len(p) != 3 {
		t.Errorf("%v have something plugged in, want three", p)
	}
}

// What keeps a port from opening is said with what to do.
func TestOpenPortRefuses(t *testing.T) {
	missing := filepath.Join(t.TempDir(), "missing")
	for _, c := range []struct {
		name string
		baud int
		hint string
	}{{missing, 115200, "plugged in"}, {missing, 0, "115200"}, {missing, 12345, "921600"}} {
		_, err := OpenPort(c.name, c.baud)
		var h ingest.Hinted
		if err == nil || !errors.As(err, &h) || !strings.Contains(h.Hint, c.hint) {
			t.Errorf("%d baud: %v, want a hint with %q", c.baud, err, c.hint)
		}
	}
	if _, err := OpenPort(missing, 115200); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("%v, want that it does not exist", err)
	}
}

// A log's host frames stand only where a frame of the device has ended.
func TestHostFramesBetweenFrames(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.slog")
	l, _, err := createLog(path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	step := func(data, pending string) {
		t.Helper()
		l.pending = append(l.pending, pending...)
		if err := l.write([]byte(data), 0); err != nil {
			t.Fatal(err)
		}
	}
	step("\x00ab", "")
	step("cd", "[one]")       // in mid-frame: waits
	step("ef\x00\x00gh", "")  // after the second zero
	step("ij\x00", "[two]")   // right after the frame
	step("\x00kl\x00", "")    // nothing waits
	step("\x00mn", "[three]") // at the opening zero
	if err := l.close(); err != nil {
		t.Fatal(err)
	}
	got, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if want := "\x00abcdef\x00\x00[one]ghij\x00[two]\x00kl\x00\x00[three]mn"; string(got) != want {
		t.Errorf("%q, want %q", got, want)
	}
}
