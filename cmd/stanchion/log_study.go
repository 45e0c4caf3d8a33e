package main

import (
	"context"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"stanchion/ingest/logbook"
	"stanchion/ingest/setup"
)

const studyHelp = `It takes the runs in which this one setting differs and all others are the same
(but for the temperature, which nobody can hold), of one fork on one trail: the
largest group there is. `

func newLogCompare(c *console, book *bookFlags) *cobra.Command {
	k := &compareCmd{study: study{console: c}}
	var q queryFlags
	var between []string
	cmd := &cobra.Command{
		Use:   "compare --vary SETTING",
		Short: "Compare two settings from filed runs",
		Long:  "Compare does what 'stanchion compare' does, with runs of the logbook.\n\n" + studyHelp,
		Example: `  stanchion log compare --vary rebound --trail quarry
  stanchion log compare --vary rebound --between 4,8 --since 2031-05-01 --open`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if k.vary == "" {
				return usagef("for example --vary rebound", "which setting was changed?")
			}
			return book.withBook(cmd.Context(), func(b *logbook.Logbook) error {
				g, err := varied(cmd.Context(), b, &q, k.vary, between)
				if err != nil {
					return err
				}
				list, texts, err := listOf(cmd.Context(), b, g)
				if err != nil {
					return err
				}
				k.given, k.list, k.input.texts = &list, "the logbook", texts
				return k.run(cmd.Context(), cmd.Flags().Changed)
			})
		},
	}
	cmd.Flags().SortFlags = false
	cmd.Flags().StringVar(&k.vary, "vary", "", "the `setting` that was changed")
	cmd.Flags().StringSliceVar(&between, "between", nil, "only these two `values` of it, with a comma")
	k.names(cmd)
	q.add(cmd)
	k.addJudging(cmd)
	k.study.add(cmd, "compare")
	return cmd
}

func newLogSweep(c *console, book *bookFlags) *cobra.Command {
	k := &sweepCmd{study: study{console: c}}
	var q queryFlags
	cmd := &cobra.Command{
		Use:     "sweep --adjuster NAME",
		Short:   "What an adjuster does, from filed runs",
		Long:    "Sweep does what 'stanchion sweep' does, with runs of the logbook.\n\n" + studyHelp,
		Example: `  stanchion log sweep --adjuster rebound --trail quarry`,
		Args:    noArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(k.adjusters) != 1 {
				return usagef("for example --adjuster rebound", "one adjuster is needed, got %d", len(k.adjusters))
			}
			return book.withBook(cmd.Context(), func(b *logbook.Logbook) error {
				g, err := varied(cmd.Context(), b, &q, k.adjusters[0], nil)
				if err != nil {
					return err
				}
				list, texts, err := listOf(cmd.Context(), b, g)
				if err != nil {
					return err
				}
				k.input.texts = texts
				return k.run(cmd.Context(), "the logbook", list, cmd.Flags().Changed)
			})
		},
	}
	cmd.Flags().SortFlags = false
	cmd.Flags().StringSliceVar(&k.adjusters, "adjuster", nil, "`name` of the adjuster")
	q.add(cmd)
	k.addJudging(cmd)
	k.study.add(cmd, "sweep")
	return cmd
}

// varied finds the largest group of runs that differ in one setting only.
func varied(ctx context.Context, b *logbook.Logbook, f *queryFlags, setting string, between []string) (logbook.Group, error) {
	q, err := f.query()
	if err != nil {
		return logbook.Group{}, err
	}
	runs, err := b.Runs(ctx, q)
	if err != nil {
		return logbook.Group{}, err
	}
	name := settingName(setting, "0")
	if len(between) > 0 {
		runs = slices.DeleteFunc(runs, func(r logbook.Run) bool { return !slices.Contains(between, r.Setup.Values()[name]) })
	}
	groups := logbook.Vary(runs, name)
	if len(groups) == 0 { // a note in words
		groups = logbook.Vary(runs, setting)
	}
	if len(groups) == 0 {
		return logbook.Group{}, usagef("'stanchion log list' shows the setups", "no two of %d runs differ in %s alone", len(runs), setting)
	}
	return groups[0], nil
}

// listOf is a group of runs as a list of runs, with the fork file of each.
func listOf(ctx context.Context, b *logbook.Logbook, g logbook.Group) (setup.RunList, map[string]string, error) {
	list, texts := setup.RunList{}, map[string]string{}
	for i := range g.Runs {
		r, err := b.Run(ctx, g.Runs[i].Hash)
		if err != nil {
			return list, nil, err
		}
		run := setup.ListedRun{File: b.RecordingPath(&r), Name: r.Name, Order: i + 1, Clicks: map[string]float64{}, Notes: map[string]string{}}
		for k, v := range r.Setup.Values() {
			if name, isClicks := strings.CutPrefix(k, "clicks."); isClicks {
				run.Clicks[name] = r.Setup.Clicks[name]
			} else {
				run.Notes[k] = v
			}
		}
		texts[run.File] = r.ForkFile
		list.Runs = append(list.Runs, run)
	}
	return list, texts, nil
}
