package main

import (
	"context"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"stanchion/ingest"
	"stanchion/ingest/logbook"
	"stanchion/ingest/setup"
	"stanchion/ingest/wholefile"
	"stanchion/report"
)

// logSetup is the command that shows and changes setups.
type logSetup struct {
	*console
	book                 *bookFlags
	forkFile, fork, bike string
	run                  string
	trail                string
	sheet                string
	force                bool
}

func newLogSetup(c *console, book *bookFlags) *cobra.Command {
	s := &logSetup{console: c, book: book}
	cmd := &cobra.Command{
		Use:   "setup [SETTING=VALUE...]",
		Short: "What is on the fork now, or change it; correct the setup of a filed run",
		Long: `Setup shows how the fork is set, and keeps what you change: the runs filed after
it take it over. With --run it corrects a run that is filed already.

` + settingsHelp + `

Stay within the pressures and the clicks that the maker of the fork allows.`,
		Example: `  stanchion log setup                              what is on the fork now?
  stanchion log setup --sheet setup.html           a sheet to print and fill in
  stanchion log setup rebound=4
  stanchion log setup pressure_psi=78 spacers=2 --fork-name "my fork"
  stanchion log setup --run 12 rebound=5 --trail quarry`,
		RunE: func(cmd *cobra.Command, args []string) error {
			return s.book.with(cmd.Context(), logbook.Create, func(b *logbook.Logbook) error {
				if s.run != "" {
					return s.correct(cmd.Context(), b, args, cmd.Flags().Changed)
				}
				return s.mount(cmd.Context(), b, args)
			})
		},
	}
	fl := cmd.Flags()
	fl.SortFlags = false
	fl.StringVar(&s.run, "run", "", "correct this filed `run` instead")
	fl.StringVar(&s.trail, "trail", "", "with --run: its trail is this `name`")
	fl.StringVar(&s.fork, "fork-name", "", "`name` of the fork (not needed where the book has one)")
	fl.StringVar(&s.forkFile, "fork", "", "fork `file` of a fork that the book does not know yet")
	fl.StringVar(&s.bike, "bike", "", "`name` of the bike it is on")
	fl.StringVar(&s.sheet, "sheet", "", "write a setup sheet to print: `NAME.html`")
	fl.BoolVar(&s.force, "force", false, "replace a sheet that is there already")
	return cmd
}

func (s *logSetup) correct(ctx context.Context, b *logbook.Logbook, args []string, changed func(string) bool) error {
	r, err := b.Run(ctx, s.run)
	if err != nil {
		return err
	}
	r, err = b.Change(ctx, r.ID, func(r *logbook.Run) error {
		if changed("trail") {
			r.Trail = s.trail
		}
		return applySettings(&r.Setup, args)
	})
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(s.out, "%s: %s\n", runLine(&r), orDash(r.Setup.String()))
	return err
}

func (s *logSetup) mount(ctx context.Context, b *logbook.Logbook, args []string) error {
	fork, err := s.which(ctx, b)
	if err != nil {
		return err
	}
	now, err := mountedOn(ctx, b, fork.Name)
	if err != nil {
		return err
	}
	before := now.Clone()
	if err := applySettings(&now, args); err != nil {
		return err
	}
	if len(args) > 0 || s.bike != "" || s.forkFile != "" {
		if err := b.Mount(ctx, fork, s.bike, now); err != nil {
			return err
		}
	}
	if s.sheet != "" {
		if err := s.writeSheet(ctx, b, fork, now); err != nil {
			return err
		}
	}
	if len(args) > 0 {
		fmt.Fprintf(s.out, "%s was: %s\n", fork.Name, orDash(before.String()))
	}
	_, err = fmt.Fprintf(s.out, "%s is now: %s\n", fork.Name, orDash(now.String()))
	return err
}

// writeSheet writes the setup sheet of a fork.
func (s *logSetup) writeSheet(ctx context.Context, b *logbook.Logbook, fork logbook.Fork, now logbook.Setup) error {
	sheet := &report.SetupSheet{Fork: fork, Bike: s.bike, At: time.Now()}
	known, err := forkNamed(ctx, b, fork.Name)
	if err != nil {
		return usagef("change a setting first, so that the book gets to know the fork", "%w", err)
	}
	if sheet.Bike == "" {
		sheet.Bike = known.Bike
	}
	values := now.Values()
	for _, name := range slices.Sorted(maps.Keys(values)) {
		sheet.Settings = append(sheet.Settings, settingWords(name, values[name]))
	}
	due, err := b.Due(ctx, fork.Name)
	if err != nil {
		return err
	}
	for _, d := range due {
		line := fmt.Sprintf("%s: %.1f of %g h", d.What, d.Hours, d.EveryHours)
		if d.Over() {
			line += ", due"
		}
		sheet.Services = append(sheet.Services, line)
	}
	err = wholefile.Write(s.sheet, s.force, func(w io.Writer) error {
		return report.SetupSheetHTML(w, sheet, report.HTMLOptions{Version: version()})
	})
	if err != nil {
		return replaceHint(err)
	}
	_, err = fmt.Fprintf(s.out, "open %s\n", s.sheet)
	return err
}

// settingWords is a setting for people: "pressure_psi", "82" gives "Pressure", "82 psi".
func settingWords(name, value string) report.NamedValue {
	if adjuster, ok := strings.CutPrefix(name, "clicks."); ok {
		return report.NamedValue{Name: adjuster, Value: value + " clicks from closed"}
	}
	for _, unit := range []struct{ ending, text string }{{"_psi", " psi"}, {"_kg", " kg"}, {"_c", " °C"}} {
		if plain, ok := strings.CutSuffix(name, unit.ending); ok && slices.Contains(logbook.Names(), name) {
			return report.NamedValue{Name: strings.ReplaceAll(plain, "_", " "), Value: value + unit.text}
		}
	}
	return report.NamedValue{Name: name, Value: value}
}

// which fork is meant: the one of the fork file, the one that is named, or the only one.
func (s *logSetup) which(ctx context.Context, b *logbook.Logbook) (logbook.Fork, error) {
	if s.forkFile != "" {
		file, err := setup.Load(s.forkFile)
		if err != nil {
			return logbook.Fork{}, usageError{err}
		}
		f := file.Setup.Fork
		if s.fork != "" {
			f.Name = s.fork
		}
		if f.Name == "" {
			f.Name = fmt.Sprintf("%g mm fork", f.TravelMM)
		}
		return f, nil
	}
	k, err := forkNamed(ctx, b, s.fork)
	return k.Fork, err
}

// forkNamed is the fork of that name, or the only one of the book where no name is given.
func forkNamed(ctx context.Context, b *logbook.Logbook, name string) (logbook.Known, error) {
	forks, err := b.Forks(ctx)
	if err != nil {
		return logbook.Known{}, err
	}
	names := ""
	for _, f := range forks {
		if f.Name == name || (name == "" && len(forks) == 1) {
			return f, nil
		}
		names += fmt.Sprintf(" %q", f.Name)
	}
	switch {
	case len(forks) == 0:
		return logbook.Known{}, ingest.Hinted{Err: fmt.Errorf("the logbook knows no fork yet"), Hint: "give its fork file with --fork, or file a run first"}
	case name == "":
		return logbook.Known{}, usagef("say which one with --fork-name:"+names, "the logbook has %d forks", len(forks))
	}
	return logbook.Known{}, usagef("it has:"+names, "no fork %q in the logbook", name)
}
