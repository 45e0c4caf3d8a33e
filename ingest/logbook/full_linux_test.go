package logbook

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// A full disk: what was filed stays, the run that did not fit is not half there, and the words are clear. A small memory file system
// plays the disk; mounting one needs root.
func TestFullDisk(t *testing.T) {
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=1m"); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("mount: %v", err)
		}
		t.Skipf("SKIPPED: cannot mount a small disk to fill: %v", err)
	}
	defer syscall.Unmount(dir, syscall.MNT_DETACH)
	b, err := Create(t.Context(), filepath.Join(dir, "book"))
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	from := t.TempDir()
	var full error
	filed := 0
	for i := 0; full == nil && i < 2000; i++ {
		if _, full = b.Add(t.Context(), newRun(t, from, i)); full == nil {
			filed++
		}
	}
	if full == nil {
		t.Fatal("the disk never filled up")
	}
	if text := full.Error(); !strings.Contains(text, "disk is full") && !strings.Contains(text, "no space left") {
		t.Errorf("not in clear words: %v", full)
	}
	runs, err := b.Runs(t.Context(), Query{})
	if err != nil || len(runs) != filed {
		t.Errorf("%d runs, %v; want the %d that were filed", len(runs), err, filed)
	}
	report, err := b.Check(t.Context(), nil)
	if err != nil || len(report.Problems) > 0 || report.Files != filed {
		t.Errorf("check %+v, %v", report, err)
	}
}
