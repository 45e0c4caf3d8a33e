package capture_test

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"stanchion/ingest"
	"stanchion/ingest/capture/virtual"
	"stanchion/ingest/wirelog"

	"errors"
)

// A full disk ends the recording; what was written is kept and can be read. A small memory file system plays the disk; mounting
// one needs root.
func TestFullDisk(t *testing.T) {
	term := terminal(t)
	defer term.Close()
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=64k"); err != nil {
		t.Skipf("SKIPPED: cannot mount a small file system (root needed): %v", err)
	}
	defer syscall.Unmount(dir, 0)
	s := newStage(t, term.Name)
	s.path = filepath.Join(dir, "run.slog")
	stop := serve(term, virtual.NewDevice(track(1_000_000, 2000), virtual.Config{Session: 3}), virtual.Faults{}, virtual.Pace{})
	defer stop()
	ctx, cancel := context.WithTimeout(context.Background(), deadlock)
	defer cancel()
	_, err := s.record(ctx)
	var h ingest.Hinted
	if !errors.Is(err, syscall.ENOSPC) || !errors.As(err, &h) || !strings.Contains(h.Hint, "make room") {
		t.Fatalf("error %v, want that the disk is full, with a hint", err)
	}
	rec, err := wirelog.Read(context.Background(), s.path, wirelog.Options{})
	if err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(s.path)
	if err != nil {
		t.Fatal(err)
	}
	// A sample takes 4 bytes and a share of its frame's head.
	if got, want := len(rec.Travel), int(info.Size())/6; got < want {
		t.Errorf("%d samples in %d bytes, want %d or more", got, info.Size(), want)
	}
}
