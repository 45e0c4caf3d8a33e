package capture_test

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"stanchion/firmware-protocol/wire"
	"stanchion/ingest/capture"
	"stanchion/ingest/capture/virtual"
)

// A long recording over a bad line: each frame that came through is in the log, and each one that did not is counted.
func TestRecordOverABadLine(t *testing.T) {
	t.Parallel()
	n := 1_000_000
	if testing.Short() {
		n = 100_000
	}
	term := terminal(t)
	defer term.Close()
	s := newStage(t, term.Name)
	tr := track(n, 2000)
	d := virtual.NewDevice(tr, virtual.Config{Session: 5})
	stop := serve(term, d, virtual.Faults{Seed: 3, BitErrors: 1e-4, Drop: 0.001, Duplicate: 0.001, Swap: 0.001}, virtual.Pace{})
	end := s.started()
	// Where the last frames were lost, a status tells of them.
	s.wait("the end of the track", func(st capture.Status, _ []capture.Event) bool {
		l := st.Losses
		return l.Samples+l.SamplesMissing+l.SamplesBefore == int64(n)
	})
	sum, err := end()
	if err != nil {
		t.Fatal(err)
	}
	report := stop()
	ids, samples, losses := frames(t, s.path)
	harmed := map[virtual.ID]bool{}
	for _, id := range report.Harmed {
		harmed[id] = true
	}
	if len(harmed) < report.Frames/100 {
		t.Fatalf("only %d of %d frames were harmed: the line is too good for this test", len(harmed), report.Frames)
	}
	last := uint32(0)
	for id := range ids {
		last = max(last, id.Sequence)
	}
	for seq := range last {
		id := virtual.ID{Session: 5, Sequence: seq}
		if !harmed[id] && !ids[id] {
			t.Errorf("frame %d came through whole, but is not in the log", seq)
		}
	}
	for i, v := range samples {
		if v != tr.Packed[2*i] {
			t.Fatalf("sample %d is %d, want %d", i, v, tr.Packed[2*i])
		}
	}
	if got := int64(len(samples)); got != losses.Samples || got+losses.SamplesMissing+losses.SamplesBefore != int64(n) {
		t.Errorf("%d samples in the log, %d counted, %d missing, %d before: together they must be %d",
			got, losses.Samples, losses.SamplesMissing, losses.SamplesBefore, n)
	}
	if sum.Losses.Frames != losses.Frames || sum.Losses.FramesMissing != losses.FramesMissing {
		t.Errorf("summary counts %d frames and %d missing, the log %d and %d", sum.Losses.Frames, sum.Losses.FramesMissing, losses.Frames, losses.FramesMissing)
	}
	if losses.Duplicates == 0 || losses.FramesLate == 0 {
		t.Errorf("%d duplicates, %d late frames: both should have come", losses.Duplicates, losses.FramesLate)
	}
	t.Logf("%d frames sent, %d harmed by %d flipped bits, %d in the log", report.Frames, len(harmed), report.Bits, len(ids))
}

// atLeast says that so many samples came.
func atLeast(n int64) func(capture.Status, []capture.Event) bool {
	return func(s capture.Status, _ []capture.Event) bool { return s.Losses.Samples+s.Rows >= n }
}

func event(text string) func(capture.Status, []capture.Event) bool {
	return func(_ capture.Status, e []capture.Event) bool { return said(e, text) }
}

// The cable is pulled out and put in again: the same file goes on, and tells of the gap.
func TestUnplugAndReplug(t *testing.T) {
	t.Parallel()
	link := filepath.Join(t.TempDir(), "sensor")
	plug := func(session uint32) (*virtual.Terminal, func() virtual.Report) {
		term := terminal(t)
		os.Remove(link)
		if err := os.Symlink(term.Name, link); err != nil {
			t.Fatal(err)
		}
		d := virtual.NewDevice(track(100_000, 1000), virtual.Config{Session: session})
		return term, serve(term, d, virtual.Faults{}, virtual.Pace{Speed: 10})
	}
	term, stop := plug(1)
	s := newStage(t, link)
	end := s.started()
	s.wait("samples", atLeast(500))
	stop()
	os.Remove(link)
	term.Close()
	s.wait("the loss", event("lost the sensor"))
	s.mu.Lock()
	before := s.status.Losses.Samples
	s.mu.Unlock()
	term, stop = plug(2)
	defer term.Close()
	s.wait("its return", event("is back after"))
	s.wait("samples again", atLeast(before+500))
	sum, err := end()
	stop()
	if err != nil {
		t.Fatal(err)
	}
	gaps := hostFrames(t, s.path, wire.TypeHostGap)
	if sum.Breaks != 1 || len(gaps) != 1 || gaps[0].(*wire.HostGap).Cause != wire.GapUnplugged {
		t.Errorf("%d breaks, gaps in the log: %v; want one", sum.Breaks, gaps)
	}
	if sum.Losses.Sessions != 2 {
		t.Errorf("%d sessions, want 2", sum.Losses.Sessions)
	}
}

