package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"stanchion/analyze"
	"stanchion/report"
)

func newInspect(c *console) *cobra.Command {
	var input inputFlags
	cmd := &cobra.Command{
		Use:   "inspect FILE...",
		Short: "Show what was understood of a log and how good the data are",
		Long: `Inspect reads logs just as analyze does and shows what it made of the columns,
units and clock, and what is wrong with the data: lost samples, gaps, spikes,
clipping, noise, zero offset. Of a track (GPX) it shows what the file holds. It
writes no files.`,
		Example: `  stanchion inspect run.csv --travel 160
  stanchion inspect run.csv.gz --fork fork.toml
  stanchion inspect run.gpx
  stanchion inspect odd.txt --travel-column 3 --travel-unit percent --travel 160`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usagef("for example: stanchion inspect run.csv --travel 160", "no log given")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			p := &pipeline{input: input, changed: cmd.Flags().Changed, options: analyze.DefaultOptions(),
				progress: newProgress(c.err, len(args), totalSize(args), false)}
			defer p.progress.clear()
			return c.inspect(cmd.Context(), p, args)
		},
	}
	input.add(cmd)
	return cmd
}

// inspect prints one log after the other. A log that fails does not stop the others; as much as was understood of it is
// printed all the same.
func (c *console) inspect(ctx context.Context, p *pipeline, logs []string) error {
	var failure error
	for i, log := range logs {
		text, err := inspectOne(ctx, p, log)
		p.progress.clear()
		if ctx.Err() != nil {
			return err
		}
		if i > 0 && len(text) > 0 {
			fmt.Fprintln(c.out)
		}
		if _, err := c.out.Write(text); err != nil {
			return fmt.Errorf("print: %w", err)
		}
		if err != nil {
			c.complain(err)
			failure = shownError{err}
		}
	}
	return failure
}

func inspectOne(ctx context.Context, p *pipeline, log string) ([]byte, error) {
	if isTrack(log) {
		return inspectTrack(log)
	}
	run, err := p.analyse(ctx, log)
	var b bytes.Buffer
	var half unprepared
	if errors.As(err, &half) { // what was read helps to mend what is missing
		report.UnderstoodText(&b, half.log, half.understood)
	}
	if err != nil {
		return b.Bytes(), err
	}
	err = report.QualityText(&b, run.result, report.TextOptions{})
	return b.Bytes(), err
}
