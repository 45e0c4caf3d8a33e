package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/sync/errgroup"

	"stanchion/ingest"
	"stanchion/ingest/setup"
	"stanchion/ingest/wholefile"
	"stanchion/report"
)

// analyzeCmd is the analyze command with its options.
type analyzeCmd struct {
	*console
	input   inputFlags
	figures figureFlags
	tracks  trackFlags
	gates   string
	rules   rulesFlag
	table   ingest.RuleTable // what is advised by
	dest    string           // -o
	json    bool
	open    bool
	force   bool
	quiet   bool
}

func newAnalyze(c *console) *cobra.Command {
	a := &analyzeCmd{console: c}
	cmd := &cobra.Command{
		Use:     "analyze LOG...",
		Aliases: []string{"analyse"},
		Short:   "Turn sensor logs into dashboards, JSON and a summary",
		Long: `Analyze reads one or more logs of a fork travel sensor (CSV, or .slog from
record; plain or .gz) and writes NAME.html, the dashboard, and NAME.json, every
figure with its unit and caveats, for each. A summary goes to the terminal.

Readings in counts or volts need a fork file with calibration points; readings
in mm or percent need only --travel.

With a track (--gpx, or latitude and longitude columns in the log) distances along
the trail are known. The offset between the receiver's clock and the sensor's is
found from the stamps of both and from the fork's dive under braking. The page then
shows the run on a map of the trail, with the harshest places, jumps and braking,
and with --gates its split times.`,
		Example: `  stanchion analyze run.csv --fork fork.toml --open
  stanchion analyze run.csv --travel 160 -o results
  stanchion analyze morning/*.csv.gz -o results --sag sag.csv
  stanchion analyze run.csv --travel 160 --gpx run.gpx
  stanchion analyze run.csv --travel 160 --gpx run.gpx --gates gates.toml
  stanchion analyze run.csv --travel 160 --json | jq .travel.max_mm
  stanchion analyze odd.txt --no-header --time-column 1 --time-unit us \
      --travel-column 3 --travel-unit counts --fork fork.toml`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usagef("for example: stanchion analyze run.csv --travel 160", "no log given")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.run(cmd.Context(), args, cmd.Flags().Changed)
		},
	}
	fl := cmd.Flags()
	fl.SortFlags = false
	fl.StringVarP(&a.dest, "out", "o", "", "`folder` for the results, or one file NAME.html (default: this folder)")
	fl.BoolVar(&a.json, "json", false, "print the JSON instead of a summary, and write files only where -o says so")
	fl.BoolVar(&a.open, "open", false, "show the dashboard in the browser")
	fl.BoolVar(&a.force, "force", false, "replace files that are there already")
	fl.BoolVarP(&a.quiet, "quiet", "q", false, "no progress and no summary")
	a.rules.add(cmd)
	a.figures.add(cmd)
	a.tracks.add(cmd)
	fl.StringVar(&a.gates, "gates", "", "`file` of gates (TOML) for split times; stanchion timing --help shows one")
	a.input.add(cmd)
	return cmd
}

// outputs are the files that one log gives; empty paths are not written.
type outputs struct {
	html, json string
}

func (a *analyzeCmd) run(ctx context.Context, logs []string, changed func(string) bool) error {
	opt, err := a.figures.options(changed)
	if err != nil {
		return err
	}
	if err := a.tracks.check(logs, changed); err != nil {
		return err
	}
	var gates setup.GateFile
	if a.gates != "" {
		if gates, err = setup.LoadGates(a.gates); err != nil {
			return usageError{err}
		}
	}
	if a.table, err = a.rules.table(); err != nil {
		return err
	}
	targets, err := a.targets(logs)
	if err != nil {
		return err
	}
	p := &pipeline{input: a.input, changed: changed, options: opt, tracks: a.tracks,
		progress: newProgress(a.err, len(logs), totalSize(logs), a.quiet)}
	defer p.progress.clear()
	if a.figures.sagLog != "" {
		if p.options.StaticSag, err = p.sagFrom(ctx, a.figures.sagLog); err != nil {
			return err
		}
	}
	return a.all(ctx, p, logs, targets, gates)
}

// all analyses the logs, as many at a time as there are processors, and reports on each in the order given. A log that
// fails does not stop the others.
func (a *analyzeCmd) all(ctx context.Context, p *pipeline, logs []string, targets []outputs, gates setup.GateFile) error {
	type outcome struct {
		printed
		err error
	}
	done := make([]chan outcome, len(logs))
	var group errgroup.Group
	group.SetLimit(min(runtime.GOMAXPROCS(0), maxLogsAtOnce))
	for i := range logs {
		done[i] = make(chan outcome, 1)
	}
	go func() {
		for i, log := range logs {
			group.Go(func() error {
				text, err := a.one(ctx, p, log, targets[i], gates)
				p.progress.finished(log)
				done[i] <- outcome{text, err}
				return nil
			})
		}
	}()
	failed := 0
	var last error
	for i := range logs {
		o := <-done[i]
		p.progress.clear()
		if o.err != nil {
			failed, last = failed+1, o.err
			if len(logs) > 1 && ctx.Err() == nil {
				a.complain(o.err)
			}
			continue
		}
		fmt.Fprint(a.console.err, o.doubts)
		if _, err := a.console.out.Write(o.text); err != nil {
			return fmt.Errorf("print the results: %w", err)
		}
	}
	switch {
	case failed == 0:
		return nil
	case ctx.Err() != nil || len(logs) == 1:
		return last
	}
	fmt.Fprintf(a.err, "stanchion: %d of %d logs could not be analysed\n", failed, len(logs))
	return shownError{last}
}

// maxLogsAtOnce bounds memory: each log holds its samples several times over while it is being worked on.
const maxLogsAtOnce = 4

