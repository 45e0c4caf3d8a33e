package main

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/sync/errgroup"

	"stanchion/analyze"
	"stanchion/analyze/compare"
	"stanchion/ingest"
	"stanchion/ingest/setup"
	"stanchion/ingest/wholefile"
)

// testDay is the method, for the help of the commands that judge settings. That five runs find about half the difference that three do
// holds for a t test corrected for nine figures, with a power of 80 %.
const testDay = `How to ride a test that can tell a setting from chance:
  1. Warm the fork up before the first run that counts. Note the temperature and
     the air pressure for every run.
  2. Change one thing only. Tyres, pressures, clothes and luggage stay as they are.
  3. Alternate the settings: A B A B A B. Never all of A and then all of B, or a
     drying trail, a warming fork and a tiring rider look like the setting.
  4. Ride each setting at least three times. Five runs each find differences about
     half as large as three runs each do.
  5. Ride the same line at the same pace, from the same start to the same stop.
  6. Decide what you want to know before you look at the figures.`

// study is what compare, sweep and timing share.
type study struct {
	*console
	input   inputFlags
	figures figureFlags
	dest    string // -o
	json    bool
	all     bool
	open    bool
	force   bool
	quiet   bool
	keepAll bool // runs that do not look like the same trail too
}

func (s *study) add(cmd *cobra.Command, name string) {
	s.addOutput(cmd, name)
	s.figures.add(cmd)
	s.input.add(cmd)
}

// addOutput adds the options about what is written and where.
func (s *study) addOutput(cmd *cobra.Command, name string) {
	fl := cmd.Flags()
	fl.StringVarP(&s.dest, "out", "o", "", "`folder` for the results, or one file NAME.html (default: "+name+".html in this folder)")
	fl.BoolVar(&s.json, "json", false, "print the JSON instead of a summary, and write files only where -o says so")
	fl.BoolVar(&s.open, "open", false, "show the page in the browser")
	fl.BoolVar(&s.force, "force", false, "replace files that are there already")
	fl.BoolVarP(&s.quiet, "quiet", "q", false, "no progress and no summary")
}

// addJudging adds the options of what judges runs of one trail.
func (s *study) addJudging(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&s.all, "all", false, "summary of every figure and every warning, not of what matters most")
	cmd.Flags().BoolVar(&s.keepAll, "keep-all", false, "judge runs too that do not look like the same trail as the rest")
}

// target names the files of a study and checks that they may be written.
func (s *study) target(name string) (outputs, error) {
	if s.json && s.dest == "" {
		return outputs{}, nil
	}
	a := &analyzeCmd{console: s.console, dest: s.dest, force: s.force}
	targets, err := a.targets([]string{name})
	if err != nil {
		return outputs{}, err
	}
	return targets[0], nil
}

// A logged run is a log with what was noted for it.
type loggedRun struct {
	log  string
	note setup.ListedRun
}

// runs checks that no log is given twice and analyses all of them, as many at a time as there are processors.
func (s *study) runs(ctx context.Context, logs []loggedRun, changed func(string) bool) ([]compare.Run, error) {
	opt, err := s.figures.options(changed)
	if err != nil {
		return nil, err
	}
	hashes, err := hashAll(logs)
	if err != nil {
		return nil, err
	}
	paths := make([]string, len(logs))
	for i := range logs {
		paths[i] = logs[i].log
	}
	p := &pipeline{input: s.input, changed: changed, options: opt, progress: newProgress(s.err, len(logs), totalSize(paths), s.quiet)}
	defer p.progress.clear()
	if s.figures.sagLog != "" {
		if p.options.StaticSag, err = p.sagFrom(ctx, s.figures.sagLog); err != nil {
			return nil, err
		}
	}
	done, err := p.analyseAll(ctx, paths)
	if err != nil {
		return nil, err
	}
	p.progress.clear()
	names := shortNames(paths)
	runs := make([]compare.Run, len(logs))
	for i, d := range done {
		if !s.quiet {
			fmt.Fprint(s.err, d.badRows())
		}
		n := &logs[i].note
		runs[i] = compare.Run{Name: cmp.Or(n.Name, names[i]), Result: d.result, Signals: d.signals, Hash: hashes[i], Order: n.Order, Settings: settingsOf(n)}
	}
	return runs, nil
}

// settingsOf joins the positions and the notes of a run.
func settingsOf(n *setup.ListedRun) map[string]string {
	out := map[string]string{}
	for k, v := range n.Notes {
		out[k] = v
	}
	for k, v := range n.Clicks {
		out[k] = plainNumber(v)
	}
	return out
}

