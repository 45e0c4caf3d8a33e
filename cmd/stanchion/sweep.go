package main

import (
	"bytes"
	"cmp"
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

// sweepCmd is the sweep command with its options.
type sweepCmd struct {
	study
	adjusters []string
}

func newSweep(c *console) *cobra.Command {
	k := &sweepCmd{study: study{console: c}}
	cmd := &cobra.Command{
		Use:   "sweep RUNS.toml [--adjuster NAME]",
		Short: "What does an adjuster do, click by click?",
		Long: `Sweep takes runs at three or more positions of an adjuster, and says for every
figure how much it changes with each click (with a 95 % interval), where clicks do
nothing, which range is usable, and what the adjuster moves that it should leave
alone. It writes sweep.html and sweep.json and prints a summary.

RUNS.toml lists the runs with the position of each adjuster. To judge one adjuster,
sweep uses the runs in which all the others stood still. Without --adjuster it
judges every adjuster that has runs at three or more positions.
A run that does not look like the same trail as the rest is left out and named;
--keep-all judges it too.

` + testDay + `
  7. For a sweep, ride six runs or more, the positions in a mixed order, and one or
     two of the positions twice: settings alternate by themselves this way.`,
		Example: `  stanchion sweep runs.toml --adjuster hsc --fork fork.toml
  stanchion sweep runs.toml -o results --open

A list of runs, RUNS.toml:
  [adjuster.blue]                    # lsc, hsc, rebound, lsr, hsr, pressure and
  kind = "high-speed compression"    # spacers are known without this
  [[run]]
  file = "r1.csv"
  order = 1                          # the first run of the day
  clicks = { blue = 3, rebound = 8 } # counted from fully closed
  temperature_c = 14`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) != 1 {
				return usagef("for example: stanchion sweep runs.toml --adjuster rebound", "one list of runs is needed, got %d", len(args))
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			list, err := setup.LoadRuns(args[0])
			if err != nil {
				return usageError{err}
			}
			return k.run(cmd.Context(), args[0], list, cmd.Flags().Changed)
		},
	}
	fl := cmd.Flags()
	fl.SortFlags = false
	fl.StringSliceVar(&k.adjusters, "adjuster", nil, "the adjuster to judge: its `name` in the list of runs; may be repeated")
	k.addJudging(cmd)
	k.add(cmd, "sweep")
	return cmd
}

// A plan is the runs that one sweep uses, by their places in the list.
type plan struct {
	adjuster compare.Adjuster
	runs     []int
	left     int // runs that have a position of the adjuster but cannot be used
}

// run sweeps a list of runs; path names it in errors.
func (k *sweepCmd) run(ctx context.Context, path string, list setup.RunList, changed func(string) bool) error {
	plans, err := k.plans(path, list)
	if err != nil {
		return err
	}
	target, err := k.target("sweep")
	if err != nil {
		return err
	}
	var logs []loggedRun
	place := map[int]int{} // of a run of the list among logs
	for _, p := range plans {
		for _, i := range p.runs {
			if _, have := place[i]; !have {
				place[i] = len(logs)
				logs = append(logs, loggedRun{list.Runs[i].File, list.Runs[i]})
			}
		}
	}
	runs, err := k.runs(ctx, logs, changed)
	if err != nil {
		return err
	}
	var sweeps []*compare.SweepResult
	for _, p := range plans {
		var placed []compare.SweepRun
		for _, i := range p.runs {
			placed = append(placed, compare.SweepRun{Run: runs[place[i]], Clicks: list.Runs[i].Clicks[p.adjuster.Name]})
		}
		opt := compare.DefaultSweepOptions()
		opt.Varied, opt.KeepDoubtful = []string{p.adjuster.Name}, k.keepAll
		s, err := compare.Sweep(placed, p.adjuster, opt)
		if err != nil {
			return comparisonHint(fmt.Errorf("%s: %w", p.adjuster.Name, err))
		}
		sweeps = append(sweeps, s)
	}
	return k.results(plans, sweeps, target)
}

// results writes and prints what came out.
func (k *sweepCmd) results(plans []plan, sweeps []*compare.SweepResult, target outputs) error {
	figures := func(w io.Writer) error { return sweepsJSON(w, sweeps) }
	page := func(w io.Writer) error { return report.SweepHTML(w, sweeps, report.HTMLOptions{Version: version()}) }
	if err := k.put(target, page, figures); err != nil {
		return err
	}
	opt := report.TextOptions{Color: colour(k.out), All: k.all, Lines: sweepLines(len(sweeps))}
	summary := func(w io.Writer) error {
		for i, s := range sweeps {
			if i > 0 {
				fmt.Fprintln(w)
			}
			if err := report.SweepText(w, s, opt); err != nil {
				return err
			}
			if n := plans[i].left; n > 0 {
				fmt.Fprintf(w, "(%d runs left out: another adjuster stood elsewhere)\n", n)
			}
			if _, err := io.WriteString(w, doubtHint(&s.Alignment)); err != nil {
				return err
			}
		}
		return nil
	}
	return k.print(target, summary, figures)
}

