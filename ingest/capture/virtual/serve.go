package virtual

import (
	"context"
	"io"
	"time"
)

// Pace is how a device is played.
type Pace struct {
	// Speed is how many times faster than real the device's clock runs; 0: as fast as the other side reads.
	Speed float64
	// StopAtEnd ends Serve once the track was played and sent.
	StopAtEnd bool
}

const (
	beat        = 5 * time.Millisecond // between two looks at the clock
	freeBeat    = 20 * time.Millisecond
	queueWrites = 64 // that wait; a device in real time throws away what does not fit
)

// A player is a device on a port.
type player struct {
	d         *Device
	line      *line
	port      io.ReadWriter
	commands  chan []byte
	failed    chan error
	queue     chan []byte
	written   chan struct{} // closed when the queue was written
	nextStall uint64
	stallEnd  uint64
	nextReset uint64
}

// Serve plays d over port until ctx ends, the port fails, or the track was played where p says so, which is no error. The port
// must be closed by the caller afterwards, which also ends the goroutine that still reads it.
func Serve(ctx context.Context, port io.ReadWriter, d *Device, f Faults, p Pace) (Report, error) {
	s := &player{d: d, line: newLine(f), port: port, commands: make(chan []byte, 16), failed: make(chan error, 2),
		queue: make(chan []byte, queueWrites), written: make(chan struct{})}
	s.plan()
	go s.listen()
	go s.write()
	err := s.play(ctx, p)
	close(s.queue)
	if err == nil {
		select {
		case <-s.written:
		case <-ctx.Done():
		}
	}
	return s.line.report, err
}

// play is the life of the device.
func (s *player) play(ctx context.Context, p Pace) error {
	ticker := time.NewTicker(beat)
	defer ticker.Stop()
	last := time.Now()
	for {
		step := freeBeat
		if p.Speed > 0 {
			select {
			case <-ticker.C:
			case <-ctx.Done():
				return nil
			}
			now := time.Now()
			step = time.Duration(float64(now.Sub(last)) * p.Speed)
			last = now
		}
		if err := s.obey(ctx, p.Speed == 0); err != nil || ctx.Err() != nil {
			return err
		}
		s.live(step)
		out := s.collect()
		done := p.StopAtEnd && s.d.Done()
		if done {
			out = s.line.flush(out)
		}
		if err := s.put(ctx, out, p.Speed == 0 || done); err != nil || done {
			return err
		}
	}
}

// obey hands the commands that came to the device. wait: it waits for one while the device has nothing to do.
func (s *player) obey(ctx context.Context, wait bool) error {
	for {
		var idle <-chan time.Time
		if wait && !s.d.streaming {
			idle = time.After(beat)
		}
		select {
		case c := <-s.commands:
			s.d.Command(c)
			continue
		case err := <-s.failed:
			return err
		case <-ctx.Done():
			return nil
		default:
		}
		if idle == nil {
			return nil
		}
		select {
		case c := <-s.commands:
			s.d.Command(c)
		case err := <-s.failed:
			return err
		case <-ctx.Done():
			return nil
		case <-idle:
			return nil
		}
	}
}

// plan sets the times of the next faults.
func (s *player) plan() {
	f := s.line.f
	s.stallEnd = 0
	s.nextStall, s.nextReset = never, never
	if f.StallEvery > 0 {
		s.nextStall = s.d.NowUS() + uint64(f.StallEvery.Microseconds())
	}
	if f.ResetEvery > 0 {
		s.nextReset = s.d.NowUS() + uint64(f.ResetEvery.Microseconds())
	}
}

const never = ^uint64(0)

// live lets the device run, with the faults that are due.
func (s *player) live(step time.Duration) {
	to := s.d.NowUS() + uint64(step.Microseconds())
	if s.stallEnd > 0 && to >= s.stallEnd {
		s.d.Stall(false)
		s.stallEnd = 0
		s.nextStall = to + uint64(s.line.f.StallEvery.Microseconds())
	}
	if s.d.streaming && s.stallEnd == 0 && to >= s.nextStall {
		s.d.Stall(true)
		s.stallEnd = to + uint64(s.line.f.StallFor.Microseconds())
	}
	s.d.Run(to)
	if s.d.streaming && to >= s.nextReset {
		if n := len(s.d.out); n > 0 {
			last := &s.d.out[n-1]
			last.bytes = last.bytes[:len(last.bytes)/2]
			s.line.harm(*last)
		}
		s.d.Stall(false)
		s.d.Reset()
		s.plan()
	}
}

// collect passes what the device made through the line.
func (s *player) collect() []byte {
	var out []byte
	for _, frame := range s.d.take() {
		out = s.line.pass(out, frame)
	}
	return out
}

// put hands bytes to the writer. Where it may not wait, bytes that find no room are thrown away, as a board does.
func (s *player) put(ctx context.Context, b []byte, wait bool) error {
	if len(b) == 0 {
		return nil
	}
	if !wait {
		select {
		case s.queue <- b:
		default:
		}
		return nil
	}
	select {
	case s.queue <- b:
		return nil
	case err := <-s.failed:
		return err
	case <-ctx.Done():
		return nil
	}
}

func (s *player) write() {
	defer close(s.written)
	for b := range s.queue {
		if _, err := s.port.Write(b); err != nil {
			s.failed <- err
			return
		}
	}
}

func (s *player) listen() {
	buf := make([]byte, 512)
	for {
		n, err := s.port.Read(buf)
		if n > 0 {
			s.commands <- append([]byte(nil), buf[:n]...)
		}
		if err != nil {
			s.failed <- err
			return
		}
	}
}
