package main

import (
	"context"
	"fmt"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"stanchion/ingest/logbook"
)

// logService is the command about services.
type logService struct {
	*console
	book  *bookFlags
	fork  string
	every float64
	done  bool
	on    string
}

func newLogService(c *console, book *bookFlags) *cobra.Command {
	s := &logService{console: c, book: book}
	cmd := &cobra.Command{
		Use:   "service [WHAT]",
		Short: "Services by hours of riding: what is due, plan one, note one as done",
		Long: `Service counts the hours of filed riding since a service was done. How often a fork
needs which service stands in its maker's manual; work inside a fork belongs to a
service centre unless you are trained for it.`,
		Example: `  stanchion log service                                what is due?
  stanchion log service "lower leg service" --every 50
  stanchion log service "lower leg service" --done
  stanchion log service "lower leg service" --every 0   forget the plan`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usagef(`quote it: stanchion log service "lower leg service" --done`, "one service at a time, got %d", len(args))
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			return book.withBook(cmd.Context(), func(b *logbook.Logbook) error {
				return s.run(cmd.Context(), b, args, cmd.Flags().Changed)
			})
		},
	}
	fl := cmd.Flags()
	fl.SortFlags = false
	fl.Float64Var(&s.every, "every", 0, "it is needed every so many `hours` of riding; 0 forgets the plan")
	fl.BoolVar(&s.done, "done", false, "it was done")
	fl.StringVar(&s.on, "on", "", "the `day` it was done (default: today)")
	fl.StringVar(&s.fork, "fork-name", "", "`name` of the fork (not needed where the book has one)")
	return cmd
}

func (s *logService) run(ctx context.Context, b *logbook.Logbook, args []string, changed func(string) bool) error {
	fork, err := forkNamed(ctx, b, s.fork)
	if err != nil {
		return err
	}
	switch {
	case len(args) == 0 && (changed("every") || s.done):
		return usagef(`for example: stanchion log service "lower leg service" --done`, "which service?")
	case len(args) == 1 && !changed("every") && !s.done:
		return usagef("--every HOURS plans it, --done notes it as done", "what about %q?", args[0])
	}
	if changed("every") {
		if err := b.PlanService(ctx, fork.Name, args[0], s.every); err != nil {
			return err
		}
	}
	if s.done {
		day, err := dayOf("--on", s.on)
		if err != nil {
			return err
		}
		if err := b.Serviced(ctx, fork.Name, args[0], day); err != nil {
			return err
		}
	}
	return s.print(ctx, b, fork.Name)
}

func (s *logService) print(ctx context.Context, b *logbook.Logbook, fork string) error {
	due, err := b.Due(ctx, fork)
	if err != nil {
		return err
	}
	if len(due) == 0 {
		_, err := fmt.Fprintf(s.out, "%s: no service planned\n", fork)
		return err
	}
	t := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
	fmt.Fprintf(t, "%s\tridden since\tevery\tlast done\t\n", fork)
	for _, d := range due {
		last, mark := "never noted", ""
		if !d.LastAt.IsZero() {
			last = d.LastAt.Local().Format(time.DateOnly)
		}
		if d.Over() {
			mark = "DUE"
		}
		fmt.Fprintf(t, "%s\t%.1f h\t%g h\t%s\t%s\n", d.What, d.Hours, d.EveryHours, last, mark)
	}
	return t.Flush()
}
