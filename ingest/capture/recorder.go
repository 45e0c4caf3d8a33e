package capture

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"time"

	"stanchion/firmware-protocol/wire"
	"stanchion/ingest/wirelog"
)

// How often things are done.
const (
	tickEvery   = 200 * time.Millisecond // status
	syncEvery   = 750 * time.Millisecond // sync and wall time: with a tick on top under a second
	askEvery    = time.Second            // identify, while there is something to ask
	retryEvery  = 250 * time.Millisecond // opening a port that is gone
	silentAfter = 3 * time.Second
	// A stream of which nothing makes sense after garbageAfter and garbageBytes is sent at another rate.
	garbageAfter = 3 * time.Second
	garbageBytes = 64
	stopAgain    = 500 * time.Millisecond
	stopWait     = 1500 * time.Millisecond // for what the device still sends after a stop
)

// A recorder is one recording. It is also the handler of its view.
type recorder struct {
	o        Options
	log      *logFile
	view     *view
	commands *wire.Encoder
	link     *link // nil while the port is away
	began    time.Time

	opened   time.Time // of the present link
	portThen int64     // bytes of the device before the present link
	lastData time.Time
	lastSync time.Time
	lastAsk  time.Time
	breaks   int

	wantTime     bool // a wall time belongs after the next boundary
	rateAsked    bool
	stopping     bool // a stop was sent
	deviceEnded  bool // since the last stop or attach
	saidSilent   bool
	saidGarbage  bool
	saidHello    string // the device that was told of
	sessions     int
	devicePaused bool // by itself: it is not to be started again
	pausedAt     time.Time
	marksSent    int // that the device may still answer
	markedAt     time.Time
}

func newRecorder(o Options, log *logFile) *recorder {
	r := &recorder{o: o, log: log, commands: wire.NewEncoder(0), began: time.Now()}
	r.view = newView(r, o.Setup)
	r.lastSync = r.began
	return r
}

// run records until it is told to stop or cannot go on.
func (r *recorder) run(ctx context.Context, port Port, pause time.Duration) error {
	if pause > 0 {
		r.log.note(&wire.HostGap{UnixUS: time.Now().Add(-pause).UnixMicro(), DurationUS: uint64(pause.Microseconds()), Cause: wire.GapRestarted})
	}
	if r.o.Tool != "" {
		r.log.note(&wire.HostNote{Kind: wire.NoteTool, Text: r.o.Tool})
	}
	r.log.note(&wire.HostNote{Kind: wire.NotePort, Text: fmt.Sprintf("%s at %d baud", r.o.Port, r.o.Baud)})
	err := r.attach(port)
	if err == nil {
		err = r.loop(ctx)
	}
	if r.link != nil {
		r.link.close()
	}
	if err == nil {
		r.log.note(&wire.HostNote{Kind: wire.NoteComment, Text: wirelog.CleanEnd})
	}
	if e := r.log.close(); err == nil {
		err = e
	}
	return err
}

// attach takes a port into use. The stream begins anew here, whatever it broke off in.
func (r *recorder) attach(port Port) error {
	r.link = newLink(port, r.o.Port)
	now := time.Now()
	r.opened, r.lastData, r.lastAsk = now, now, now
	r.portThen = r.view.port
	r.saidGarbage, r.saidSilent, r.rateAsked, r.deviceEnded = false, false, false, false
	r.wantTime = true
	r.view.broken()
	r.command(&wire.Identify{})
	return r.log.flush()
}

// loop is the recording itself.
func (r *recorder) loop(ctx context.Context) error {
	ticker := time.NewTicker(tickEvery)
	defer ticker.Stop()
	var timeout <-chan time.Time
	if r.o.For > 0 {
		timer := time.NewTimer(r.o.For)
		defer timer.Stop()
		timeout = timer.C
	}
	for {
		var in chan chunk
		if r.link != nil {
			in = r.link.in
		}
		select {
		case c, ok := <-in:
			if !ok {
				if err := r.wait(ctx, timeout); err != nil {
					return stopped(err)
				}
				continue
			}
			if err := r.take(c); err != nil {
				return err
			}
		case label := <-r.o.Marks:
			r.mark(label)
		case now := <-ticker.C:
			if err := r.tick(now); err != nil {
				return err
			}
		case <-ctx.Done():
			return r.finish()
		case <-timeout:
			return r.finish()
		}
	}
}

// errStopped ends the wait for a port.
var errStopped = errors.New("told to stop")

func stopped(err error) error {
	if errors.Is(err, errStopped) {
		return nil
	}
	return err
}

