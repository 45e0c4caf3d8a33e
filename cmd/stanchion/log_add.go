package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"stanchion/analyze"
	"stanchion/ingest"
	"stanchion/ingest/logbook"
	"stanchion/ingest/setup"
)

// logAdd is the command that files runs.
type logAdd struct {
	*console
	book                       *bookFlags
	input                      inputFlags
	figures                    figureFlags
	bike, trail, session, name string
	at, note                   string
	set                        []string
	quiet                      bool
}

func newLogAdd(c *console, book *bookFlags) *cobra.Command {
	a := &logAdd{console: c, book: book}
	cmd := &cobra.Command{
		Use:   "add LOG...",
		Short: "File runs: recording, setup, figures",
		Long: `Add analyses each log, copies it into the logbook in whole, and files it with its
setup and figures. The setup is what is mounted on the fork (see 'stanchion log
setup'), with --set on top of it for these runs. A track with the same name beside
a log (.gpx, .fit) is filed with it. A recording is filed once, whatever its name.

` + settingsHelp,
		Example: `  stanchion log add run1.csv --fork fork.toml --trail quarry
  stanchion log add *.slog --trail quarry --set temperature_c=14
  stanchion log add run7.csv --note "missed the second corner"`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usagef("for example: stanchion log add run1.csv --fork fork.toml --trail quarry", "no log given")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error { return a.run(cmd.Context(), args, cmd.Flags().Changed) },
	}
	fl := cmd.Flags()
	fl.SortFlags = false
	fl.StringVar(&a.trail, "trail", "", "`name` of the trail")
	fl.StringArrayVar(&a.set, "set", nil, "a `setting=value` of these runs, over what is mounted; may be repeated")
	fl.StringVar(&a.note, "note", "", "a `text` to keep with these runs")
	fl.StringVar(&a.bike, "bike", "", "`name` of the bike")
	fl.StringVar(&a.session, "session", "", "`name` of the session (default: the day)")
	fl.StringVar(&a.name, "name", "", "`name` of the run (default: that of the file)")
	fl.StringVar(&a.at, "at", "", "when it was ridden, as `2031-05-04T10:42` (default: as the log says, else the time of the file)")
	fl.BoolVarP(&a.quiet, "quiet", "q", false, "no progress and no words")
	a.figures.add(cmd)
	a.input.add(cmd)
	return cmd
}

func (a *logAdd) run(ctx context.Context, logs []string, changed func(string) bool) error {
	opt, err := a.figures.options(changed)
	if err != nil {
		return err
	}
	at, err := momentOf(a.at)
	if err != nil {
		return err
	}
	if a.name != "" && len(logs) > 1 {
		return usagef("leave it out, or file one log at a time", "--name %s: there are %d logs", a.name, len(logs))
	}
	p := &pipeline{input: a.input, changed: changed, options: opt, progress: newProgress(a.err, len(logs), totalSize(logs), a.quiet)}
	defer p.progress.clear()
	if a.figures.sagLog != "" {
		if p.options.StaticSag, err = p.sagFrom(ctx, a.figures.sagLog); err != nil {
			return err
		}
	}
	return a.book.with(ctx, logbook.Create, func(b *logbook.Logbook) error {
		var failed []error
		for _, log := range logs {
			err := a.one(ctx, p, b, log, at)
			p.progress.clear()
			switch {
			case ctx.Err() != nil:
				return ctx.Err()
			case err != nil && len(logs) > 1:
				a.complain(err)
			}
			if err != nil {
				failed = append(failed, err)
			}
		}
		switch {
		case len(failed) == 0:
			return nil
		case len(logs) == 1:
			return failed[0]
		}
		fmt.Fprintf(a.err, "stanchion: %d of %d logs were not filed\n", len(failed), len(logs))
		return shownError{failed[0]}
	})
}

