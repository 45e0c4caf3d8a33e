package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"stanchion/ingest/capture/virtual"
	"stanchion/ingest/setup"
)

// output gathers what a command prints, and can be waited on.
type output struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (o *output) Write(p []byte) (int, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.b.Write(p)
}

func (o *output) text() string {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.b.String()
}

// await waits until text was printed. The limit only guards against waiting for ever.
func (o *output) await(t *testing.T, text string) {
	t.Helper()
	for began := time.Now(); time.Since(began) < 2*time.Minute; time.Sleep(10 * time.Millisecond) {
		if strings.Contains(o.text(), text) {
			return
		}
	}
	t.Fatalf("%q was not printed in:\n%s", text, o.text())
}

// At the bike: a board that prints lines, moved from point to point. The first try at full travel is made without moving.
func TestCalibrateAtTheBike(t *testing.T) {
	term, err := virtual.OpenTerminal()
	if err != nil {
		t.Skipf("SKIPPED: no pseudo-terminal here: %v", err)
	}
	defer term.Close()
	var level atomic.Int64
	level.Store(310)
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	go func() {
		for i := 0; ctx.Err() == nil; i++ {
			fmt.Fprintf(term, "%d,%d\n", 5000*i, level.Load()+int64(i%2))
			time.Sleep(5 * time.Millisecond)
		}
	}()
	in, typed := io.Pipe()
	var out output
	path := filepath.Join(t.TempDir(), "fork.toml")
	k := &calibrateCmd{console: &console{out: &out, err: &out}, in: in, port: term.Name, baud: 115200, hold: time.Second, out: path, adcBits: 12}
	k.fork.TravelMM = 160
	done := make(chan error, 1)
	go func() { done <- k.run(ctx) }()
	out.await(t, "Point 1 of 2: fully extended")
	typed.Write([]byte("\n"))
	out.await(t, "Point 2 of 2: 160 mm")
	typed.Write([]byte("\n"))
	out.await(t, "hardly changes")
	out.await(t, "Try this point again")
	level.Store(3720)
	time.Sleep(50 * time.Millisecond) // let the board print the new level
	typed.Write([]byte("\n"))
	if err := <-done; err != nil {
		t.Fatalf("%v\n%s", err, out.text())
	}
	if n := strings.Count(out.text(), "Before you start"); n != 1 {
		t.Errorf("the caution was shown %d times, want once", n)
	}
	file, err := setup.Load(path)
	if err != nil {
		t.Fatal(err)
	}
	p := file.Setup.Sensor.Points
	if len(p) != 2 || p[0].TravelMM != 0 || p[0].Reading != 310.5 || p[1].TravelMM != 160 || p[1].Reading != 3720.5 {
		t.Errorf("points %v, want 310.5 at 0 mm and 3720.5 at 160 mm", p)
	}
}

// Input that ends early leaves no file behind.
func TestCalibrateGivenUp(t *testing.T) {
	term, err := virtual.OpenTerminal()
	if err != nil {
		t.Skipf("SKIPPED: no pseudo-terminal here: %v", err)
	}
	defer term.Close()
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	go func() {
		for i := 0; ctx.Err() == nil; i++ {
			fmt.Fprintf(term, "%d,300\n", 5000*i)
			time.Sleep(5 * time.Millisecond)
		}
	}()
	var out output
	path := filepath.Join(t.TempDir(), "fork.toml")
	k := &calibrateCmd{console: &console{out: &out, err: &out}, in: strings.NewReader(""), port: term.Name, baud: 115200, hold: time.Second, out: path}
	k.fork.TravelMM = 160
	if err := k.run(ctx); err == nil || !strings.Contains(err.Error(), "not finished") {
		t.Errorf("error %v, want that it was not finished", err)
	}
	if _, err := setup.Load(path); err == nil {
		t.Error("a fork file was written")
	}
}