// The sensor is reset again and again in mid-frame.
func TestResets(t *testing.T) {
	t.Parallel()
	term := terminal(t)
	defer term.Close()
	s := newStage(t, term.Name)
	s.opt = func(o *capture.Options) { o.RateHz = 500 }
	d := virtual.NewDevice(track(1_000_000, 1000), virtual.Config{Session: 70, Loop: true})
	stop := serve(term, d, virtual.Faults{ResetEvery: 5 * time.Second}, virtual.Pace{Speed: 20})
	end := s.started()
	s.wait("four sessions", func(st capture.Status, _ []capture.Event) bool { return st.Losses.Sessions >= 4 })
	if _, err := end(); err != nil {
		t.Fatal(err)
	}
	report := stop()
	_, _, l := frames(t, s.path)
	if l.Sessions < 4 || !said(s.events, "the sensor was reset") {
		t.Errorf("%d sessions, events %v: want resets", l.Sessions, s.events)
	}
	var asked int64
	for _, m := range hostFrames(t, s.path, wire.TypeReply) {
		if m.(*wire.Reply).Command == wire.TypeSetRate {
			asked++
		}
	}
	if asked < l.Sessions-1 { // the last one may just have begun
		t.Errorf("the rate was set %d times in %d sessions: a reset device forgets it", asked, l.Sessions)
	}
	if lost := l.FramesMissing; lost > int64(len(report.Harmed)) {
		t.Errorf("%d frames missing, but only %d were cut off", lost, len(report.Harmed))
	}
}

// noise answers nothing and sends what cannot be understood.
func noise(term *virtual.Terminal, b string) (stop func()) {
	done := make(chan struct{})
	go func() {
		for {
			select {
			case <-done:
				return
			case <-time.After(20 * time.Millisecond):
				term.Write([]byte(b))
			}
		}
	}()
	return func() { close(done) }
}

// A wrong baud rate gives bytes without sense: the recording says so.
func TestWrongBaudRate(t *testing.T) {
	t.Parallel()
	term := terminal(t)
	defer term.Close()
	stop := noise(term, "\x80\xf8\x00\x1e\xe0\x78\xfe\x86\x00\xc0")
	defer stop()
	s := newStage(t, term.Name)
	end := s.started()
	s.wait("the doubt", event("none of them can be understood"))
	for _, e := range s.events {
		if strings.Contains(e.Text, "understood") && !strings.Contains(e.Hint, "--baud") {
			t.Errorf("hint %q does not name --baud", e.Hint)
		}
	}
	if _, err := end(); err != nil {
		t.Fatal(err)
	}
}

// Nothing comes at all.
func TestSilentPort(t *testing.T) {
	t.Parallel()
	term := terminal(t)
	defer term.Close()
	s := newStage(t, term.Name)
	end := s.started()
	s.wait("the doubt", event("nothing has come"))
	if _, err := end(); err != nil {
		t.Fatal(err)
	}
}

