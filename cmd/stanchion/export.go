package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"stanchion/ingest/csvlog"
	"stanchion/ingest/wholefile"
)

// exportCmd is the export command with its options.
type exportCmd struct {
	*console
	csv   bool
	out   string
	force bool
}

func newExport(c *console) *cobra.Command {
	e := &exportCmd{console: c}
	cmd := &cobra.Command{
		Use:   "export LOG",
		Short: "Write the samples of a log as CSV",
		Long: `Export writes the samples of a log as CSV: time, travel as the sensor read it,
the other channels and the markers. Nothing is calibrated or filtered. Reading
the CSV gives the same samples as reading the log.`,
		Example: `  stanchion export run.slog --csv -o run.csv
  stanchion export run.slog --csv > run.csv`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) != 1 {
				return usagef("for example: stanchion export run.slog --csv -o run.csv", "export takes one log, not %d", len(args))
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error { return e.run(cmd.Context(), args[0]) },
	}
	fl := cmd.Flags()
	fl.SortFlags = false
	fl.BoolVar(&e.csv, "csv", false, "write CSV, whatever the file is called")
	fl.StringVarP(&e.out, "out", "o", "", "`file` to write (default: print)")
	fl.BoolVar(&e.force, "force", false, "replace a file that is there")
	return cmd
}

func (e *exportCmd) run(ctx context.Context, log string) error {
	if !e.csv && e.out != "" && !strings.EqualFold(filepath.Ext(e.out), ".csv") {
		return usagef("name the file NAME.csv, or give --csv", "export writes CSV, and %s is named otherwise", e.out)
	}
	if e.out != "" {
		if err := wholefile.Check(e.out, e.force); err != nil {
			return replaceHint(err)
		}
	}
	rec, err := readLog(ctx, log, csvlog.Options{}, nil)
	if err != nil {
		return err
	}
	for _, text := range rec.Cautions {
		fmt.Fprintf(e.err, "%s: %s\n", log, text)
	}
	if e.out == "" {
		return csvlog.Write(e.console.out, rec)
	}
	return replaceHint(wholefile.Write(e.out, e.force, func(w io.Writer) error { return csvlog.Write(w, rec) }))
}