// wait lets go of the link and opens the port again when it is back.
func (r *recorder) wait(ctx context.Context, timeout <-chan time.Time) error {
	gone := time.Now()
	why := r.link.err
	r.link.close()
	r.link = nil
	r.breaks++
	r.event(true, "check the cable; recording goes on into the same file when the sensor is back", "lost the sensor on %s (%v): waiting for it", r.o.Port, why)
	if err := r.log.sync(); err != nil {
		return err
	}
	retry := time.NewTicker(retryEvery)
	defer retry.Stop()
	for {
		select {
		case <-ctx.Done():
			return errStopped
		case <-timeout:
			return errStopped
		case <-r.o.Marks:
			r.event(true, "", "the sensor is away: no marker was set")
		case now := <-retry.C:
			if r.o.Status != nil {
				r.o.Status(r.status(now))
			}
			port, err := r.o.open(r.o.Port, r.o.Baud)
			if err != nil {
				continue
			}
			away := time.Since(gone)
			r.event(false, "", "the sensor is back after %.1f s", away.Seconds())
			r.log.note(&wire.HostGap{UnixUS: gone.UnixMicro(), DurationUS: uint64(away.Microseconds()), Cause: wire.GapUnplugged})
			return r.attach(port)
		}
	}
}

// take writes what came and looks at it.
func (r *recorder) take(c chunk) error {
	r.lastData = c.at
	r.saidSilent = false
	if end := r.lineEnd(); r.wantTime && bytes.IndexByte(c.data, end) >= 0 {
		r.wantTime = false
		r.log.note(&wire.HostTime{UnixUS: c.at.UnixMicro(), ZoneMin: zoneMinutes(c.at)})
	}
	if err := r.log.write(c.data, r.lineEnd()); err != nil {
		return err
	}
	r.view.device(c.data, c.at)
	return nil
}

// lineEnd is the byte after which a host frame may stand.
func (r *recorder) lineEnd() byte {
	if r.view.status.Mode == wire.ModeText {
		return '\n'
	}
	return 0
}

func zoneMinutes(at time.Time) int16 {
	_, offset := at.Zone()
	return int16(offset / 60)
}

// tick does what is due.
func (r *recorder) tick(now time.Time) error {
	if len(r.log.pending) > 0 && r.log.boundary {
		if err := r.log.flush(); err != nil {
			return err
		}
	}
	if now.Sub(r.lastSync) >= syncEvery {
		r.lastSync = now
		r.wantTime = true
		if err := r.log.sync(); err != nil {
			return err
		}
	}
	if r.view.lastSample.After(r.pausedAt) {
		r.devicePaused = false
	}
	r.ask(now)
	r.doubt(now)
	if r.o.Status != nil {
		r.o.Status(r.status(now))
	}
	return nil
}

// ask asks who is there while that is not known, or while samples are missing.
func (r *recorder) ask(now time.Time) {
	quiet := r.view.status.Mode != wire.ModeText && !r.devicePaused && !r.stopping && now.Sub(r.view.lastSample) > askEvery
	unknown := r.view.status.Mode != wire.ModeText && !r.view.haveHello
	if (quiet || unknown) && now.Sub(r.lastAsk) >= askEvery {
		r.lastAsk = now
		r.command(&wire.Identify{})
	}
}

// doubt says what may be wrong.
func (r *recorder) doubt(now time.Time) {
	if !r.saidSilent && now.Sub(r.lastData) >= silentAfter && !r.devicePaused {
		r.saidSilent = true
		r.event(true, "is the sensor switched on, and is this its port? 'stanchion ports' lists them", "nothing has come from %s for %.0f s", r.o.Port, silentAfter.Seconds())
	}
	came := r.view.port - r.portThen
	if !r.saidGarbage && r.view.status.Mode == wire.ModeUnknown && came >= garbageBytes && now.Sub(r.opened) >= garbageAfter {
		r.saidGarbage = true
		r.event(true, fmt.Sprintf("is %d the sensor's baud rate? Try --baud with the rate in its firmware, often 115200, 230400, 460800 or 921600", r.o.Baud),
			"%d bytes came and none of them can be understood", came)
	}
}

// command sends to the device.
func (r *recorder) command(m wire.Message) {
	if r.link == nil {
		return
	}
	if b, err := r.commands.Append(nil, m); err == nil {
		r.link.send(b)
	}
}

// finish stops the device and takes what it still sends.
func (r *recorder) finish() error {
	r.stopping = true
	if r.link == nil {
		return nil
	}
	wait := time.Duration(0)
	if r.view.status.Mode == wire.ModeFrames && !r.devicePaused {
		r.deviceEnded = false
		r.command(&wire.Stop{})
		wait = stopWait
	}
	limit := time.NewTimer(wait)
	defer limit.Stop()
	again := time.NewTicker(stopAgain) // a command may be lost on its way
	defer again.Stop()
	for !r.deviceEnded {
		select {
		case c, ok := <-r.link.in:
			if !ok {
				return nil
			}
			if err := r.take(c); err != nil {
				return err
			}
		case <-again.C:
			r.command(&wire.Stop{})
		case <-limit.C:
			return nil
		}
	}
	return nil
}

func (r *recorder) event(problem bool, hint, format string, args ...any) {
	if r.o.Event != nil {
		r.o.Event(Event{Problem: problem, Text: fmt.Sprintf(format, args...), Hint: hint})
	}
}

func (r *recorder) status(now time.Time) Status {
	s := r.view.now(now)
	s.Elapsed = now.Sub(r.began)
	s.Connected = r.link != nil
	s.Bytes = r.log.size
	return s
}

func (r *recorder) summary() Summary {
	return Summary{Status: r.status(time.Now()), Device: r.view.hello.Device, Firmware: r.view.hello.Firmware, Breaks: r.breaks}
}
