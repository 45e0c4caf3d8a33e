package main

import (
	"context"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"stanchion/analyze"
	"stanchion/ingest/logbook"
)

func newLogTrend(c *console, book *bookFlags) *cobra.Command {
	var q queryFlags
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "trend [FIGURE]",
		Short: "One figure over the runs of a season",
		Long: `Trend shows one figure over filed runs, in the order ridden, with the setup wherever
it changed. Without FIGURE it lists the figures there are.`,
		Example: `  stanchion log trend sag.dynamic_median_pct
  stanchion log trend travel.bottom_outs --trail quarry --since 2031-05-01
  stanchion log trend damping.zeta --json`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usagef("for example: stanchion log trend travel.max_pct", "one figure at a time, got %d", len(args))
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			query, err := q.query()
			if err != nil {
				return err
			}
			return book.withBook(cmd.Context(), func(b *logbook.Logbook) error {
				if len(args) == 0 {
					return printKeys(cmd.Context(), c.out, b)
				}
				return trend(cmd.Context(), c.out, b, args[0], query, asJSON)
			})
		},
	}
	q.add(cmd)
	cmd.Flags().BoolVar(&asJSON, "json", false, "as JSON")
	return cmd
}

func printKeys(ctx context.Context, w io.Writer, b *logbook.Logbook) error {
	keys, err := b.Keys(ctx)
	if err != nil {
		return err
	}
	if len(keys) == 0 {
		_, err := fmt.Fprintln(w, "no figures yet: file a run with 'stanchion log add'")
		return err
	}
	_, err = fmt.Fprintln(w, strings.Join(keys, "\n"))
	return err
}

func trend(ctx context.Context, w io.Writer, b *logbook.Logbook, key string, q logbook.Query, asJSON bool) error {
	keys, err := b.Keys(ctx)
	if err != nil {
		return err
	}
	if !contains(keys, key) {
		hint := "'stanchion log trend' lists them"
		if like := alike(keys, key); like != "" {
			hint = "did you mean " + like + "? " + hint
		}
		return usagef(hint, "no figure %q in the logbook", key)
	}
	points, absent, err := b.Trend(ctx, key, q)
	if err != nil {
		return err
	}
	if asJSON {
		return printJSON(w, points)
	}
	return printTrend(w, key, points, absent)
}

func printTrend(w io.Writer, key string, points []logbook.Point, absent int) error {
	label, unit := labelOf(key)
	fmt.Fprintf(w, "%s%s, %d runs", label, unit, len(points))
	if absent > 0 {
		fmt.Fprintf(w, " (%d more without it)", absent)
	}
	fmt.Fprint(w, "\n\n")
	if len(points) == 0 {
		return nil
	}
	lo, hi := points[0].Value, points[0].Value
	for _, p := range points {
		lo, hi = min(lo, p.Value), max(hi, p.Value)
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	setup := ""
	for i := range points {
		p := &points[i]
		note := ""
		if s := p.Run.Setup.String(); s != setup {
			note, setup = s, s
		}
		fmt.Fprintf(t, "%d\t%s\t%.4g\t%s\t%s\n", p.Run.ID, p.Run.RiddenAt.Local().Format(dayAndTime), p.Value, place(p.Value, lo, hi), note)
	}
	return t.Flush()
}

const dayAndTime = "2006-01-02 15:04"

// place marks where v lies between lo and hi on a line of 20 characters.
func place(v, lo, hi float64) string {
	const width = 20
	at := 0
	if hi > lo {
		at = int((v - lo) / (hi - lo) * (width - 1))
	}
	return strings.Repeat("·", at) + "●" + strings.Repeat("·", width-1-at)
}

// labelOf is what people call a figure, and its unit in brackets.
func labelOf(key string) (label, unit string) {
	for _, s := range (&analyze.Result{}).Scalars() {
		if s.Key == key {
			if s.Unit != "" {
				unit = " (" + s.Unit + ")"
			}
			return s.Label, unit
		}
	}
	return key, ""
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

// alike is the first key that holds one of the words of what was asked for.
func alike(keys []string, asked string) string {
	for _, word := range strings.FieldsFunc(asked, func(r rune) bool { return r == '.' || r == '_' || r == ' ' }) {
		for _, k := range keys {
			if len(word) > 2 && strings.Contains(k, strings.ToLower(word)) {
				return k
			}
		}
	}
	return ""
}
