package wholefile

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func write(t *testing.T, path, text string, overwrite bool) error {
	t.Helper()
	return Write(path, overwrite, func(w io.Writer) error {
		_, err := io.WriteString(w, text)
		return err
	})
}

// onlyNames fails unless dir holds exactly these names: nothing half-written may stay behind.
func onlyNames(t *testing.T, dir string, want ...string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range entries {
		got = append(got, e.Name())
	}
	if strings.Join(got, ",") != strings.Join(want, ",") {
		t.Errorf("folder holds %v, want %v", got, want)
	}
}

func content(t *testing.T, path string) string {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestWriteCreates(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.txt")
	if err := write(t, path, "one", false); err != nil {
		t.Fatal(err)
	}
	if got := content(t, path); got != "one" {
		t.Errorf("content %q", got)
	}
	onlyNames(t, dir, "a.txt")
}

func TestWriteRefusesToReplace(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.txt")
	if err := write(t, path, "one", false); err != nil {
		t.Fatal(err)
	}
	err := write(t, path, "two", false)
	if !errors.Is(err, ErrExists) || !strings.Contains(err.Error(), path) {
		t.Errorf("error %v, want ErrExists with the path", err)
	}
	if got := content(t, path); got != "one" {
		t.Errorf("content changed to %q", got)
	}
	if err := write(t, path, "two", true); err != nil {
		t.Fatal(err)
	}
	if got := content(t, path); got != "two" {
		t.Errorf("content %q after overwrite", got)
	}
	onlyNames(t, dir, "a.txt")
}

// Another process may make the target while the content is being written.
func TestWriteLosesRace(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.txt")
	err := Write(path, false, func(w io.Writer) error {
		return os.WriteFile(path, []byte("theirs"), 0o600)
	})
	if !errors.Is(err, ErrExists) {
		t.Errorf("error %v, want ErrExists", err)
	}
	if got := content(t, path); got != "theirs" {
		t.Errorf("the other file was replaced: %q", got)
	}
	onlyNames(t, dir, "a.txt")
}

func TestWriteFillFails(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.txt")
	if err := write(t, path, "old", false); err != nil {
		t.Fatal(err)
	}
	boom := errors.New("boom")
	err := Write(path, true, func(w io.Writer) error {
		io.WriteString(w, strings.Repeat("x", 1<<20))
		return boom
	})
	if !errors.Is(err, boom) {
		t.Errorf("error %v", err)
	}
	if got := content(t, path); got != "old" {
		t.Errorf("old content lost: %.20q", got)
	}
	onlyNames(t, dir, "a.txt")
}

func TestWriteWhereItCannot(t *testing.T) {
	dir := t.TempDir()
	for name, path := range map[string]string{
		"missing folder": filepath.Join(dir, "no", "a.txt"),
		"folder":         dir,
	} {
		if err := write(t, path, "x", true); err == nil || strings.Contains(err.Error(), ".part-") {
			t.Errorf("%s: error %v, want one about the target", name, err)
		}
	}
	onlyNames(t, dir)
}