// Marks come from the keyboard; the sensor answers with its own clock, and they are counted once.
func TestMarks(t *testing.T) {
	t.Parallel()
	term := terminal(t)
	defer term.Close()
	s := newStage(t, term.Name)
	tr := track(100_000, 1000)
	tr.Buttons = []int{300}
	d := virtual.NewDevice(tr, virtual.Config{Session: 9})
	stop := serve(term, d, virtual.Faults{}, virtual.Pace{Speed: 5})
	end := s.started()
	s.wait("samples", atLeast(1000))
	s.marks <- wire.LabelGate
	s.wait("the mark", event("marker 2 set"))
	s.wait("more samples", atLeast(3000))
	sum, err := end()
	stop()
	if err != nil {
		t.Fatal(err)
	}
	if sum.Markers != 2 {
		t.Errorf("%d markers, want the button and the mark", sum.Markers)
	}
	var labels []wire.Label
	for _, m := range hostFrames(t, s.path, wire.TypeMarker) {
		labels = append(labels, m.(*wire.Marker).Label)
	}
	if len(labels) != 2 || labels[0] != wire.LabelButton || labels[1] != wire.LabelGate {
		t.Errorf("markers %v in the log, want button and gate", labels)
	}
}

// A rate that the sensor does not have is rounded to one that it has.
func TestRate(t *testing.T) {
	t.Parallel()
	term := terminal(t)
	defer term.Close()
	s := newStage(t, term.Name)
	s.opt = func(o *capture.Options) { o.RateHz = 240 }
	d := virtual.NewDevice(track(100_000, 1000), virtual.Config{Session: 9})
	stop := serve(term, d, virtual.Faults{}, virtual.Pace{Speed: 5})
	defer stop()
	end := s.started()
	s.wait("the reply", event("took 250 Hz, the nearest to 240 Hz"))
	s.wait("samples", atLeast(100))
	if _, err := end(); err != nil {
		t.Fatal(err)
	}
}

// An existing file is left alone, gone on with, or replaced, as asked.
func TestExistingFile(t *testing.T) {
	t.Parallel()
	term := terminal(t)
	defer term.Close()
	s := newStage(t, term.Name)
	if err := os.WriteFile(s.path, []byte("mine"), 0o644); err != nil {
		t.Fatal(err)
	}
	d := virtual.NewDevice(track(100_000, 1000), virtual.Config{Session: 9})
	stop := serve(term, d, virtual.Faults{}, virtual.Pace{Speed: 5})
	defer stop()
	ctx := context.Background()
	if _, err := s.record(ctx); err == nil || !strings.Contains(err.Error(), "is there already") {
		t.Errorf("error %v, want that the file is there", err)
	}
	s.opt = func(o *capture.Options) { o.Append = true }
	if _, err := s.record(ctx); err == nil || !strings.Contains(err.Error(), "not a log") {
		t.Errorf("error %v, want that it is no log", err)
	}
	if b, _ := os.ReadFile(s.path); string(b) != "mine" {
		t.Fatalf("the file holds %q now", b)
	}
	s.opt = func(o *capture.Options) { o.Overwrite, o.For = true, 300*time.Millisecond }
	if _, err := s.record(ctx); err != nil {
		t.Fatal(err)
	}
	first, _ := os.ReadFile(s.path)
	s.opt = func(o *capture.Options) { o.Append, o.For = true, 300*time.Millisecond }
	if _, err := s.record(ctx); err != nil {
		t.Fatal(err)
	}
	both, _ := os.ReadFile(s.path)
	if !strings.HasPrefix(string(both), string(first)) || len(both) == len(first) {
		t.Errorf("the log of %d bytes did not grow from the one of %d", len(both), len(first))
	}
	if gaps := hostFrames(t, s.path, wire.TypeHostGap); len(gaps) != 1 || gaps[0].(*wire.HostGap).Cause != wire.GapRestarted {
		t.Errorf("gaps %v, want one of a restart", gaps)
	}
}

// A board that prints lines is recorded as it prints.
func TestTextMode(t *testing.T) {
	t.Parallel()
	term := terminal(t)
	defer term.Close()
	s := newStage(t, term.Name)
	d := virtual.NewDevice(track(100_000, 1000), virtual.Config{Text: true})
	stop := serve(term, d, virtual.Faults{}, virtual.Pace{Speed: 5})
	end := s.started()
	s.wait("rows", atLeast(1000))
	s.marks <- wire.LabelNone
	s.wait("more rows", atLeast(3000))
	sum, err := end()
	stop()
	if err != nil {
		t.Fatal(err)
	}
	if sum.Mode != wire.ModeText || sum.BadLines > 1 || sum.Markers != 1 {
		t.Errorf("mode %v, %d bad lines, %d markers; want text, at most the first line, one", sum.Mode, sum.BadLines, sum.Markers)
	}
}
