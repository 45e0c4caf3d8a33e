package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"stanchion/analyze"
	"stanchion/analyze/trail"
	"stanchion/ingest"
	"stanchion/ingest/setup"
	"stanchion/report"
)

// timingCmd is the timing command with its options.
type timingCmd struct {
	study
	gpx     []string
	gates   string
	splits  int
	against string
	markers bool
}

func newTiming(c *console) *cobra.Command {
	k := &timingCmd{study: study{console: c}}
	cmd := &cobra.Command{
		Use:   "timing RUN...",
		Short: "Split times of runs of one trail, where time was lost, and what GPS cannot tell",
		Long: `Timing lays the tracks of several runs on one reference line, so that a place is
the same place in every run, and takes the time at gates: a split table, the best
split of each, the ideal time, and the gap between runs along the trail. Beside
every time stands its uncertainty, and a difference that is smaller is called too
close to call. It writes timing.html and timing.json, and a table to the terminal.

A run is a track (GPX), or a log with one: a GPX file of the same name beside it,
the one given with --gpx, or latitude and longitude columns of its own. Logs
without positions are timed by their markers.

Gates are three even splits, --splits of them, or those of a file (--gates).

The page shows the trail on a map. Where the logs of the fork can be read too, it
says where it was harsh in how many of the runs, and where they jump and brake.`,
		Example: `  stanchion timing a.gpx b.gpx c.gpx
  stanchion timing r1.csv r2.csv                      # with r1.gpx and r2.gpx beside
  stanchion timing r1.csv r2.csv --gpx tracks/        # or in a folder
  stanchion timing r1.csv r2.csv --gpx a.gpx,b.gpx    # or in the order of the logs
  stanchion timing morning/*.gpx --gates gates.toml --against morning/r3.gpx
  stanchion timing a.gpx b.gpx --splits 5 --json | jq .versus

A file of gates:
  [[gate]]
  name = "start"
  station_m = 20        # m along the reference line

  [[gate]]
  name = "bridge"
  lat = 31.5012         # or a place on the ground
  lon = -41.2488`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usagef("for example: stanchion timing r1.gpx r2.gpx", "no runs given")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			return k.run(cmd.Context(), args, cmd.Flags().Changed)
		},
	}
	fl := cmd.Flags()
	fl.SortFlags = false
	fl.StringSliceVar(&k.gpx, "gpx", nil, "`tracks` of the logs, in their order, with commas between them, or the folder in which they lie")
	fl.StringVar(&k.gates, "gates", "", "`file` of gates (TOML)")
	fl.IntVar(&k.splits, "splits", 3, "`number` of even splits, where there is no file of gates")
	fl.StringVar(&k.against, "against", "", "the `run` that the others are held against (default: the fastest)")
	fl.BoolVar(&k.markers, "markers", false, "take the markers of the logs for gates, not positions")
	k.addOutput(cmd, "timing")
	k.input.add(cmd)
	return cmd
}

// maxSplits bounds --splits.
const maxSplits = 100

func (k *timingCmd) run(ctx context.Context, files []string, changed func(string) bool) error {
	if k.splits < 1 || k.splits > maxSplits {
		return usagef("leave it out for 3", "--splits %d: must be from 1 to %d", k.splits, maxSplits)
	}
	if changed("splits") && k.gates != "" {
		return usagef("leave one out", "--splits and --gates both say where time is taken")
	}
	var gates setup.GateFile
	if k.gates != "" {
		var err error
		if gates, err = setup.LoadGates(k.gates); err != nil {
			return usageError{err}
		}
	}
	names := shortNames(files)
	opt := trail.DefaultTimingOptions()
	var err error
	if opt.Against, err = k.againstRun(files, names); err != nil {
		return err
	}
	tracks, err := k.tracksOf(files)
	if err != nil {
		return err
	}
	target, err := k.target("timing")
	if err != nil {
		return err
	}
	runs, err := k.locateAll(ctx, files, tracks, changed)
	if err != nil {
		return err
	}
	timed, err := k.time(runs, names, gates, opt)
	if err != nil {
		return err
	}
	timing := timed.timing
	ground, err := timed.read(runs)
	if err != nil {
		return err
	}
	figures := func(w io.Writer) error { return report.TimingJSON(w, timing, ground) }
	page := func(w io.Writer) error {
		return report.TimingHTML(w, timing, report.HTMLOptions{Version: version(), Ground: ground})
	}
	if err := k.put(target, page, figures); err != nil {
		return err
	}
	summary := func(w io.Writer) error {
		return report.TimingText(w, timing, report.TextOptions{Color: colour(k.out), All: k.all, Ground: ground})
	}
	return k.print(target, summary, figures)
}

// againstRun finds the run of --against, from 1; 0 where it was not given.
func (k *timingCmd) againstRun(files, names []string) (int, error) {
	if k.against == "" {
		return 0, nil
	}
	for i := range files {
		if names[i] == k.against || samePath(files[i], k.against) {
			return i + 1, nil
		}
	}
	return 0, usagef("the runs are: "+strings.Join(names, ", "), "--against %s: is none of the runs", k.against)
}

