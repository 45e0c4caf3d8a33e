package main

import (
	"context"
	"fmt"
	"os"
	"time"

	"github.com/spf13/cobra"

	"stanchion/ingest"
	"stanchion/ingest/capture/virtual"
	"stanchion/ingest/csvlog"
	"stanchion/sampledata/ridesim"
)

// deviceCmd is the simulate-device command with its options.
type deviceCmd struct {
	*console
	speed  float64
	link   string
	config virtual.Config
	faults virtual.Faults
	stay   bool
}

func newSimulateDevice(c *console) *cobra.Command {
	d := &deviceCmd{console: c}
	cmd := &cobra.Command{
		Use:   "simulate-device [LOG]",
		Short: "Play a log as a sensor on a virtual serial port",
		Long: `Simulate-device opens a virtual serial port and is a sensor on it: it plays a log
(CSV or .slog), or a simulated ride where none is given, answers commands, and
fails in the ways that are asked for. It prints the port, for record, and goes on
until Ctrl-C or, without --loop, until the log was played.

It needs a system with pseudo-terminals: Linux or macOS.`,
		Example: `  stanchion simulate-device
  stanchion simulate-device run.csv --speed 4 --link sensor
  stanchion simulate-device --bit-errors 1e-5 --reset 30s --seed 7
  stanchion simulate-device --text`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usagef("for example: stanchion simulate-device run.csv", "simulate-device plays one log, not %d", len(args))
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error { return d.run(cmd.Context(), args) },
	}
	fl := cmd.Flags()
	fl.SortFlags = false
	fl.Float64Var(&d.speed, "speed", 1, "so many times faster than real; 0: as fast as it is read")
	fl.StringVar(&d.link, "link", "", "also give the port this `name`")
	fl.BoolVar(&d.config.Loop, "loop", false, "begin again at the end")
	fl.BoolVar(&d.stay, "stay", false, "stay at the end, as a sensor that was stopped")
	fl.BoolVar(&d.config.Text, "text", false, "print micros,count lines as the simplest boards do")
	fl.Uint64Var(&d.faults.Seed, "seed", 1, "`number` that the ride and the faults are drawn from")
	fl.Float64Var(&d.faults.BitErrors, "bit-errors", 0, "`share` of bits that flip, for example 1e-5")
	fl.Float64Var(&d.faults.Drop, "drop", 0, "`share` of frames that vanish")
	fl.Float64Var(&d.faults.Duplicate, "duplicate", 0, "`share` of frames that come twice")
	fl.Float64Var(&d.faults.Swap, "swap", 0, "`share` of frames that come late")
	fl.DurationVar(&d.faults.StallEvery, "stall", 0, "miss samples for --stall-for every so often, for example 20s")
	fl.DurationVar(&d.faults.StallFor, "stall-for", 200*time.Millisecond, "how `long` a stall lasts")
	fl.DurationVar(&d.faults.ResetEvery, "reset", 0, "reset every so often, for example 30s")
	return cmd
}

func (d *deviceCmd) run(ctx context.Context, args []string) error {
	if err := d.check(); err != nil {
		return err
	}
	rec, err := d.recording(ctx, args)
	if err != nil {
		return err
	}
	track, err := virtual.FromRecording(rec)
	if err != nil {
		return err
	}
	port, err := virtual.OpenTerminal()
	if err != nil {
		return err
	}
	defer port.Close()
	name := port.Name
	if d.link != "" {
		if err := os.Symlink(port.Name, d.link); err != nil {
			return ingest.Hinted{Err: fmt.Errorf("make the link: %w", err), Hint: "choose another name with --link"}
		}
		defer os.Remove(d.link)
		name = d.link
	}
	fmt.Fprintf(d.console.out, "port: %s\n", name)
	fmt.Fprintf(d.console.out, "record it with: stanchion record --port %s -o try.slog\n", name)
	d.config.Session = uint32(time.Now().UnixNano())>>1 | 1
	d.config.Battery = 3900
	device := virtual.NewDevice(track, d.config)
	report, err := virtual.Serve(ctx, port, device, d.faults, virtual.Pace{Speed: d.speed, StopAtEnd: !d.stay})
	fmt.Fprintf(d.console.out, "sent %d frames, %d of them harmed on the way\n", report.Frames, len(report.Harmed))
	if err == nil && ctx.Err() == nil {
		time.Sleep(drainTime)
	}
	return err
}

// drainTime leaves the other side time to read what is in the port before it is closed.
const drainTime = 500 * time.Millisecond

func (d *deviceCmd) check() error {
	f := d.faults
	for _, s := range []struct {
		flag  string
		value float64
	}{{"bit-errors", f.BitErrors}, {"drop", f.Drop}, {"duplicate", f.Duplicate}, {"swap", f.Swap}} {
		if !(s.value >= 0 && s.value <= 0.5) {
			return usagef("give a share of 0 to 0.5", "--%s %g is not possible", s.flag, s.value)
		}
	}
	if !(d.speed >= 0 && d.speed <= 1000) {
		return usagef("give 0 to 1000", "--speed %g is not possible", d.speed)
	}
	if f.StallEvery < 0 || f.StallFor < 0 || f.ResetEvery < 0 {
		return usagef("for example --reset 30s", "a time cannot be negative")
	}
	return nil
}

// recording is what the device plays.
func (d *deviceCmd) recording(ctx context.Context, args []string) (*ingest.Recording, error) {
	if len(args) == 1 {
		return readLog(ctx, args[0], csvlog.Options{}, nil)
	}
	p := ridesim.DefaultParams()
	p.Seed, p.Sensor.Seed = d.faults.Seed, d.faults.Seed
	log, _, err := ridesim.Ride(p)
	if err != nil {
		return nil, fmt.Errorf("simulate a ride: %w", err)
	}
	return log.Recording("simulated ride"), nil
}
