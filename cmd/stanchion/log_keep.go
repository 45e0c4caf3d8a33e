package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"stanchion/analyze"
	"stanchion/ingest"
	"stanchion/ingest/logbook"
	"stanchion/ingest/wholefile"
)

// counted draws "what 12 of 40" on a terminal while something long goes on.
func (c *console) counted(what string) func(done, all int) {
	if !isTerminal(c.err) {
		return nil
	}
	return func(done, all int) {
		fmt.Fprintf(c.err, "\r\x1b[K%s %d of %d", what, done, all)
		if done == all {
			fmt.Fprint(c.err, "\r\x1b[K")
		}
	}
}

// oneFile asks for the name of one file.
func oneFile(example string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) != 1 {
			return usagef("for example: "+example, "one file is needed")
		}
		return nil
	}
}

func newLogBackup(c *console, book *bookFlags) *cobra.Command {
	var force bool
	cmd := &cobra.Command{
		Use:     "backup FILE.zip",
		Short:   "The whole logbook with its recordings as one file",
		Example: `  stanchion log backup season.zip`,
		Args:    oneFile("stanchion log backup season.zip"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return book.withBook(cmd.Context(), func(b *logbook.Logbook) error {
				err := wholefile.Write(args[0], force, func(w io.Writer) error {
					return b.Export(cmd.Context(), w, c.counted("packing run"))
				})
				if err != nil {
					return replaceHint(err)
				}
				info, err := os.Stat(args[0])
				if err != nil {
					return err
				}
				_, err = fmt.Fprintf(c.out, "%s: %.1f MB; 'stanchion log import' reads it\n", args[0], float64(info.Size())/1e6)
				return err
			})
		},
	}
	cmd.Flags().BoolVar(&force, "force", false, "replace a file that is there already")
	return cmd
}

func newLogImport(c *console, book *bookFlags) *cobra.Command {
	return &cobra.Command{
		Use:   "import FILE.zip",
		Short: "Add the runs of a backup to this logbook",
		Long: `Import adds the runs of a file made by backup. Runs that are in the book already
stay as they are. The file is checked from end to end before anything is changed.`,
		Example: `  stanchion log import season.zip
  stanchion log import season.zip --logbook other-book`,
		Args: oneFile("stanchion log import season.zip"),
		RunE: func(cmd *cobra.Command, args []string) error {
			f, err := os.Open(args[0])
			if err != nil {
				return fmt.Errorf("open the backup: %w", err)
			}
			defer f.Close()
			info, err := f.Stat()
			if err != nil {
				return fmt.Errorf("open the backup: %w", err)
			}
			return book.with(cmd.Context(), logbook.Create, func(b *logbook.Logbook) error {
				report, err := b.Import(cmd.Context(), f, info.Size(), c.counted("filing run"))
				if err != nil {
					return fmt.Errorf("%s: %w", args[0], err)
				}
				_, err = fmt.Fprintf(c.out, "%d runs added, %d were there already\n", report.Added, report.Had)
				return err
			})
		},
	}
}

func newLogCheck(c *console, book *bookFlags) *cobra.Command {
	return &cobra.Command{
		Use:   "check",
		Short: "Read everything and say whether it is whole",
		Args:  noArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			return book.withBook(cmd.Context(), func(b *logbook.Logbook) error {
				report, err := b.Check(cmd.Context(), c.counted("checking run"))
				if err != nil {
					return err
				}
				for _, m := range report.Mended {
					fmt.Fprintln(c.out, "mended:", m)
				}
				for _, l := range report.Loose {
					fmt.Fprintln(c.out, "belongs to no run (harmless):", l)
				}
				if len(report.Problems) == 0 {
					_, err := fmt.Fprintf(c.out, "%s is whole: %d runs, %d files\n", b.Dir(), report.Runs, report.Files)
					return err
				}
				for _, p := range report.Problems {
					fmt.Fprintln(c.out, "problem:", p)
				}
				return ingest.Hinted{Err: fmt.Errorf("%s has %d problems", b.Dir(), len(report.Problems)),
					Hint: "a damaged book: 'stanchion log rebuild'; a lost recording: 'stanchion log import' of a backup that has it into a new logbook"}
			})
		},
	}
}

func newLogRebuild(c *console, book *bookFlags) *cobra.Command {
	return &cobra.Command{
		Use:   "rebuild",
		Short: "Make a damaged book again from the documents beside it",
		Long: `Rebuild makes the book again from the document that is kept beside it for every run.
The damaged book is put aside under another name and not thrown away.`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			dir, err := book.folder()
			if err != nil {
				return err
			}
			report, err := logbook.Rebuild(cmd.Context(), dir, c.counted("filing run"))
			if err != nil {
				return err
			}
			for _, p := range report.Problems {
				fmt.Fprintln(c.err, "stanchion:", p)
			}
			_, err = fmt.Fprintf(c.out, "%d runs in the new book", report.Runs)
			if report.Old != "" {
				fmt.Fprintf(c.out, "; the old one is %s", report.Old)
			}
			fmt.Fprintln(c.out)
			if err == nil && len(report.Problems) > 0 {
				err = shownError{errors.New("not every run could be read")}
			}
			return err
		},
	}
}

func newLogRefresh(c *console, book *bookFlags) *cobra.Command {
	return &cobra.Command{
		Use:   "refresh",
		Short: "Compute figures again where definitions have changed since",
		Args:  noArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			return book.withBook(cmd.Context(), func(b *logbook.Logbook) error { return refresh(cmd.Context(), c, b) })
		},
	}
}

// refresh computes the figures of every run again whose definitions are not today's.
func refresh(ctx context.Context, c *console, b *logbook.Logbook) error {
	all, err := b.Runs(ctx, logbook.Query{})
	if err != nil {
		return err
	}
	p := &pipeline{input: inputFlags{texts: map[string]string{}}, changed: func(string) bool { return false }, options: analyze.DefaultOptions(), progress: newProgress(io.Discard, 0, 0, true)}
	counted, again, failed := c.counted("computing run"), 0, 0
	for i := range all {
		if counted != nil {
			counted(i+1, len(all))
		}
		changed, err := refreshRun(ctx, p, b, all[i].ID)
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case err != nil:
			failed++
			fmt.Fprintf(c.err, "stanchion: %s: %v\n", runLine(&all[i]), err)
		case changed:
			again++
		}
	}
	fmt.Fprintf(c.out, "%d of %d runs were computed again\n", again, len(all))
	if failed > 0 {
		return shownError{fmt.Errorf("%d runs could not be computed", failed)}
	}
	return nil
}

func refreshRun(ctx context.Context, p *pipeline, b *logbook.Logbook, id int64) (bool, error) {
	r, err := b.Run(ctx, fmt.Sprint(id))
	if err != nil {
		return false, err
	}
	path := b.RecordingPath(&r)
	p.input.texts[path] = r.ForkFile
	run, err := p.analyse(ctx, path)
	if err != nil {
		return false, err
	}
	f, err := figuresOf(run.result)
	if err != nil || (f.SchemaVersion == r.SchemaVersion && f.Definitions == r.Definitions) {
		return false, err
	}
	return true, b.PutFigures(ctx, id, f)
}
