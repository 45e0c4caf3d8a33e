package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"stanchion/analyze/advice"
	"stanchion/cmd/stanchion/trial"
	"stanchion/ingest"
	"stanchion/ingest/logbook"
	"stanchion/ingest/setup"
	"stanchion/report"
)

// adviseCmd is the advise command with its options.
type adviseCmd struct {
	*console
	input   inputFlags
	figures figureFlags
	rules   rulesFlag
	book    bookFlags
	trail   string
	set     []string
	json    bool
	all     bool
	quiet   bool

	printRules bool
	evaluate   bool
	seeds      int
}

func newAdvise(c *console) *cobra.Command {
	a := &adviseCmd{console: c}
	cmd := &cobra.Command{
		Use:   "advise LOG",
		Short: "What to change next, on what evidence",
		Long: `Advise holds the figures of a run against a table of rules and names one change to
try, with the figures that speak for it, what to watch, and what it would make
worse. It says so where nothing needs to change, and where there is not enough
evidence and what is missing. Take a sag log of two settles along (--sag): much
rests on it.

With --logbook it knows how the fork was set and what was tried on the same fork
and trail before. Limits of the fork (pressure, spacers, clicks) come from the
fork file; nothing is advised beyond them.

The table can be read, changed and given back: --rules-print, --rules. How often it
is right on simulated forks with one known fault each: --evaluate.`,
		Example: `  stanchion advise run.csv --fork fork.toml --sag sag.csv
  stanchion advise run.csv --set rebound=6 --set pressure_psi=82
  stanchion advise run.csv --logbook ~/stanchion-logbook --trail quarry
  stanchion advise --rules-print > mine.toml
  stanchion advise run.csv --rules mine.toml --json
  stanchion advise --evaluate

In the fork file, so that nothing is advised beyond it:
  [adjuster.rebound]
  clicks = 16         # from fully closed to fully open
  usable_from = 2     # the range in which a sweep showed that it does something
  usable_to = 11`,
		Args: func(cmd *cobra.Command, args []string) error {
			if a.printRules || a.evaluate {
				return noArgs(cmd, args)
			}
			if len(args) != 1 {
				return usagef("for example: stanchion advise run.csv --travel 160", "one log is needed, got %d", len(args))
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			switch {
			case a.printRules:
				return a.printTable()
			case a.evaluate:
				return a.runTrial(cmd.Context())
			}
			return a.run(cmd.Context(), args[0], cmd.Flags().Changed)
		},
	}
	fl := cmd.Flags()
	fl.SortFlags = false
	a.rules.add(cmd)
	fl.BoolVar(&a.printRules, "rules-print", false, "print the table of rules, to read or to change")
	a.book.add(cmd)
	fl.StringVar(&a.trail, "trail", "", "`name` of the trail in the logbook (default: as filed)")
	fl.StringArrayVar(&a.set, "set", nil, "how the fork was set, a `setting=value` as in the logbook; may be repeated")
	fl.BoolVar(&a.json, "json", false, "print JSON")
	fl.BoolVar(&a.all, "all", false, "print everything that is in doubt or missing, not the first few")
	fl.BoolVarP(&a.quiet, "quiet", "q", false, "no progress")
	fl.BoolVar(&a.evaluate, "evaluate", false, "judge the table on simulated forks with known faults (some minutes)")
	fl.IntVar(&a.seeds, "seeds", 20, "with --evaluate: `rides` of each fault")
	a.figures.add(cmd)
	a.input.add(cmd)
	return cmd
}

// printTable prints the table in use as it is written.
func (a *adviseCmd) printTable() error {
	if a.rules.file != "" {
		return usagef("that file is what would be printed", "--rules-print prints the table of the program, not that of --rules")
	}
	_, err := io.WriteString(a.out, setup.DefaultRules())
	return err
}

func (a *adviseCmd) run(ctx context.Context, log string, changed func(string) bool) error {
	table, err := a.rules.table()
	if err != nil {
		return err
	}
	opt, err := a.figures.options(changed)
	if err != nil {
		return err
	}
	p := &pipeline{input: a.input, changed: changed, options: opt, progress: newProgress(a.err, 1, totalSize([]string{log}), a.quiet)}
	defer p.progress.clear()
	if a.figures.sagLog != "" {
		if p.options.StaticSag, err = p.sagFrom(ctx, a.figures.sagLog); err != nil {
			return err
		}
	}
	run, err := p.analyse(ctx, log)
	if err != nil {
		return err
	}
	m, err := a.remember(ctx, run, changed)
	if err != nil {
		return err
	}
	if err := applySettings(&m.setup, a.set); err != nil {
		return err
	}
	result, err := p.advise(run, table, ruleSettings(&m.setup), m.earlier)
	if err != nil {
		return err
	}
	p.progress.clear()
	return a.show(run, result)
}

// remember asks the logbook, where one is named.
func (a *adviseCmd) remember(ctx context.Context, run *analysed, changed func(string) bool) (m memory, err error) {
	if !changed("logbook") && a.trail == "" {
		return m, nil
	}
	err = a.book.withBook(ctx, func(b *logbook.Logbook) error {
		m, err = recall(ctx, b, run, a.trail)
		return err
	})
	if errors.Is(err, logbook.ErrNone) {
		err = ingest.Hinted{Err: err, Hint: "leave --logbook and --trail out, or file runs first with 'stanchion log add'"}
	}
	if err == nil && m.trail == "" {
		fmt.Fprintln(a.err, "stanchion: the trail of this run is not known, so nothing could be remembered: give it with --trail")
	}
	return m, err
}

// show prints what came out.
func (a *adviseCmd) show(run *analysed, result *advice.Advice) error {
	var b bytes.Buffer
	var err error
	if a.json {
		err = report.AdviceJSON(&b, result)
	} else {
		err = report.AdviceText(&b, run.result, result, report.TextOptions{Color: colour(a.out), All: a.all})
	}
	if err != nil {
		return err
	}
	if !a.quiet {
		fmt.Fprint(a.err, run.badRows())
	}
	_, err = a.out.Write(b.Bytes())
	return err
}

// maxSeeds bounds a trial: some hours.
const maxSeeds = 1000

// runTrial rides simulated forks with known faults and prints how often the table is right.
func (a *adviseCmd) runTrial(ctx context.Context) error {
	if a.seeds < 1 || a.seeds > maxSeeds {
		return usagef("", "--seeds %d: must be 1 to %d", a.seeds, maxSeeds)
	}
	table, err := a.rules.table()
	if err != nil {
		return err
	}
	cases := trial.HeldOut(a.seeds)
	line := a.counted("simulated ride")
	outcomes, err := trial.Run(ctx, cases, table, func(done int) {
		if line != nil && !a.quiet {
			line(done, len(cases))
		}
	})
	if err != nil {
		return err
	}
	result := trial.Tabulate(table.Source, outcomes)
	if a.json {
		enc := json.NewEncoder(a.out)
		enc.SetIndent("", " ")
		return enc.Encode(&struct {
			trial.Table
			Outcomes []trial.Outcome `json:"outcomes"`
		}{result, outcomes})
	}
	return result.Text(a.out)
}
