package capture_test

import (
	"context"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"stanchion/firmware-protocol/wire"
	"stanchion/ingest/capture"
	"stanchion/ingest/capture/virtual"
)

// deadlock is how long a test waits for what must come. It says nothing about speed.
const deadlock = 2 * time.Minute

// track makes up n samples of two channels at rateHz; the first channel of sample i is i mod 4096, so that each can be told.
func track(n int, rateHz float64) *virtual.Track {
	rng := rand.New(rand.NewPCG(7, 9))
	t := &virtual.Track{RateHz: rateHz, Channels: []wire.Channel{
		{Kind: wire.KindTravel, Unit: wire.UnitCounts, ADCBits: 12, Scale: 1, Name: "fork"},
		{Kind: wire.KindSpeed, Unit: wire.UnitMetrePerSecond, Scale: 0.01, Name: "speed"},
	}}
	for i := range n {
		t.Packed = append(t.Packed, uint16(i%4096), uint16(rng.IntN(2000)))
	}
	return t
}

// terminal opens a pseudo-terminal, or skips.
func terminal(t testing.TB) *virtual.Terminal {
	t.Helper()
	term, err := virtual.OpenTerminal()
	if err != nil {
		t.Skipf("SKIPPED: no pseudo-terminal here, recording is not tested: %v", err)
	}
	return term
}

// A stage is a virtual device that plays and a recording of it.
type stage struct {
	t      testing.TB
	path   string
	port   string
	mu     sync.Mutex
	events []capture.Event
	status capture.Status
	marks  chan wire.Label
	opt    func(*capture.Options)
}

func newStage(t testing.TB, port string) *stage {
	return &stage{t: t, port: port, path: filepath.Join(t.TempDir(), "run.slog"), marks: make(chan wire.Label)}
}

// record records until ctx ends.
func (s *stage) record(ctx context.Context) (capture.Summary, error) {
	o := capture.Options{Port: s.port, Baud: 115200, Path: s.path, Tool: "test", Marks: s.marks,
		Event: func(e capture.Event) {
			s.mu.Lock()
			defer s.mu.Unlock()
			s.events = append(s.events, e)
		},
		Status: func(st capture.Status) {
			s.mu.Lock()
			defer s.mu.Unlock()
			s.status = st
		}}
	if s.opt != nil {
		s.opt(&o)
	}
	return capture.Record(ctx, o)
}

// started records in the background; end stops it and returns what came of it.
func (s *stage) started() (end func() (capture.Summary, error)) {
	ctx, cancel := context.WithTimeout(context.Background(), deadlock)
	type outcome struct {
		sum capture.Summary
		err error
	}
	done := make(chan outcome, 1)
	go func() {
		sum, err := s.record(ctx)
		done <- outcome{sum, err}
	}()
	return func() (capture.Summary, error) {
		cancel()
		o := <-done
		return o.sum, o.err
	}
}

// wait waits until the recording is in a state.
func (s *stage) wait(what string, ok func(capture.Status, []capture.Event) bool) {
	s.t.Helper()
	for began := time.Now(); time.Since(began) < deadlock; time.Sleep(10 * time.Millisecond) {
		s.mu.Lock()
		yes := ok(s.status, s.events)
		s.mu.Unlock()
		if yes {
			return
		}
	}
	s.t.Fatalf("waited in vain for: %s\nevents: %v", what, s.events)
}

// serve plays d in the background; wait returns what the line did.
func serve(term *virtual.Terminal, d *virtual.Device, f virtual.Faults, p virtual.Pace) (stop func() virtual.Report) {
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan virtual.Report, 1)
	go func() {
		r, _ := virtual.Serve(ctx, term, d, f, p)
		done <- r
	}()
	return func() virtual.Report {
		cancel()
		return <-done
	}
}

// frames reads the frames of a log.
func frames(t testing.TB, path string) (ids map[virtual.ID]bool, samples map[int]uint16, l wire.Losses) {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	ids, samples = map[virtual.ID]bool{}, map[int]uint16{}
	r := wire.NewReader(f)
	for {
		fr, err := r.Next()
		if err != nil {
			break
		}
		if !fr.Type.FromDevice() {
			continue
		}
		ids[virtual.ID{Session: fr.Session, Sequence: fr.Sequence}] = true
		if m, ok := fr.Message.(*wire.Samples); ok {
			for i := range m.Len() {
				samples[int(m.Index)+i] = m.Values[i*m.Channels]
			}
		}
	}
	return ids, samples, r.Losses()
}

// said tells whether an event says text.
func said(events []capture.Event, text string) bool {
	for _, e := range events {
		if strings.Contains(e.Text, text) {
			return true
		}
	}
	return false
}

// hostFrames reads the messages of one type from a log.
func hostFrames(t testing.TB, path string, kind wire.Type) (out []wire.Message) {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var d wire.Decoder
	for len(b) > 0 {
		var f *wire.Frame
		if f, b = d.Next(b); f == nil || f.Type != kind {
			continue
		}
		switch m := f.Message.(type) {
		case *wire.HostGap:
			c := *m
			out = append(out, &c)
		case *wire.Marker:
			c := *m
			out = append(out, &c)
		case *wire.Reply:
			c := *m
			out = append(out, &c)
		default:
			t.Fatalf("copy %T in this helper", m)
		}
	}
	return out
}
