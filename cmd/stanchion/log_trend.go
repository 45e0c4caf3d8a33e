package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"stanchion/analyze"
	"stanchion/ingest/logbook"
	"stanchion/ingest/wholefile"
	"stanchion/report"
)

// logTrend is the command of trends.
type logTrend struct {
	*console
	query       queryFlags
	page        string
	json, force bool
}

func newLogTrend(c *console, book *bookFlags) *cobra.Command {
	k := &logTrend{console: c}
	cmd := &cobra.Command{
		Use:   "trend [FIGURE]",
		Short: "One figure over the runs of a season",
		Long: `Trend shows one figure over filed runs, in the order ridden, with the setup wherever
it changed; with -o also as a page to look at or print. Without FIGURE it lists the figures there are.`,
		Example: `  stanchion log trend sag.dynamic_median_pct
  stanchion log trend travel.bottom_outs --trail quarry --since 2031-05-01
  stanchion log trend damping.zeta -o zeta.html
  stanchion log trend damping.zeta --json`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usagef("for example: stanchion log trend travel.max_pct", "one figure at a time, got %d", len(args))
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			query, err := k.query.query()
			if err != nil {
				return err
			}
			return book.withBook(cmd.Context(), func(b *logbook.Logbook) error {
				if len(args) == 0 {
					return printKeys(cmd.Context(), c.out, b)
				}
				return k.run(cmd.Context(), b, args[0], query)
			})
		},
	}
	k.query.add(cmd)
	fl := cmd.Flags()
	fl.StringVarP(&k.page, "out", "o", "", "write it as a page too: `NAME.html`")
	fl.BoolVar(&k.force, "force", false, "replace a page that is there already")
	fl.BoolVar(&k.json, "json", false, "as JSON")
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

func (k *logTrend) run(ctx context.Context, b *logbook.Logbook, key string, q logbook.Query) error {
	keys, err := b.Keys(ctx)
	if err != nil {
		return err
	}
	if !slices.Contains(keys, key) {
		hint := "'stanchion log trend' lists them"
		if like := alike(keys, key); like != "" {
			hint = "did you mean " + like + "? " + hint
		}
		return usagef(hint, "no figure %q in the logbook", key)
	}
	t, err := b.Trend(ctx, key, q)
	if err != nil {
		return err
	}
	s := seasonOf(key, t)
	if k.page != "" {
		if len(s.Points) == 0 {
			return usagef("leave out some of the conditions", "no run that was asked for has %s: there is nothing to draw", key)
		}
		err := wholefile.Write(k.page, k.force, func(w io.Writer) error {
			return report.SeasonHTML(w, s, time.Local, report.HTMLOptions{Version: version()})
		})
		if err != nil {
			return replaceHint(err)
		}
	}
	if k.json {
		return printJSON(k.out, s)
	}
	return printSeason(k.out, s)
}

// seasonOf is a trend in the words of the report.
func seasonOf(key string, t logbook.Trend) *report.Season {
	s := &report.Season{Key: key, Label: key, Without: t.Absent, Low: t.Low, Median: t.Median, High: t.High, Definitions: t.Definitions, Points: []report.SeasonPoint{}}
	for _, known := range (&analyze.Result{}).Scalars() {
		if known.Key == key {
			s.Label, s.Unit = known.Label, known.Unit
		}
	}
	for _, p := range t.Points {
		s.Points = append(s.Points, report.SeasonPoint{Run: p.Run.ID, Name: p.Run.Name, Trail: p.Run.Trail, At: p.Run.RiddenAt, Setup: p.Run.Setup.String(), Value: p.Value, N: p.N})
	}
	return s
}

func printSeason(w io.Writer, s *report.Season) error {
	unit := ""
	if s.Unit != "" {
		unit = " (" + s.Unit + ")"
	}
	fmt.Fprintf(w, "%s%s, %d runs", s.Label, unit, len(s.Points))
	if s.Without > 0 {
		fmt.Fprintf(w, " (%d more without it)", s.Without)
	}
	fmt.Fprint(w, "\n\n")
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	setup := ""
	for i := range s.Points {
		p := &s.Points[i]
		note := ""
		if p.Setup != setup {
			note, setup = p.Setup, p.Setup
		}
		fmt.Fprintf(t, "%d\t%s\t%.4g\t%s\t%s\n", p.Run, p.At.Local().Format(dayAndTime), p.Value, place(p.Value, s.Low, s.High), note)
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
