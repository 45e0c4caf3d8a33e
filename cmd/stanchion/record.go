package main

import (
	"context"
	"fmt"
	"os"
	"time"

	"github.com/spf13/cobra"

	"stanchion/firmware-protocol/wire"
	"stanchion/ingest/capture"
)

// recordCmd is the record command with its options.
type recordCmd struct {
	*console
	port  string
	baud  int
	out   string
	goOn  bool
	force bool
	rate  float64
	until time.Duration
	input inputFlags
}

func newRecord(c *console) *cobra.Command {
	r := &recordCmd{console: c}
	cmd := &cobra.Command{
		Use:   "record",
		Short: "Record a sensor on a serial port into a log",
		Long: `Record writes what the sensor sends into a log (.slog) that analyze reads, until
Ctrl-C. It shows the time, the rate, the travel now and the most so far, lost
frames and the battery.

  m        drops a marker
  Ctrl-C   ends the recording

The log is safe at any moment: when the program is killed or the power fails, at
most the last second is lost. When the cable comes loose the recording waits and
goes on into the same file. Boards that print "micros,count" lines are recorded
too.`,
		Example: `  stanchion record --port /dev/ttyACM0 -o run.slog
  stanchion record --port COM4 --baud 921600 --fork fork.toml
  stanchion record -o run.slog --for 90s`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, args []string) error { return r.run(cmd.Context(), cmd.Flags().Changed) },
	}
	fl := cmd.Flags()
	fl.SortFlags = false
	fl.StringVarP(&r.port, "port", "p", "", "serial `port` (default: the only one with something plugged in)")
	fl.IntVar(&r.baud, "baud", capture.DefaultBaud, "baud `rate`; USB boards take any")
	fl.StringVarP(&r.out, "out", "o", "", "log to write (default: ride-DATE-TIME.slog)")
	fl.BoolVar(&r.goOn, "append", false, "go on with a log that is there")
	fl.BoolVar(&r.force, "force", false, "replace a file that is there")
	fl.Float64Var(&r.rate, "rate", 0, "ask the sensor for this sample rate in `Hz`")
	fl.DurationVar(&r.until, "for", 0, "end after this `time`, for example 90s or 5m")
	fl.StringVar(&r.input.fork, "fork", "", "fork and calibration `file`, to show travel in mm (default: "+forkFileName+" beside the log)")
	fl.Float64Var(&r.input.travelMM, "travel", 0, "usable travel of the fork in `mm`; overrules the fork file")
	cmd.MarkFlagsMutuallyExclusive("append", "force")
	return cmd
}

func (r *recordCmd) run(ctx context.Context, changed func(string) bool) error {
	o, err := r.options(changed)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	keys := newKeyboard(ctx, os.Stdin)
	defer keys.restore()
	line := &liveLine{w: r.err, tty: isTerminal(r.err), width: width(r.err)}
	if keys.raw {
		line.w = rawWriter{r.err}
	}
	o.Marks = watchKeys(ctx, cancel, keys)
	o.Status, o.Event = line.status, line.event
	line.event(capture.Event{Text: fmt.Sprintf("recording %s into %s: m drops a marker, Ctrl-C ends", o.Port, o.Path)})
	sum, err := capture.Record(ctx, o)
	line.clear()
	keys.restore()
	if sum.Bytes > 0 {
		fmt.Fprint(r.console.out, summaryText(o.Path, sum, o.Setup))
	}
	return err
}

// options are what the flags ask for.
func (r *recordCmd) options(changed func(string) bool) (capture.Options, error) {
	o := capture.Options{Baud: r.baud, Path: r.out, Append: r.goOn, Overwrite: r.force, RateHz: r.rate, For: r.until, Tool: "stanchion " + version()}
	if r.rate < 0 || r.rate > 1e5 {
		return o, usagef("give the rate in Hz, for example --rate 1000", "--rate %g is not possible", r.rate)
	}
	if r.until < 0 {
		return o, usagef("for example --for 90s", "--for %s is not possible", r.until)
	}
	if o.Path == "" {
		o.Path = time.Now().Format("ride-20060102-150405") + ".slog"
	}
	file, _, err := r.input.setupFor(o.Path, changed)
	if err != nil {
		return o, err
	}
	if file.Setup.Fork.TravelMM > 0 {
		o.Setup = &file.Setup
	}
	if o.Port, err = choosePort(r.port); err != nil {
		return o, err
	}
	if err := capture.CheckLog(o); err != nil {
		return o, err
	}
	return o, nil
}

// watchKeys turns keys into marks and into the end.
func watchKeys(ctx context.Context, cancel func(), k *keyboard) <-chan wire.Label {
	marks := make(chan wire.Label)
	go func() {
		for {
			select {
			case key := <-k.keys:
				switch key {
				case 'm', 'M':
					select {
					case marks <- wire.LabelNone:
					case <-ctx.Done():
						return
					}
				case interruptKey:
					cancel()
					return
				}
			case <-ctx.Done():
				return
			}
		}
	}()
	return marks
}