// tracksOf finds the track file of every run, "" where there is none, and checks that no run is given twice.
func (k *timingCmd) tracksOf(files []string) ([]string, error) {
	tracks, err := trackFiles(files, k.gpx)
	if err != nil {
		return nil, err
	}
	var logs []loggedRun
	for i, f := range files {
		if k.markers {
			if isTrack(f) {
				return nil, usagef("give the logs", "%s is a track, which has no markers", f)
			}
			tracks[i] = ""
		}
		logs = append(logs, loggedRun{log: cmp.Or(tracks[i], f)})
	}
	_, err = hashAll(logs)
	return tracks, err
}

// locateAll reads where every run was ridden.
func (k *timingCmd) locateAll(ctx context.Context, files, tracks []string, changed func(string) bool) ([]*locatedRun, error) {
	p := &pipeline{input: k.input, changed: changed, options: analyze.DefaultOptions(), progress: newProgress(k.err, len(files), totalSize(files), k.quiet)}
	p.tracks.tracks = map[string]string{}
	for i, f := range files {
		p.tracks.tracks[f] = tracks[i]
	}
	defer p.progress.clear()
	runs := make([]*locatedRun, len(files))
	for i, f := range files {
		var err error
		if runs[i], err = p.locate(ctx, f, tracks[i]); err != nil {
			return nil, err
		}
		p.progress.finished(f)
	}
	p.progress.clear()
	for _, r := range runs {
		if !k.quiet {
			fmt.Fprint(k.err, r.rows)
		}
	}
	return runs, nil
}

// timedRuns are runs with their times, and the line that they were laid on; nil where gates are markers.
type timedRuns struct {
	timing *trail.Timing
	line   *trail.Line
	gates  []trail.Gate
	placed []*trail.Placed
	names  []string
}

// time times the runs by their positions, or by their markers where none has any.
func (k *timingCmd) time(runs []*locatedRun, names []string, gates setup.GateFile, opt trail.TimingOptions) (*timedRuns, error) {
	var with, without []string
	for i, r := range runs {
		if r.path != nil && !k.markers {
			with = append(with, names[i])
		} else {
			without = append(without, names[i])
		}
	}
	switch {
	case len(with) == 0:
		timing, err := k.timeByMarkers(runs, names, opt)
		return &timedRuns{timing: timing, names: names}, err
	case len(without) > 0:
		return nil, ingest.Hinted{Err: fmt.Errorf("no positions of %s, but of %s", strings.Join(without, ", "), strings.Join(with, ", ")),
			Hint: "put a GPX file of the same name beside each log, name them with --gpx, or take --markers"}
	}
	paths := make([]*trail.Path, len(runs))
	for i, r := range runs {
		paths[i] = r.path
	}
	lineOpt := trail.DefaultLineOptions()
	lineOpt.Names = names
	line, err := trail.NewLine(paths, lineOpt)
	if err != nil {
		return nil, strangerHint(err)
	}
	laps := make([]trail.TimedLap, len(runs))
	placed := make([]*trail.Placed, len(runs))
	for i, r := range runs {
		if placed[i], err = line.Place(paths[i], lineOpt.Place); err != nil {
			return nil, fmt.Errorf("%s: %w", names[i], err)
		}
		laps[i] = trail.TimedLap{Name: names[i], Source: cmp.Or(r.track, r.file), Path: paths[i], Placed: placed[i]}
	}
	at := line.EvenGates(placed, k.splits, opt.GateMS)
	if k.gates != "" {
		if at, err = line.PlaceGates(gateSpecs(gates), opt.GateAwayM); err != nil {
			return nil, ingest.Hinted{Err: fmt.Errorf("%s: %w", k.gates, err), Hint: "stations count from where the slowest to start began to move; run without --gates to see the line"}
		}
	}
	timing, err := trail.Time(line, at, laps, opt)
	return &timedRuns{timing, line, at, placed, names}, err
}

func gateSpecs(file setup.GateFile) []trail.GateSpec {
	out := make([]trail.GateSpec, len(file.Gates))
	for i, g := range file.Gates {
		out[i] = trail.GateSpec{Name: g.Name, StationM: g.StationM, OnGround: g.OnGround, LatDeg: g.LatDeg, LonDeg: g.LonDeg}
	}
	return out
}

// timeByMarkers takes the markers of the logs for gates.
func (k *timingCmd) timeByMarkers(runs []*locatedRun, names []string, opt trail.TimingOptions) (*trail.Timing, error) {
	if k.gates != "" {
		return nil, ingest.Hinted{Err: fmt.Errorf("%s: gates need positions, and the runs have none", filepath.Base(k.gates)), Hint: "put a GPX file of the same name beside each log, or leave --gates out: markers are gates then"}
	}
	marks := make([][]trail.Mark, len(runs))
	for i, r := range runs {
		marks[i] = r.marks
	}
	gates, times, err := trail.MatchMarks(names, marks)
	if err != nil {
		return nil, ingest.Hinted{Err: err, Hint: "without markers, positions are needed: a GPX file of the same name beside each log, or --gpx"}
	}
	laps := make([]trail.TimedLap, len(runs))
	for i, r := range runs {
		laps[i] = trail.TimedLap{Name: names[i], Source: r.file, Marks: times[i]}
	}
	return trail.Time(nil, gates, laps, opt)
}

// strangerHint says what to do about runs of another trail.
func strangerHint(err error) error {
	var strangers *trail.StrangersError
	if errors.As(err, &strangers) {
		return ingest.Hinted{Err: err, Hint: "time runs of one trail at a time: leave these out, or time them by themselves"}
	}
	return err
}