func plainNumber(v float64) string { return fmt.Sprintf("%g", v) }

// shortNames are the file names of logs, with their folders where two have the same.
func shortNames(paths []string) []string {
	seen := map[string]int{}
	for _, p := range paths {
		seen[resultName(p)]++
	}
	out := make([]string, len(paths))
	for i, p := range paths {
		out[i] = resultName(p)
		if seen[out[i]] > 1 {
			out[i] = p
		}
	}
	return out
}

// hashAll names the content of each log and refuses one that is given twice, by name or by content.
func hashAll(logs []loggedRun) ([]string, error) {
	out := make([]string, len(logs))
	from := map[string]string{}
	for i := range logs {
		path := logs[i].log
		h, err := hashFile(path)
		if err != nil {
			return nil, err
		}
		if other, twice := from[h]; twice {
			if filepath.Clean(other) == filepath.Clean(path) {
				return nil, usagef("give each run once, in one set", "%s is given twice", path)
			}
			return nil, usagef("give each run once, in one set", "%s and %s hold the same recording", other, path)
		}
		from[h], out[i] = path, h
	}
	return out, nil
}

// hashFile is the SHA-256 of a file as it is on the disk.
func hashFile(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", fmt.Errorf("open the log: %w", err)
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", fmt.Errorf("read %s: %w", path, err)
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// analyseAll analyses logs in parallel and gives them back in order. The first that fails, in that order, is the error.
func (p *pipeline) analyseAll(ctx context.Context, logs []string) ([]*analysed, error) {
	done := make([]*analysed, len(logs))
	failed := make([]error, len(logs))
	var group errgroup.Group
	group.SetLimit(min(runtime.GOMAXPROCS(0), maxLogsAtOnce))
	for i, log := range logs {
		group.Go(func() error {
			done[i], failed[i] = p.analyse(ctx, log)
			p.progress.finished(log)
			return nil
		})
	}
	if err := group.Wait(); err != nil {
		return nil, err
	}
	return done, cmp.Or(failed...)
}

// put writes the page and the JSON of a study, each whole.
func (s *study) put(target outputs, page, figures func(io.Writer) error) error {
	for _, f := range []struct {
		path  string
		write func(io.Writer) error
	}{{target.html, page}, {target.json, figures}} {
		if f.path == "" {
			continue
		}
		if err := wholefile.Write(f.path, s.force, f.write); err != nil {
			return replaceHint(err)
		}
	}
	if s.open && target.html != "" {
		return openInBrowser(target.html)
	}
	return nil
}

// doubtHint tells of the option for a person who knows the trail better than the roughness shows it.
func doubtHint(al *compare.Alignment) string {
	kept := slices.ContainsFunc(al.Doubtful, func(d compare.DoubtfulRun) bool { return d.Kept })
	if kept || (!al.OtherTrail && len(al.Doubtful) == 0) {
		return ""
	}
	return "(if you know that all runs are of one trail, judge them all with --keep-all)\n"
}

// print writes the JSON or the summary to the terminal.
func (s *study) print(target outputs, summary, figures func(io.Writer) error) error {
	var b bytes.Buffer
	switch {
	case s.json:
		if err := figures(&b); err != nil {
			return err
		}
	case !s.quiet:
		if err := summary(&b); err != nil {
			return err
		}
		fmt.Fprintf(&b, "\nopen %s\n(all figures: %s)\n", target.html, target.json)
	}
	if _, err := s.out.Write(b.Bytes()); err != nil {
		return fmt.Errorf("print the results: %w", err)
	}
	return nil
}

// comparisonHint says what to do about runs that cannot be compared.
func comparisonHint(err error) error {
	text := err.Error()
	switch {
	case strings.Contains(text, "forks differ"):
		return ingest.Hinted{Err: err, Hint: "compare runs of one fork; if it is one, give all the same fork file with --fork"}
	case strings.Contains(text, "sample rates"):
		return ingest.Hinted{Err: err, Hint: "record all runs of a test at one rate"}
	case strings.Contains(text, "same run"):
		return ingest.Hinted{Err: err, Hint: "give each run once, in one set"}
	}
	return err
}

// defaultFigures are the figure options of a command without flags of its own.
func defaultFigures() figureFlags { return figureFlags{splitMMS: analyze.DefaultOptions().SplitMMS} }
