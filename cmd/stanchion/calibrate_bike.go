package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"stanchion/ingest"
	"stanchion/ingest/calibrate"
	"stanchion/ingest/capture"
	"stanchion/ingest/wirelog"
)

// careText is what must be known before a fork is pushed in.
const careText = `Before you start: let the air out of the spring, or take the coil's load off,
before you compress the fork to full travel. Never go beyond the limits marked by
its maker. What needs tools inside the fork is work for a service centre. Keep
fingers, cables and the sensor clear of the crown and the arch.
`

// tries is how often a point is measured before the command gives up.
const tries = 3

// A bench is a sensor that is being recorded while it is calibrated.
type bench struct {
	k       *calibrateCmd
	path    string
	samples chan int64 // received so far, newest only
	failed  chan error
	lines   chan string // that were typed, closed at the end of input
}

// atBike measures step by step.
func (k *calibrateCmd) atBike(ctx context.Context, steps []calibrationStep) (m measured, err error) {
	port, err := choosePort(k.port)
	if err != nil {
		return m, err
	}
	dir, err := os.MkdirTemp("", "stanchion-calibrate-")
	if err != nil {
		return m, fmt.Errorf("make a folder for the measurement: %w", err)
	}
	defer os.RemoveAll(dir)
	ctx, cancel := context.WithCancel(ctx)
	b := &bench{k: k, path: filepath.Join(dir, "hold.slog"), samples: make(chan int64, 1), failed: make(chan error, 1), lines: make(chan string)}
	stopped := make(chan struct{})
	defer func() { cancel(); <-stopped }()
	go func() {
		defer close(stopped)
		b.record(ctx, port)
	}()
	go b.read(ctx)
	fmt.Fprint(k.console.out, careText, "\n")
	if err := b.await(ctx, 1); err != nil {
		return m, err
	}
	for i, s := range steps {
		fmt.Fprintf(k.console.out, "\nPoint %d of %d: %s. %s\n", i+1, len(steps), s.name, instruction(s))
		if err := b.point(ctx, s, &m); err != nil {
			return m, err
		}
	}
	return m, nil
}

// instruction says what to do with the fork.
func instruction(s calibrationStep) string {
	if s.travelMM == 0 {
		return "Lift the front wheel off the ground so that the\nfork is fully extended, and keep still. Then press Enter."
	}
	return fmt.Sprintf("Push the fork in until the stanchion has gone in\nby %g mm, measured with a rule or calliper from full extension, and keep still.\nThen press Enter.", s.travelMM)
}

// record records until ctx ends.
func (b *bench) record(ctx context.Context, port string) {
	_, err := capture.Record(ctx, capture.Options{Port: port, Baud: b.k.baud, Path: b.path,
		Status: func(s capture.Status) {
			select {
			case <-b.samples:
			default:
			}
			b.samples <- s.Losses.Samples + s.Rows
		},
		Event: func(e capture.Event) {
			if e.Problem {
				b.k.complain(ingest.Hinted{Err: errors.New(e.Text), Hint: e.Hint})
			}
		}})
	if err != nil {
		b.failed <- err
	}
}

// read hands over the lines that are typed.
func (b *bench) read(ctx context.Context) {
	defer close(b.lines)
	in := bufio.NewScanner(b.k.in)
	for in.Scan() {
		select {
		case b.lines <- in.Text():
		case <-ctx.Done():
			return
		}
	}
}

// await waits until n samples more than now have come.
func (b *bench) await(ctx context.Context, n int64) error {
	start := int64(-1)
	for {
		select {
		case s := <-b.samples:
			if start < 0 {
				start = s
			}
			if s >= start+n {
				return nil
			}
		case err := <-b.failed:
			return err
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

// point measures one point, again where it cannot be used.
func (b *bench) point(ctx context.Context, s calibrationStep, m *measured) error {
	for try := 1; ; try++ {
		select {
		case _, ok := <-b.lines:
			if !ok {
				return ingest.Hinted{Err: errors.New("the calibration was not finished: nothing was written"), Hint: "press Enter at each point"}
			}
		case err := <-b.failed:
			return err
		case <-ctx.Done():
			return ctx.Err()
		}
		err := b.measure(ctx, s, m)
		if err == nil {
			p := m.points[len(m.points)-1]
			fmt.Fprintf(b.k.console.out, "reads %s\n", pointText(p, m.unit))
			if len(m.points) == 1 {
				return nil
			}
			if _, err = calibrate.Fit(m.points, b.k.options(*m)); err == nil {
				return nil
			}
			m.points = m.points[:len(m.points)-1]
		}
		if try == tries || ctx.Err() != nil {
			return err
		}
		b.k.complain(err)
		fmt.Fprintln(b.k.console.out, "Try this point again, then press Enter.")
	}
}

// measure waits for the hold and reads it from the log.
func (b *bench) measure(ctx context.Context, s calibrationStep, m *measured) error {
	fmt.Fprintf(b.k.console.out, "Hold still for %g s…\n", b.k.hold.Seconds())
	select {
	case <-time.After(b.k.hold):
	case <-ctx.Done():
		return ctx.Err()
	}
	if err := b.await(ctx, 1); err != nil { // what was sensed by now is in the log
		return err
	}
	rec, err := wirelog.Read(ctx, b.path, wirelog.Options{})
	if err != nil {
		return err
	}
	return m.add(rec, s, s.name, b.k.hold.Seconds())
}
