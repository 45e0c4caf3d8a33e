package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime/debug"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"stanchion/ingest"
)

// Exit codes of the program.
const (
	exitOK     = 0
	exitFailed = 1 // the work could not be done, or only in part
	exitUsage  = 2 // the command line or the fork file is wrong; nothing was done
)

// console is where a command talks to people.
type console struct {
	out, err io.Writer
}

// run executes one command line and returns the exit code.
func run(ctx context.Context, args []string, out, errOut io.Writer) int {
	c := &console{out: out, err: errOut}
	root := newRoot(c)
	root.SetArgs(args)
	root.SetOut(out)
	root.SetErr(errOut)
	err := root.ExecuteContext(ctx)
	if err == nil {
		return exitOK
	}
	if ctx.Err() != nil && errors.Is(err, context.Canceled) {
		fmt.Fprintln(errOut, "stanchion: stopped; nothing half-written was left behind")
		return exitFailed
	}
	var shown shownError
	if !errors.As(err, &shown) {
		c.complain(err)
	}
	var usage usageError
	if errors.As(err, &usage) {
		return exitUsage
	}
	return exitFailed
}

// usageError marks errors of the command line and of the files that steer it.
type usageError struct{ error }

func (e usageError) Unwrap() error { return e.error }

// usagef makes a usageError with a hint.
func usagef(hint, format string, args ...any) error {
	return usageError{ingest.Hinted{Err: fmt.Errorf(format, args...), Hint: hint}}
}

// shownError marks a failure that people have been told about already.
type shownError struct{ error }

// complain writes an error and, on a line of its own, what to do about it.
func (c *console) complain(err error) {
	fmt.Fprintf(c.err, "stanchion: %v\n", err)
	if hint := hintOf(err); hint != "" {
		fmt.Fprintf(c.err, "hint: %s\n", hint)
	}
}

// isTerminal says whether w is a terminal that a person looks at.
func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// colour says whether w may be coloured. See no-color.org for the variable.
func colour(w io.Writer) bool {
	return isTerminal(w) && os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"
}

func newRoot(c *console) *cobra.Command {
	root := &cobra.Command{
		Use:   "stanchion",
		Short: "What the fork did, and where: from a travel sensor's log to a dashboard",
		Long: `Stanchion reads the log of a travel sensor on a mountain-bike fork and tells what
the fork did: sag, travel used, bottom-outs, strokes, velocities, reversals,
frequencies, packing, damping, and where on the run it was harsh.

It writes one HTML page that works without a network, the same figures as JSON,
and a summary for the terminal.`,
		Example: `  stanchion demo                          try it on the recordings that come with it
  stanchion inspect run.csv               what is in this log, and is it any good?
  stanchion analyze run.csv --fork fork.toml`,
		Version:       version(),
		SilenceErrors: true,
		SilenceUsage:  true,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				hint := "see 'stanchion --help' for the commands"
				if like := cmd.SuggestionsFor(args[0]); len(like) > 0 {
					hint = "did you mean '" + strings.Join(like, "' or '") + "'? " + hint
				}
				return usagef(hint, "unknown command %q", args[0])
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error { return cmd.Help() },
	}
	root.SuggestionsMinimumDistance = 2
	root.SetVersionTemplate("stanchion {{.Version}}\n")
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		hint := "see '" + cmd.CommandPath() + " --help' for the options"
		var number *strconv.NumError
		if errors.As(err, &number) { // in the words of a person rather than of the parser
			return usagef(hint, "%s: not a number that fits", strings.TrimSuffix(err.Error(), ": "+number.Error()))
		}
		return usagef(hint, "%w", err)
	})
	root.AddCommand(newAnalyze(c), newInspect(c), newDemo(c),
		newCompare(c), newSweep(c), newAdvise(c), newTiming(c), newSpring(c), newDamper(c), newLog(c),
		newRecord(c), newPorts(c), newExport(c), newSimulateDevice(c), newCalibrate(c))
	return root
}

// version is the module version that the binary was built from.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok || info.Main.Version == "" {
		return "(development build)"
	}
	return info.Main.Version
}
