package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"stanchion/ingest/logbook"
)

// listed is how many runs a list shows unless more are asked for.
const listed = 30

func newLogList(c *console, book *bookFlags) *cobra.Command {
	var q queryFlags
	var asJSON, all bool
	cmd := &cobra.Command{
		Use:   "list",
		Short: "The runs of the logbook, the newest last",
		Example: `  stanchion log list
  stanchion log list --trail quarry --since 2031-05-01
  stanchion log list --where rebound=6 --all`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if q.limit = listed; all {
				q.limit = 0
			}
			query, err := q.query()
			if err != nil {
				return err
			}
			return book.withBook(cmd.Context(), func(b *logbook.Logbook) error {
				runs, err := b.Runs(cmd.Context(), query)
				if err != nil {
					return err
				}
				if asJSON {
					return printJSON(c.out, runs)
				}
				return printRuns(c.out, runs, query.Limit)
			})
		},
	}
	q.add(cmd)
	cmd.Flags().BoolVar(&all, "all", false, fmt.Sprintf("all runs, not only the newest %d", listed))
	cmd.Flags().BoolVar(&asJSON, "json", false, "as JSON")
	return cmd
}

// noArgs refuses arguments in the words of the house.
func noArgs(cmd *cobra.Command, args []string) error {
	if len(args) > 0 {
		return usagef("see '"+cmd.CommandPath()+" --help'", "%s takes no %q", cmd.CommandPath(), args[0])
	}
	return nil
}

func printJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}

func printRuns(w io.Writer, runs []logbook.Run, limit int) error {
	if len(runs) == 0 {
		_, err := fmt.Fprintln(w, "no runs")
		return err
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "run\tridden\ttrail\tname\triding\tsetup")
	for i := range runs {
		r := &runs[i]
		fmt.Fprintf(t, "%d\t%s\t%s\t%s\t%s\t%s\n", r.ID, r.RiddenAt.Local().Format("2006-01-02 15:04"), orDash(r.Trail), r.Name, minutes(r.RidingS), orDash(r.Setup.String()))
	}
	if err := t.Flush(); err != nil {
		return err
	}
	if len(runs) == limit {
		fmt.Fprintf(w, "(the newest %d; --all shows all)\n", limit)
	}
	return nil
}

func orDash(s string) string {
	if s == "" {
		return "–"
	}
	return s
}

// minutes is a duration as 3:07.
func minutes(s float64) string { return fmt.Sprintf("%d:%02d", int(s+0.5)/60, int(s+0.5)%60) }

func newLogShow(c *console, book *bookFlags) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "show RUN",
		Short: "All about one run: setup, notes, figures, where its recording is",
		Example: `  stanchion log show 12
  stanchion log show run7 --json`,
		Args: oneRun,
		RunE: func(cmd *cobra.Command, args []string) error {
			return book.withBook(cmd.Context(), func(b *logbook.Logbook) error {
				r, err := b.Run(cmd.Context(), args[0])
				if err != nil {
					return err
				}
				figures, err := b.FiguresOf(cmd.Context(), r.ID)
				if err != nil {
					return err
				}
				if asJSON {
					return printJSON(c.out, struct {
						logbook.Run
						Recording string           `json:"recording"`
						Track     string           `json:"track,omitempty"`
						Figures   []logbook.Figure `json:"figures"`
					}{r, b.RecordingPath(&r), b.TrackPath(&r), figures})
				}
				return printRun(c.out, b, &r, figures)
			})
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "as JSON")
	return cmd
}

// oneRun asks for the name or number of one run.
func oneRun(cmd *cobra.Command, args []string) error {
	if len(args) != 1 {
		return usagef("for example: "+cmd.CommandPath()+" 12", "one run is needed: its number, name or hash")
	}
	return nil
}

func printRun(w io.Writer, b *logbook.Logbook, r *logbook.Run, figures []logbook.Figure) error {
	var out strings.Builder
	t := tabwriter.NewWriter(&out, 0, 0, 2, ' ', 0)
	fmt.Fprintf(t, "Run %d\t%s\n", r.ID, r.Name)
	fmt.Fprintf(t, "Ridden\t%s, session %s\n", r.RiddenAt.Local().Format("2006-01-02 15:04"), orDash(r.Session))
	fmt.Fprintf(t, "Trail\t%s\n", orDash(r.Trail))
	fmt.Fprintf(t, "Bike, fork\t%s, %s (%g mm)\n", orDash(r.Bike), r.Fork.Name, r.Fork.TravelMM)
	fmt.Fprintf(t, "Riding\t%s of %s min recorded\n", minutes(r.RidingS), minutes(r.DurationS))
	fmt.Fprintf(t, "Setup\t%s\n", orDash(r.Setup.String()))
	fmt.Fprintf(t, "Recording\t%s (%s)\n", b.RecordingPath(r), r.File)
	if track := b.TrackPath(r); track != "" {
		fmt.Fprintf(t, "Track\t%s (%s)\n", track, r.TrackFile)
	}
	for _, n := range r.Notes {
		fmt.Fprintf(t, "Note\t%s (%s)\n", n.Text, n.At.Local().Format("2006-01-02 15:04"))
	}
	if err := t.Flush(); err != nil {
		return err
	}
	out.WriteString("\n")
	t = tabwriter.NewWriter(&out, 0, 0, 2, ' ', 0)
	for _, f := range figures {
		if f.Value != nil {
			fmt.Fprintf(t, "%s\t%.4g\tn %d\n", f.Key, *f.Value, f.N)
		} else {
			fmt.Fprintf(t, "%s\t–\t%s\n", f.Key, f.Absent)
		}
	}
	if err := t.Flush(); err != nil {
		return err
	}
	_, err := io.WriteString(w, out.String())
	return err
}

func newLogNote(c *console, book *bookFlags) *cobra.Command {
	return &cobra.Command{
		Use:     "note RUN TEXT",
		Short:   "Write a note about a run",
		Example: `  stanchion log note 12 "fork felt dead after the rock garden"`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) < 2 {
				return usagef(`for example: stanchion log note 12 "harsh at the top"`, "a run and a text are needed")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			return book.withBook(cmd.Context(), func(b *logbook.Logbook) error {
				return noteRun(cmd.Context(), c, b, args[0], strings.Join(args[1:], " "))
			})
		},
	}
}

func noteRun(ctx context.Context, c *console, b *logbook.Logbook, ref, text string) error {
	r, err := b.Run(ctx, ref)
	if err != nil {
		return err
	}
	if r, err = b.AddNote(ctx, r.ID, text); err != nil {
		return err
	}
	_, err = fmt.Fprintf(c.out, "%s: %d notes\n", runLine(&r), len(r.Notes))
	return err
}