// sweepLines is the room of each sweep in the summary, so that two or three fit a terminal of 40 lines with what stands around them.
func sweepLines(sweeps int) int {
	if sweeps == 1 {
		return 0 // the usual
	}
	return max(8, (36-2*sweeps)/sweeps)
}

// sweepsJSON writes the sweeps as one JSON list.
func sweepsJSON(w io.Writer, sweeps []*compare.SweepResult) error {
	var b bytes.Buffer
	b.WriteString("[\n")
	for i, s := range sweeps {
		if i > 0 {
			b.WriteString(",\n")
		}
		var one bytes.Buffer
		if err := report.SweepJSON(&one, s); err != nil {
			return err
		}
		b.Write(bytes.TrimRight(one.Bytes(), "\n"))
	}
	b.WriteString("\n]\n")
	_, err := w.Write(b.Bytes())
	return err
}

// leastPositions is how many positions a sweep needs.
const leastPositions = 3

// plans chooses the adjusters to sweep and the runs for each.
func (k *sweepCmd) plans(path string, list setup.RunList) ([]plan, error) {
	positions := map[string]map[float64]bool{}
	for i := range list.Runs {
		for name, v := range list.Runs[i].Clicks {
			if positions[name] == nil {
				positions[name] = map[float64]bool{}
			}
			positions[name][v] = true
		}
	}
	known := slices.Sorted(maps.Keys(positions))
	if len(known) == 0 {
		return nil, usagef("add for example clicks = { rebound = 9 } to each [[run]]", "%s gives no position of any adjuster", path)
	}
	names := k.adjusters
	if len(names) == 0 {
		for _, name := range known {
			if len(positions[name]) >= leastPositions {
				names = append(names, name)
			}
		}
		if len(names) == 0 {
			return nil, usagef("for two positions there is stanchion compare --vary", "no adjuster in %s has runs at %d or more positions", path, leastPositions)
		}
	}
	var out []plan
	for _, name := range names {
		if positions[name] == nil {
			return nil, usagef("the list has: "+strings.Join(known, ", "), "adjuster %q has no position in %s", name, filepath.Base(path))
		}
		p := planFor(name, list)
		a, err := adjusterOf(name, list.Adjusters[name])
		if err != nil {
			return nil, err
		}
		p.adjuster = a
		out = append(out, p)
	}
	return out, nil
}

// planFor takes the largest group of runs in which all other adjusters stood the same.
func planFor(name string, list setup.RunList) plan {
	groups := map[string][]int{}
	total := 0
	for i := range list.Runs {
		if _, ok := list.Runs[i].Clicks[name]; !ok {
			continue
		}
		total++
		var rest []string
		for _, other := range slices.Sorted(maps.Keys(list.Runs[i].Clicks)) {
			if other != name {
				rest = append(rest, fmt.Sprintf("%s=%g", other, list.Runs[i].Clicks[other]))
			}
		}
		key := strings.Join(rest, " ")
		groups[key] = append(groups[key], i)
	}
	keys := slices.SortedFunc(maps.Keys(groups), func(a, b string) int {
		return cmp.Or(cmp.Compare(spreadOf(groups[b], name, list), spreadOf(groups[a], name, list)), cmp.Compare(len(groups[b]), len(groups[a])), cmp.Compare(a, b))
	})
	return plan{runs: groups[keys[0]], left: total - len(groups[keys[0]])}
}

// spreadOf is the number of positions among runs.
func spreadOf(runs []int, name string, list setup.RunList) int {
	seen := map[float64]bool{}
	for _, i := range runs {
		seen[list.Runs[i].Clicks[name]] = true
	}
	return len(seen)
}

// adjusterOf is an adjuster by its name in the list and what the list says about it.
func adjusterOf(name string, given setup.Adjuster) (compare.Adjuster, error) {
	a := compare.Adjuster{Name: name, Kind: compare.Kind(given.Kind), Unit: given.Unit}
	if a.Kind == "" {
		a.Kind = map[string]compare.Kind{
			"lsc": compare.LowSpeedCompression, "hsc": compare.HighSpeedCompression, "rebound": compare.Rebound,
			"lsr": compare.LowSpeedRebound, "hsr": compare.HighSpeedRebound, "pressure": compare.SpringPressure, "spacers": compare.VolumeSpacers,
		}[name]
		return a, nil
	}
	kinds := slices.Sorted(maps.Keys(compare.DefaultMoves()))
	if !slices.Contains(kinds, a.Kind) {
		var words []string
		for _, k := range kinds {
			words = append(words, string(k))
		}
		return a, usagef("use one of: "+strings.Join(words, ", ")+", or leave it out", "adjuster %s: unknown kind %q", name, given.Kind)
	}
	return a, nil
}