// one files one log.
func (a *logAdd) one(ctx context.Context, p *pipeline, b *logbook.Logbook, log string, at time.Time) error {
	run, err := p.analyse(ctx, log)
	if err != nil {
		return err
	}
	p.progress.step("filing", log)
	n := logbook.NewRun{Recording: log, Track: trackBeside(log), Name: a.name, Bike: a.bike, Fork: run.result.Fork, Trail: a.trail, Session: a.session,
		RiddenAt: at, Note: a.note}
	if n.Fork.Name == "" {
		n.Fork.Name = fmt.Sprintf("%g mm fork", n.Fork.TravelMM)
	}
	if n.ForkFile, err = p.forkText(log); err != nil {
		return err
	}
	if n.RiddenAt.IsZero() {
		if n.RiddenAt, err = riddenAt(run, log); err != nil {
			return err
		}
	}
	if n.Setup, err = mountedOn(ctx, b, n.Fork.Name); err != nil {
		return err
	}
	if err := applySettings(&n.Setup, a.set); err != nil {
		return err
	}
	if n.Figures, err = figuresOf(run.result); err != nil {
		return err
	}
	filed, err := b.Add(ctx, n)
	var twice logbook.FiledError
	if errors.As(err, &twice) {
		return ingest.Hinted{Err: fmt.Errorf("%s: %w", log, err), Hint: fmt.Sprintf("correct it with 'stanchion log setup --run %d' or 'stanchion log note %d TEXT'", twice.Run.ID, twice.Run.ID)}
	}
	if err != nil || a.quiet {
		return err
	}
	p.progress.clear()
	set := filed.Setup.String()
	if set == "" {
		set = "no setup noted: 'stanchion log setup' keeps it"
	}
	_, err = fmt.Fprintf(a.out, "%s: filed as %s; %s\n", log, runLine(&filed), set)
	return err
}

// mountedOn is what is on the fork now; a fork that the book does not know has nothing.
func mountedOn(ctx context.Context, b *logbook.Logbook, fork string) (logbook.Setup, error) {
	forks, err := b.Forks(ctx)
	if err != nil {
		return logbook.Setup{}, err
	}
	for _, f := range forks {
		if f.Name == fork {
			return b.Mounted(ctx, fork)
		}
	}
	return logbook.Setup{}, nil
}

// forkText is the fork file of a log as text: the file itself, or one that says what the options laid over it.
func (p *pipeline) forkText(log string) (string, error) {
	file, _, err := p.input.setupFor(log, p.changed)
	if err != nil {
		return "", err
	}
	return setup.Format(file.Setup, nil) + setup.FormatLog(file.Log), nil
}

// figuresOf are the figures of a result as the logbook keeps them.
func figuresOf(r *analyze.Result) (logbook.Figures, error) {
	f := logbook.Figures{SchemaVersion: analyze.SchemaVersion, DurationS: r.Ride.DurationS.Or(0), RidingS: r.Ride.RidingS.Or(0)}
	var err error
	if f.Definitions, err = definitionsOf(r); err != nil {
		return f, err
	}
	for _, s := range r.Scalars() {
		row := logbook.Figure{Key: s.Key, N: s.Figure.N(), Absent: s.Figure.Reason()}
		if v, ok := s.Figure.Get(); ok {
			row.Value = &v
		}
		f.List = append(f.List, row)
	}
	return f, nil
}

// definitionsOf names the thresholds that figures were computed by, but for what belongs to the run itself.
func definitionsOf(r *analyze.Result) (string, error) {
	opt := r.Options
	opt.StaticSag, opt.SagWindow = nil, nil
	var keys []string
	for _, s := range r.Scalars() {
		keys = append(keys, s.Key)
	}
	text, err := json.Marshal([]any{opt, r.Prepare, keys})
	if err != nil {
		return "", fmt.Errorf("name the definitions: %w", err)
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:8]), nil
}

// riddenAt is when a log was ridden: by its own stamps, else by the time of its file.
func riddenAt(run *analysed, log string) (time.Time, error) {
	if !run.start.IsZero() {
		return run.start, nil
	}
	info, err := os.Stat(log)
	if err != nil {
		return time.Time{}, fmt.Errorf("time of the log: %w", err)
	}
	return info.ModTime(), nil
}

// momentOf reads a day with a time, in local time where it names no zone.
func momentOf(text string) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	for _, layout := range []string{time.RFC3339, "2006-01-02T15:04:05", "2006-01-02T15:04", "2006-01-02 15:04", time.DateOnly} {
		if t, err := time.ParseInLocation(layout, text, time.Local); err == nil {
			return t, nil
		}
	}
	return time.Time{}, usagef("for example --at 2031-05-04T10:42", "--at %s: not a day with a time", text)
}

// trackBeside is a track with the name of the log beside it, "" where there is none.
func trackBeside(log string) string {
	stem := filepath.Join(filepath.Dir(log), strings.TrimSuffix(resultName(log), filepath.Ext(resultName(log))))
	for _, name := range []string{filepath.Join(filepath.Dir(log), resultName(log)), stem} {
		for _, ending := range []string{".gpx", ".gpx.gz", ".fit"} {
			if info, err := os.Stat(name + ending); err == nil && info.Mode().IsRegular() {
				return name + ending
			}
		}
	}
	return ""
}