// printed is what a person is told about one log.
type printed struct {
	text   []byte // results
	doubts string // rows that could not be used
}

// one analyses one log, writes its files and returns what is to be printed.
func (a *analyzeCmd) one(ctx context.Context, p *pipeline, log string, target outputs, gates setup.GateFile) (printed, error) {
	run, err := p.analyse(ctx, log)
	if err != nil {
		return printed{}, err
	}
	where, err := run.onTrail(gates)
	if err != nil {
		return printed{}, err
	}
	if where == nil && a.gates != "" {
		return printed{}, ingest.Hinted{Err: fmt.Errorf("%s: gates need positions, and the run has none that lie on its clock", log), Hint: "name its track with --gpx, or leave --gates out"}
	}
	if run.advice, err = p.advise(run, a.table, nil, nil); err != nil {
		return printed{}, err
	}
	p.progress.step("drawing", log)
	if err := run.write(target, where, a.force); err != nil {
		return printed{}, err
	}
	if a.open && target.html != "" {
		if err := openInBrowser(target.html); err != nil {
			return printed{}, err
		}
	}
	text, err := a.print(run, where, target)
	if a.quiet {
		return printed{text: text}, err
	}
	return printed{text, run.badRows()}, err
}

// write puts the dashboard and the JSON in place.
func (run *analysed) write(target outputs, where *grounded, force bool) error {
	if target.html != "" {
		err := wholefile.Write(target.html, force, func(w io.Writer) error {
			return report.HTML(w, run.result, run.signals, report.HTMLOptions{Version: version(), Ground: where.onGround(), Timing: where.times(), Advice: run.advice})
		})
		if err != nil {
			return replaceHint(err)
		}
	}
	if target.json != "" {
		err := wholefile.Write(target.json, force, func(w io.Writer) error {
			return report.RunJSON(w, run.result, where.onGround(), where.times(), run.advice)
		})
		if err != nil {
			return replaceHint(err)
		}
	}
	return nil
}

// print is the JSON or the summary of one log.
func (a *analyzeCmd) print(run *analysed, where *grounded, target outputs) ([]byte, error) {
	var b bytes.Buffer
	switch {
	case a.json:
		if err := report.RunJSON(&b, run.result, where.onGround(), where.times(), run.advice); err != nil {
			return nil, err
		}
		return b.Bytes(), nil
	case a.quiet:
		return nil, nil
	}
	if err := report.Text(&b, run.result, report.TextOptions{Color: colour(a.console.out), Ground: where.onGround(), Advice: run.advice}); err != nil {
		return nil, err
	}
	fmt.Fprintf(&b, "\nopen %s\n(all figures: %s)\n", target.html, target.json)
	return b.Bytes(), nil
}

// targets names the files that each log gives and checks, before any work is done, that they may be written.
func (a *analyzeCmd) targets(logs []string) ([]outputs, error) {
	targets := make([]outputs, len(logs))
	if a.json && a.dest == "" {
		return targets, nil
	}
	dir, single := a.dest, ""
	if otherFile(a.dest) {
		return nil, usagef("give a folder, or a name that ends in .html; the JSON goes beside it", "-o %s is neither a folder nor a page", a.dest)
	}
	if strings.EqualFold(filepath.Ext(a.dest), ".html") {
		if len(logs) > 1 {
			return nil, usagef("give -o a folder", "-o %s names one file, but there are %d logs", a.dest, len(logs))
		}
		dir, single = filepath.Dir(a.dest), strings.TrimSuffix(filepath.Base(a.dest), filepath.Ext(a.dest))
	}
	from := map[string]string{}
	for i, log := range logs {
		name := single
		if name == "" {
			name = resultName(log)
		}
		base := filepath.Join(dir, name)
		if other, ok := from[base]; ok {
			return nil, usagef("analyse them into different folders with -o", "%s and %s would both give %s.html", other, log, base)
		}
		from[base] = log
		targets[i] = outputs{html: base + ".html", json: base + ".json"}
	}
	return targets, a.checkTargets(dir, targets)
}

// otherFile says whether dest looks like a file of another kind, which would become a folder with an odd name.
func otherFile(dest string) bool {
	switch strings.ToLower(filepath.Ext(dest)) {
	case ".json", ".pdf", ".csv", ".gz", ".txt", ".slog", ".htm":
		info, err := os.Stat(dest)
		return err != nil || !info.IsDir()
	}
	return false
}

func (a *analyzeCmd) checkTargets(dir string, targets []outputs) error {
	if dir != "" {
		if err := os.MkdirAll(dir, 0o755); err != nil {
			return fmt.Errorf("make the folder for the results: %w", err)
		}
	}
	for _, t := range targets {
		for _, path := range []string{t.html, t.json} {
			if err := wholefile.Check(path, a.force); err != nil {
				return replaceHint(err)
			}
		}
	}
	return nil
}

// replaceHint says how to replace a file that is in the way.
func replaceHint(err error) error {
	if errors.Is(err, wholefile.ErrExists) {
		return ingest.Hinted{Err: err, Hint: "give --force to replace it, or another place with -o"}
	}
	return err
}

// resultName is the name of a log without folder and endings: "runs/a.csv.gz" gives "a".
func resultName(log string) string {
	name := filepath.Base(log)
	name = strings.TrimSuffix(name, ".gz")
	if ext := filepath.Ext(name); ext != name {
		name = strings.TrimSuffix(name, ext)
	}
	return name
}

// totalSize is the size of all logs together, as far as it can be known.
func totalSize(logs []string) int64 {
	var total int64
	for _, log := range logs {
		if info, err := os.Stat(log); err == nil && info.Mode().IsRegular() {
			total += info.Size()
		}
	}
	return total
}
