package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"stanchion/ingest/wholefile"
	"stanchion/sampledata"
)

// demoCmd is the demo command with its options.
type demoCmd struct {
	*console
	dir   string
	open  bool
	force bool
}

func newDemo(c *console) *cobra.Command {
	d := &demoCmd{console: c}
	cmd := &cobra.Command{
		Use:   "demo",
		Short: "Write demo recordings and their dashboards to a folder",
		Long: `Demo writes the recordings that come with the program, of an invented ride on a
simulated fork, to a folder, analyses them just as analyze would, and says which
page to open.`,
		Example: `  stanchion demo
  stanchion demo -o try --open`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usagef("give the folder with -o", "demo takes no arguments, got %q", args[0])
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error { return d.run(cmd.Context()) },
	}
	fl := cmd.Flags()
	fl.StringVarP(&d.dir, "out", "o", "demo", "`folder` to write to")
	fl.BoolVar(&d.open, "open", false, "show the first dashboard in the browser")
	fl.BoolVar(&d.force, "force", false, "replace files that are there already")
	return cmd
}

// demoSag is the sag log that the demo's runs take static sag from.
const demoSag = "sag.csv.gz"

func (d *demoCmd) run(ctx context.Context) error {
	if err := d.writeFiles(); err != nil {
		return err
	}
	var logs []string
	for _, f := range sampledata.Files() {
		if strings.HasSuffix(f.Name, ".csv.gz") && f.Name != demoSag {
			logs = append(logs, filepath.Join(d.dir, f.Name))
		}
	}
	if err := d.analyse(ctx, logs); err != nil {
		return err
	}
	if err := d.compare(ctx); err != nil {
		return err
	}
	if err := d.time(ctx); err != nil {
		return err
	}
	d.explain(logs)
	if d.open {
		return openInBrowser(dashboardOf(logs[0]))
	}
	return nil
}

// analyse writes the pages of the runs: on a map with split times where there is a track.
func (d *demoCmd) analyse(ctx context.Context, logs []string) error {
	for _, log := range logs {
		a := &analyzeCmd{console: d.console, dest: d.dir, force: d.force, quiet: true}
		a.figures = defaultFigures()
		a.figures.sagLog = filepath.Join(d.dir, demoSag)
		track, err := besideLog(log, d.dir)
		if err != nil {
			return err
		}
		if track != "" {
			a.tracks.gpx, a.gates = []string{track}, filepath.Join(d.dir, demoGates)
		}
		if err := a.run(ctx, []string{log}, func(string) bool { return false }); err != nil {
			return err
		}
	}
	return nil
}

// writeFiles puts the recordings in the folder, each whole. It checks all of them first, so that a folder that is in
// use is left as it was.
func (d *demoCmd) writeFiles() error {
	for _, f := range sampledata.Files() {
		if err := wholefile.Check(filepath.Join(d.dir, f.Name), d.force); err != nil {
			return replaceHint(err)
		}
	}
	if err := os.MkdirAll(d.dir, 0o755); err != nil {
		return fmt.Errorf("make the demo folder: %w", err)
	}
	for _, f := range sampledata.Files() {
		b, err := sampledata.ReadFile(f.Name)
		if err != nil {
			return err
		}
		err = wholefile.Write(filepath.Join(d.dir, f.Name), d.force, func(w io.Writer) error {
			_, err := w.Write(b)
			return err
		})
		if err != nil {
			return replaceHint(err)
		}
	}
	return nil
}

// The two runs of the demo that differ in one setting, and the page that compares them.
const (
	demoA, demoB = "enduro-run-a.csv.gz", "enduro-run-b.csv.gz"
	demoCompared = "enduro-compare.html"
	demoTimed    = "enduro-timing.html"
	demoGates    = "gates.toml"
)

// compare compares the two runs of one trail.
func (d *demoCmd) compare(ctx context.Context) error {
	k := &compareCmd{study: study{console: d.console, figures: defaultFigures(), dest: filepath.Join(d.dir, demoCompared), force: d.force, quiet: true}}
	k.figures.sagLog = filepath.Join(d.dir, demoSag)
	k.a, k.b = []string{filepath.Join(d.dir, demoA)}, []string{filepath.Join(d.dir, demoB)}
	k.nameB = "rebound four clicks further in"
	return k.run(ctx, func(string) bool { return false })
}

// time takes the split times of the two runs and reads their trail.
func (d *demoCmd) time(ctx context.Context) error {
	k := &timingCmd{study: study{console: d.console, dest: filepath.Join(d.dir, demoTimed), force: d.force, quiet: true}, gates: filepath.Join(d.dir, demoGates), splits: 1}
	return k.run(ctx, []string{filepath.Join(d.dir, demoA), filepath.Join(d.dir, demoB)}, func(string) bool { return false })
}

// explain says what is in the folder and what to open.
func (d *demoCmd) explain(logs []string) {
	fmt.Fprintf(d.console.out, "Demo recordings of an invented ride are in %s:\n\n", d.dir)
	for _, f := range sampledata.Files() {
		fmt.Fprintf(d.console.out, "  %-26s %s\n", f.Name, f.Description)
	}
	fmt.Fprintf(d.console.out, "\nEach run was analysed, with static sag from %s. Open this page in a browser:\n\n", demoSag)
	fmt.Fprintf(d.console.out, "  %s\n\nWhat the other setting of run B changed (one run a side, so it holds for these two runs only):\n\n", dashboardOf(logs[0]))
	fmt.Fprintf(d.console.out, "  %s\n\nWhere the two runs lost time and where the trail is harsh, on a map:\n\n", filepath.Join(d.dir, demoCompared))
	fmt.Fprintf(d.console.out, "  %s\n\nAnd the other runs:\n\n", filepath.Join(d.dir, demoTimed))
	for _, log := range logs[1:] {
		fmt.Fprintf(d.console.out, "  %s\n", dashboardOf(log))
	}
}

func dashboardOf(log string) string {
	return filepath.Join(filepath.Dir(log), resultName(log)+".html")
}
