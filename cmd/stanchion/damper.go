package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"stanchion/analyze/damper"
	"stanchion/ingest"
	"stanchion/ingest/dyno"
	"stanchion/report"
)

// damperCmd is the damper command with its options.
type damperCmd struct {
	study
	dyno   string
	clicks float64
}

func newDamper(c *console) *cobra.Command {
	k := &damperCmd{study: study{console: c}}
	cmd := &cobra.Command{
		Use:   "damper LOG --dyno CURVES.csv",
		Short: "Where in the damper's curve the ride lives, and which clicks would matter",
		Long: `Damper lays the force–velocity curves of a damper, measured on a dyno at one or more
positions of an adjuster, over the velocities of a ride: the forces that it made,
the energy that it turned into heat in slow and fast movement and per stroke, and
which clicks would have made a difference on this ride.

The curves are CSV with the columns clicks (from fully closed), velocity_mm_s
(positive = compression) and force_n (with the sign of the velocity, gas force
taken off), a line a point, two or more velocities each way.`,
		Example: `  stanchion damper run.csv --dyno rebound.csv --clicks 6 --fork fork.toml
  stanchion damper run.csv --dyno rebound.csv --json | jq .steps

The curves:
  clicks,velocity_mm_s,force_n
  3,-2000,-1100
  3,-500,-420
  3,500,310
  3,2000,640
  6,-2000,-980
  ...`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) != 1 {
				return usagef("for example: stanchion damper run.csv --dyno rebound.csv", "one log is needed, got %d", len(args))
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			return k.run(cmd.Context(), args[0], cmd.Flags().Changed)
		},
	}
	fl := cmd.Flags()
	fl.SortFlags = false
	fl.StringVar(&k.dyno, "dyno", "", "`file` of force–velocity curves (needed)")
	fl.Float64Var(&k.clicks, "clicks", 0, "`position` of the adjuster that the run was ridden with")
	k.add(cmd, "damper")
	return cmd
}

func (k *damperCmd) run(ctx context.Context, log string, changed func(string) bool) error {
	if k.dyno == "" {
		return usagef("for example: stanchion damper run.csv --dyno rebound.csv", "no curves given: --dyno is missing")
	}
	target, err := k.target("damper")
	if err != nil {
		return err
	}
	curves, err := readCurves(k.dyno)
	if err != nil {
		return err
	}
	opt, err := k.figures.options(changed)
	if err != nil {
		return err
	}
	p := &pipeline{input: k.input, changed: changed, options: opt, progress: newProgress(k.err, 1, totalSize([]string{log}), k.quiet)}
	defer p.progress.clear()
	run, err := p.analyse(ctx, log)
	if err != nil {
		return err
	}
	p.progress.clear()
	var clicks *float64
	if changed("clicks") {
		clicks = &k.clicks
	}
	result, err := damper.Run(run.result, run.signals, curves, clicks)
	if err != nil {
		return fmt.Errorf("%s: %w", log, err)
	}
	figures := func(w io.Writer) error { return report.DamperJSON(w, result) }
	page := func(w io.Writer) error {
		return report.DamperHTML(w, result, report.HTMLOptions{Version: version()})
	}
	if err := k.put(target, page, figures); err != nil {
		return err
	}
	summary := func(w io.Writer) error {
		return report.DamperText(w, result, report.TextOptions{Color: colour(k.out)})
	}
	return k.print(target, summary, figures)
}

// readCurves reads a file of curves.
func readCurves(path string) ([]ingest.DamperCurve, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("open the curves: %w", err)
	}
	defer f.Close()
	curves, err := dyno.Read(path, f)
	var wrong *dyno.Error
	if errors.As(err, &wrong) {
		return nil, usagef("see 'stanchion damper --help' for the form", "%w", err)
	}
	return curves, err
}
