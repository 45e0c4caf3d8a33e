package wholefile

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// A full disk must leave the old file whole and nothing else. A small memory file system plays the disk; mounting one
// needs root.
func TestWriteFullDisk(t *testing.T) {
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=64k"); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("mount: %v", err)
		}
		t.Skipf("SKIPPED: cannot mount a small disk to fill: %v", err)
	}
	defer syscall.Unmount(dir, 0)
	path := filepath.Join(dir, "a.txt")
	if err := write(t, path, "old", false); err != nil {
		t.Fatal(err)
	}
	err := write(t, path, strings.Repeat("x", 1<<20), true)
	if !errors.Is(err, syscall.ENOSPC) {
		t.Errorf("error %v, want no space left", err)
	}
	if got := content(t, path); got != "old" {
		t.Errorf("old content lost: %.20q", got)
	}
	onlyNames(t, dir, "a.txt")
}
