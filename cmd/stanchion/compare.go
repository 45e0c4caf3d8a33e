package main

import (
	"context"
	"fmt"
	"io"
	"maps"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"stanchion/analyze/compare"
	"stanchion/ingest/setup"
	"stanchion/report"
)

// compareCmd is the compare command with its options.
type compareCmd struct {
	study
	a, b         []string
	nameA, nameB string
	vary         string
	list         string         // file of runs
	given        *setup.RunList // in its place, from the logbook
}

func newCompare(c *console) *cobra.Command {
	k := &compareCmd{study: study{console: c}}
	cmd := &cobra.Command{
		Use:   "compare --a LOGS --b LOGS [RUNS.toml]",
		Short: "Does setting B differ from setting A, or is it chance?",
		Long: `Compare takes the runs of two settings, A and B, ridden on the same trail. It lines
them up along the trail and says in which figures the fork clearly behaved
differently, by how much (with a 95 % interval), whether a rider would feel it, and
what you cannot conclude. It writes compare.html and compare.json and prints a
summary.

Name the logs of each setting with --a and --b. A list of runs (RUNS.toml) can add
what was set and noted for each run, so that whatever else differed is pointed out.
With --vary the list alone is enough: the two values of that setting are A and B.

` + testDay + `

One run of each setting works too, but its verdict holds for those two runs only:
` + strings.Replace(compare.SameSettingPairs(), "was called ", "was called\n", 1) + `.

A run that does not look like the same trail as the rest is left out and named;
--keep-all judges it too.`,
		Example: `  stanchion compare --a a1.csv,a2.csv,a3.csv --b b1.csv,b2.csv,b3.csv --fork fork.toml
  stanchion compare --a 'morning/a*.csv' --b 'morning/b*.csv' --name-b "rebound 6" -o results
  stanchion compare runs.toml --vary rebound --open
  stanchion compare --a a1.csv --b b1.csv --travel 160 --json | jq .differences

A list of runs, RUNS.toml:
  [[run]]
  file = "r1.csv"
  order = 1                    # the first run of the day
  clicks = { rebound = 9 }     # counted from fully closed
  temperature_c = 14
  pressure_psi = 82`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usagef("logs belong behind --a and --b", "only one list of runs can be given, got %d: %s", len(args), strings.Join(args, ", "))
			}
			if len(args) == 1 && !strings.EqualFold(filepath.Ext(args[0]), ".toml") {
				return usagef("for example: stanchion compare --a a1.csv,a2.csv --b b1.csv,b2.csv", "%s belongs to a set: give it behind --a or --b", args[0])
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 1 {
				k.list = args[0]
			}
			return k.run(cmd.Context(), cmd.Flags().Changed)
		},
	}
	fl := cmd.Flags()
	fl.SortFlags = false
	fl.StringSliceVar(&k.a, "a", nil, "`logs` of setting A: names with commas between them, or a pattern in quotes")
	fl.StringSliceVar(&k.b, "b", nil, "`logs` of setting B, in the same way")
	k.names(cmd)
	fl.StringVar(&k.vary, "vary", "", "the `setting` that you changed: an adjuster or a note in the list of runs")
	k.addJudging(cmd)
	k.add(cmd, "compare")
	return cmd
}

// names adds what the settings are called.
func (k *compareCmd) names(cmd *cobra.Command) {
	cmd.Flags().StringVar(&k.nameA, "name-a", "", "what to call setting A: a `name` for people")
	cmd.Flags().StringVar(&k.nameB, "name-b", "", "what to call setting B: a `name` for people")
}

func (k *compareCmd) run(ctx context.Context, changed func(string) bool) error {
	a, b, err := k.sets()
	if err != nil {
		return err
	}
	target, err := k.target("compare")
	if err != nil {
		return err
	}
	runs, err := k.runs(ctx, append(append([]loggedRun(nil), a...), b...), changed)
	if err != nil {
		return err
	}
	opt := compare.DefaultOptions()
	if k.vary != "" {
		opt.Varied = []string{k.vary}
	}
	opt.KeepDoubtful = k.keepAll
	sets := report.Sets{NameA: k.nameA, NameB: k.nameB, A: runs[:len(a)], B: runs[len(a):]}
	result, err := compare.Compare(sets.A, sets.B, opt)
	if err != nil {
		return comparisonHint(err)
	}
	figures := func(w io.Writer) error { return report.CompareJSON(w, result) }
	page := func(w io.Writer) error {
		return report.CompareHTML(w, result, sets, report.HTMLOptions{Version: version()})
	}
	if err := k.put(target, page, figures); err != nil {
		return err
	}
	summary := func(w io.Writer) error {
		if err := report.CompareText(w, result, sets, report.TextOptions{Color: colour(k.out), All: k.all}); err != nil {
			return err
		}
		_, err := io.WriteString(w, doubtHint(&result.Alignment))
		return err
	}
	return k.print(target, summary, figures)
}

