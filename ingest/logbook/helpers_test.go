package logbook

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"
)

var (
	testFork = Fork{Name: "long fork", TravelMM: 160, HeadAngleDeg: 64.5}
	noon     = time.Date(2031, 5, 4, 12, 0, 0, 0, time.UTC)
)

func newBook(t testing.TB) *Logbook {
	t.Helper()
	b, err := Create(t.Context(), filepath.Join(t.TempDir(), "my book #1 100%"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	return b
}

// recording writes a small log of its own content.
func recording(t testing.TB, dir string, i int) string {
	t.Helper()
	path := filepath.Join(dir, fmt.Sprintf("run %d.csv", i))
	if err := os.WriteFile(path, fmt.Appendf(nil, "time_s,travel_mm\n0,%d\n0.001,%d\n", i, i+1), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func ptr(v float64) *float64 { return &v }

// newRun is the i-th run of a test day: rebound is turned, pressure is held.
func newRun(t testing.TB, dir string, i int) NewRun {
	return NewRun{
		Recording: recording(t, dir, i), Bike: "test bike", Fork: testFork, ForkFile: "[fork]\ntravel_mm = 160.0\n", Trail: "quarry",
		RiddenAt: noon.Add(time.Duration(i) * 10 * time.Minute),
		Setup:    Setup{PressurePSI: ptr(82), TemperatureC: ptr(float64(10 + i%7)), Clicks: map[string]float64{"rebound": float64(2 + i%4*3), "lsc": 5}},
		Figures: Figures{SchemaVersion: 1, Definitions: "d1", DurationS: 300, RidingS: 240, List: []Figure{
			{Key: "sag.static_mm", Value: ptr(30 + float64(i)/10), N: 1}, {Key: "damping.zeta", Absent: "fewer than 3 decays"}}},
	}
}

func mustAdd(t testing.TB, b *Logbook, n NewRun) Run {
	t.Helper()
	r, err := b.Add(context.Background(), n)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func mustCheck(t testing.TB, b *Logbook) CheckReport {
	t.Helper()
	report, err := b.Check(context.Background(), nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(report.Problems) > 0 {
		t.Fatalf("problems: %q", report.Problems)
	}
	return report
}
