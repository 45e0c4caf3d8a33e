package capture_test

import (
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"stanchion/firmware-protocol/wire"
	"stanchion/ingest/capture/virtual"
)

// liveTime is how long BenchmarkLive records.
const liveTime = 20 * time.Second

// BenchmarkLive records 4 channels at 4 kHz in real time in a program of its own, and tells the share of a core that it takes. Run
// it with -benchtime 1x.
func BenchmarkLive(b *testing.B) {
	if testing.Short() {
		b.Skip("takes 20 s")
	}
	tr := &virtual.Track{RateHz: 4000}
	for range 4 {
		tr.Channels = append(tr.Channels, wire.Channel{Kind: wire.KindTravel, Unit: wire.UnitCounts, Scale: 1})
	}
	for i := range 4 * 40_000 {
		tr.Packed = append(tr.Packed, uint16(i*37)&0xFFF)
	}
	for b.Loop() {
		term := terminal(b)
		stop := serve(term, virtual.NewDevice(tr, virtual.Config{Session: 3, Loop: true}), virtual.Faults{}, virtual.Pace{Speed: 1})
		path := filepath.Join(b.TempDir(), "run.slog")
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), childPort+"="+term.Name, childLog+"="+path)
		cmd.Stdout = io.Discard
		if err := cmd.Start(); err != nil {
			b.Fatal(err)
		}
		time.Sleep(liveTime)
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		stop()
		term.Close()
		_, _, l := frames(b, path)
		if l.FramesMissing > 0 || l.Samples < int64(liveTime.Seconds())*4000/2 {
			b.Fatalf("%d samples, %d frames missing", l.Samples, l.FramesMissing)
		}
		cpu := cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
		b.ReportMetric(100*cpu.Seconds()/liveTime.Seconds(), "%core")
		b.ReportMetric(float64(l.Samples)/liveTime.Seconds(), "samples/s")
	}
}
