package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"stanchion/ingest/logbook"
)

// logbookVar names the folder of the logbook where the option does not.
const logbookVar = "STANCHION_LOGBOOK"

// bookFlags say which logbook is meant.
type bookFlags struct{ dir string }

func (f *bookFlags) add(cmd *cobra.Command) {
	cmd.PersistentFlags().StringVar(&f.dir, "logbook", "", "`folder` of the logbook (default: $"+logbookVar+", else stanchion-logbook in your home folder)")
}

// folder is the folder of the logbook.
func (f *bookFlags) folder() (string, error) {
	if f.dir != "" {
		return f.dir, nil
	}
	if dir := os.Getenv(logbookVar); dir != "" {
		return dir, nil
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "", usagef("say where with --logbook", "where to keep the logbook is not known: %w", err)
	}
	return filepath.Join(home, "stanchion-logbook"), nil
}

// withBook opens the logbook for the time of work.
func (f *bookFlags) withBook(ctx context.Context, work func(*logbook.Logbook) error) error {
	return f.with(ctx, logbook.Open, work)
}

func (f *bookFlags) with(ctx context.Context, open func(context.Context, string) (*logbook.Logbook, error), work func(*logbook.Logbook) error) error {
	dir, err := f.folder()
	if err != nil {
		return err
	}
	b, err := open(ctx, dir)
	if err != nil {
		return err
	}
	defer b.Close()
	return work(b)
}

// queryFlags pick runs of the logbook.
type queryFlags struct {
	fork, bike, trail, session, text string
	since, until                     string
	where                            []string
	limit                            int
}

func (f *queryFlags) add(cmd *cobra.Command) {
	fl := cmd.Flags()
	fl.SortFlags = false
	fl.StringVar(&f.trail, "trail", "", "only runs on this `trail`")
	fl.StringVar(&f.fork, "fork-name", "", "only runs of the fork of this `name`")
	fl.StringVar(&f.bike, "bike", "", "only runs of this `bike`")
	fl.StringVar(&f.session, "session", "", "only runs of this `session`, a day unless named otherwise")
	fl.StringVar(&f.since, "since", "", "only runs from this `day` on, as 2031-05-04")
	fl.StringVar(&f.until, "until", "", "only runs up to this `day`, with it")
	fl.StringVar(&f.text, "text", "", "only runs with this `text` in their name, file or notes")
	fl.StringSliceVar(&f.where, "where", nil, "only runs with this `setting=value`; may be repeated")
}

func (f *queryFlags) query() (logbook.Query, error) {
	q := logbook.Query{Fork: f.fork, Bike: f.bike, Trail: f.trail, Session: f.session, Text: f.text, Limit: f.limit}
	var err error
	if q.Since, err = dayOf("--since", f.since); err != nil {
		return q, err
	}
	if q.Until, err = dayOf("--until", f.until); err != nil {
		return q, err
	}
	if !q.Until.IsZero() {
		q.Until = q.Until.AddDate(0, 0, 1)
	}
	for _, w := range f.where {
		name, value, ok := strings.Cut(w, "=")
		if !ok || name == "" || value == "" {
			return q, usagef("for example --where rebound=6", "--where %s: must be a setting and its value", w)
		}
		if q.Settings == nil {
			q.Settings = map[string]string{}
		}
		q.Settings[settingName(name, value)] = value
	}
	return q, nil
}

// dayOf reads a day, in local time.
func dayOf(flag, text string) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	t, err := time.ParseInLocation(time.DateOnly, text, time.Local)
	if err != nil {
		return time.Time{}, usagef("for example "+flag+" 2031-05-04", "%s %s: not a day", flag, text)
	}
	return t, nil
}

const settingsHelp = `Settings are name=value. The logbook knows pressure_psi, spacers, tyre_front_psi,
tyre_rear_psi, rider_kg (with all that you wear) and temperature_c. Any other name
with a number is an adjuster, in clicks from fully closed: rebound=6 lsc=10 hsc=3.
Any other name with words is a note: tyre="hard casing". An empty value takes a
setting away: spacers=`

func newLog(c *console) *cobra.Command {
	f := &bookFlags{}
	cmd := &cobra.Command{
		Use:   "log",
		Short: "The logbook: file runs with their setups, find them, see trends",
		Long: `The logbook keeps every run with its recording, the setup it was ridden on, what
came of it and what you noted: in one folder that you can copy, back up to one
file and take to another computer.

` + settingsHelp,
		Example: `  stanchion log setup rebound=6 lsc=10 pressure_psi=82 --fork fork.toml
  stanchion log add run1.csv --fork fork.toml --trail quarry --note "harsh at the top"
  stanchion log setup rebound=4           turn the adjuster, tell the book, ride again
  stanchion log list --trail quarry
  stanchion log show 12
  stanchion log trend sag.dynamic_median_pct
  stanchion log compare --vary rebound --trail quarry
  stanchion log backup season.zip`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usagef("see 'stanchion log --help'", "unknown command %q of the logbook", args[0])
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error { return cmd.Help() },
	}
	f.add(cmd)
	cmd.AddCommand(newLogAdd(c, f), newLogList(c, f), newLogShow(c, f), newLogNote(c, f), newLogSetup(c, f), newLogTrend(c, f),
		newLogCompare(c, f), newLogSweep(c, f), newLogService(c, f),
		newLogRefresh(c, f), newLogBackup(c, f), newLogImport(c, f), newLogCheck(c, f), newLogRebuild(c, f))
	return cmd
}

// settingName is the logbook's name of a setting as people write it.
func settingName(name, value string) string {
	name = strings.TrimSpace(name)
	for _, known := range logbook.Names() {
		if name == known {
			return name
		}
	}
	if _, err := strconv.ParseFloat(strings.Replace(value, ",", ".", 1), 64); err == nil && !strings.HasPrefix(name, "clicks.") && !strings.HasPrefix(name, "note.") {
		return "clicks." + name
	}
	return strings.TrimPrefix(name, "note.")
}

// applySettings lays name=value arguments over a setup.
func applySettings(s *logbook.Setup, args []string) error {
	for _, a := range args {
		name, value, ok := strings.Cut(a, "=")
		if !ok {
			return usagef("for example rebound=6 or pressure_psi=82", "%q is not a setting: it has no '='", a)
		}
		if value == "" { // taken away, whatever it was
			for _, n := range []string{"clicks." + strings.TrimSpace(name), name} {
				if err := s.Set(n, ""); err != nil {
					return usageError{err}
				}
			}
			continue
		}
		if err := s.Set(settingName(name, value), value); err != nil {
			return usageError{err}
		}
	}
	return nil
}

// runLine is a run in a few words.
func runLine(r *logbook.Run) string {
	where := r.Trail
	if where == "" {
		where = "no trail noted"
	}
	return fmt.Sprintf("run %d, %s (%s, %s)", r.ID, r.Name, where, r.RiddenAt.Local().Format("2006-01-02 15:04"))
}
