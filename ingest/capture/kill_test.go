package capture_test

import (
	"bufio"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"stanchion/ingest/capture"
	"stanchion/ingest/capture/virtual"
	"stanchion/ingest/wirelog"
)

// Names of the variables that turn this test program into a recording one.
const (
	childPort = "CAPTURE_TEST_PORT"
	childLog  = "CAPTURE_TEST_LOG"
)

func TestMain(m *testing.M) {
	if port := os.Getenv(childPort); port != "" {
		recordUntilKilled(port, os.Getenv(childLog))
		return
	}
	os.Exit(m.Run())
}

// recordUntilKilled records, and prints what it has received whenever it is in the file.
func recordUntilKilled(port, path string) {
	_, err := capture.Record(context.Background(), capture.Options{Port: port, Baud: 115200, Path: path, Tool: "test",
		Status: func(s capture.Status) { fmt.Println(s.Losses.Samples, s.Bytes) }})
	fmt.Fprintln(os.Stderr, err)
	os.Exit(1)
}

// The recording program is killed at any moment: the log opens, and holds all that the program had received.
func TestKill(t *testing.T) {
	t.Parallel()
	kills := 10
	if os.Getenv("CI") == "true" && !testing.Short() {
		kills = 200
	}
	rng := rand.New(rand.NewPCG(11, 13))
	for i := range kills {
		wait := time.Duration(rng.IntN(300)) * time.Millisecond
		if t.Failed() {
			return
		}
		killOnce(t, i, wait)
	}
}

func killOnce(t *testing.T, i int, after time.Duration) {
	term := terminal(t)
	defer term.Close()
	tr := track(400_000, 2000)
	stop := serve(term, virtual.NewDevice(tr, virtual.Config{Session: uint32(i + 1)}), virtual.Faults{}, virtual.Pace{Speed: 30})
	defer stop()
	path := filepath.Join(t.TempDir(), "run.slog")
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), childPort+"="+term.Name, childLog+"="+path)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	var told int64
	var bytes int64
	var once sync.Once
	kill := func() { _ = cmd.Process.Kill() }
	guard := time.AfterFunc(deadlock, kill)
	defer guard.Stop()
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if n, _ := fmt.Sscan(lines.Text(), &told, &bytes); n == 2 && told > 0 {
			once.Do(func() { time.AfterFunc(after, kill) })
		}
	}
	_ = cmd.Wait()
	if told == 0 {
		t.Fatalf("kill %d: the program received nothing", i)
	}
	rec, err := wirelog.Read(context.Background(), path, wirelog.Options{})
	if err != nil {
		t.Fatalf("kill %d: %v", i, err)
	}
	if got := int64(len(rec.Travel)); got < told {
		t.Errorf("kill %d: %d samples in the log, but %d were received", i, got, told)
	}
	if info, err := os.Stat(path); err != nil || info.Size() < bytes {
		t.Errorf("kill %d: %d bytes in the log, but %d were written (%v)", i, info.Size(), bytes, err)
	}
	if text := strings.Join(rec.Cautions, "\n"); !strings.Contains(text, "was cut off") {
		t.Errorf("kill %d: cautions %q do not say that the log was cut off", i, text)
	}
	for k, v := range rec.Travel {
		if v != float64(k%4096) {
			t.Fatalf("kill %d: sample %d is %g, want %d", i, k, v, k%4096)
		}
	}
}