// sets are the runs of both settings, from the options, from the list of runs, or from both.
func (k *compareCmd) sets() (a, b []loggedRun, err error) {
	const example = "for example: stanchion compare --a a1.csv,a2.csv,a3.csv --b b1.csv,b2.csv,b3.csv"
	var list setup.RunList
	switch {
	case k.given != nil:
		return k.split(*k.given)
	case k.list != "":
		if list, err = setup.LoadRuns(k.list); err != nil {
			return nil, nil, usageError{err}
		}
	}
	if len(k.a) == 0 && len(k.b) == 0 {
		if k.list == "" {
			return nil, nil, usagef(example, "no runs given")
		}
		return k.split(list)
	}
	for _, set := range []struct{ flag, letter string }{{"--a", "A"}, {"--b", "B"}} {
		if (set.letter == "A" && len(k.a) == 0) || (set.letter == "B" && len(k.b) == 0) {
			return nil, nil, usagef(example, "no run of setting %s given: %s is missing", set.letter, set.flag)
		}
	}
	if a, err = matched(k.a, list); err != nil {
		return nil, nil, err
	}
	if b, err = matched(k.b, list); err != nil {
		return nil, nil, err
	}
	return a, b, overlapping(a, b)
}

// overlapping refuses a log that is in both sets.
func overlapping(a, b []loggedRun) error {
	for _, x := range a {
		for _, y := range b {
			if filepath.Clean(x.log) == filepath.Clean(y.log) {
				return usagef("each run belongs to the setting that it was ridden with", "%s is in both sets", x.log)
			}
		}
	}
	return nil
}

// matched expands patterns and finds what the list says about each log.
func matched(patterns []string, list setup.RunList) ([]loggedRun, error) {
	var out []loggedRun
	for _, p := range patterns {
		paths := []string{p}
		if strings.ContainsAny(p, "*?[") {
			found, err := filepath.Glob(p)
			if err != nil || len(found) == 0 {
				return nil, usagef("quote the pattern, and look at the folder", "no log matches %s", p)
			}
			paths = found
		}
		for _, path := range paths {
			r := loggedRun{log: path}
			for _, n := range list.Runs {
				if samePath(n.File, path) {
					r.note = n
				}
			}
			if len(list.Runs) > 0 && r.note.File == "" {
				return nil, usagef("add a [[run]] with this file", "%s is not in the list of runs", path)
			}
			out = append(out, r)
		}
	}
	return out, nil
}

func samePath(a, b string) bool {
	x, errX := filepath.Abs(a)
	y, errY := filepath.Abs(b)
	return errX == nil && errY == nil && x == y
}

// split makes the two sets from the two values of the setting that was varied.
func (k *compareCmd) split(list setup.RunList) (a, b []loggedRun, err error) {
	if k.vary == "" {
		return nil, nil, usagef("say which setting was changed with --vary, or give the sets with --a and --b", "%s does not say which runs belong to A", k.list)
	}
	groups := map[string][]loggedRun{}
	for i := range list.Runs {
		r := &list.Runs[i]
		v, ok := settingsOf(r)[k.vary]
		if !ok {
			return nil, nil, usagef("note it for every run", "%s:%d: %s is not noted for this run", k.list, r.Line, k.vary)
		}
		groups[v] = append(groups[v], loggedRun{r.File, *r})
	}
	values := slices.Sorted(maps.Keys(groups))
	if len(values) != 2 {
		return nil, nil, usagef("for three or more positions there is stanchion sweep", "%s has %d values in %s (%s): two are needed", k.vary, len(values), k.list, strings.Join(values, ", "))
	}
	first := values[0]
	if list.Runs[0].Notes[k.vary] == values[1] || settingsOf(&list.Runs[0])[k.vary] == values[1] {
		first = values[1] // A is the setting of the first run listed
		values[1] = values[0]
	}
	if k.nameA == "" {
		k.nameA = fmt.Sprintf("%s %s", k.vary, first)
	}
	if k.nameB == "" {
		k.nameB = fmt.Sprintf("%s %s", k.vary, values[1])
	}
	return groups[first], groups[values[1]], nil
}
