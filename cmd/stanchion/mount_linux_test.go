package main

import (
	"os"
	"syscall"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// canMount says whether a small memory file system can be mounted to play a full disk, which needs root. Under CI it
// must be.
func canMount(t *testing.T) bool {
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=64k"); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("mount a small disk: %v", err)
		}
		t.Logf("SKIPPED the full disk: %v", err)
		return false
	}
	return syscall.Unmount(dir, 0) == nil
}

// mountSmall runs "mountsmall DIR": 64 KiB of disk.
func mountSmall(ts *testscript.TestScript, neg bool, args []string) {
	dir := ts.MkAbs(args[0])
	ts.Check(os.MkdirAll(dir, 0o755))
	ts.Check(syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=64k"))
	ts.Defer(func() { _ = syscall.Unmount(dir, 0) })
}
