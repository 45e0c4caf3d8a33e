package main

import (
	"bytes"
	"context"
	"os"
	"testing"
	"time"

	"github.com/creack/pty"
	"golang.org/x/term"
)

// Keys come one by one: from a pipe, and from a terminal without Enter, where Ctrl-C ends the recording.
func TestKeys(t *testing.T) {
	in, typed, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	defer typed.Close()
	keysGiveMarks(t, in, typed, false)

	device, tty, err := pty.Open()
	if err != nil {
		t.Skipf("SKIPPED: no pseudo-terminal here, keys of a terminal are not tested: %v", err)
	}
	defer device.Close()
	defer tty.Close()
	keysGiveMarks(t, tty, device, true)
}

func keysGiveMarks(t *testing.T, in, typed *os.File, raw bool) {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	defer cancel()
	k := newKeyboard(ctx, in)
	if k.raw != raw {
		t.Fatalf("raw is %v, want %v", k.raw, raw)
	}
	ended := make(chan struct{})
	marks := watchKeys(ctx, func() { close(ended) }, k)
	for range 2 {
		if _, err := typed.Write([]byte("xm")); err != nil {
			t.Fatal(err)
		}
		select {
		case <-marks:
		case <-ctx.Done():
			t.Fatal("the key m gave no mark")
		}
	}
	typed.Write([]byte{interruptKey})
	select {
	case <-ended:
	case <-ctx.Done():
		t.Fatal("Ctrl-C did not end the recording")
	}
	before, _ := term.GetState(int(in.Fd()))
	k.restore()
	if after, _ := term.GetState(int(in.Fd())); raw && *before == *after {
		t.Error("the terminal was not set back")
	}
}

func TestRawWriter(t *testing.T) {
	var b bytes.Buffer
	n, err := rawWriter{&b}.Write([]byte("a\nb\n"))
	if n != 4 || err != nil || b.String() != "a\r\nb\r\n" {
		t.Errorf("%d, %v, %q", n, err, b.String())
	}
}
