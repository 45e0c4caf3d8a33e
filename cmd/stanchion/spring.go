package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"stanchion/analyze/spring"
	"stanchion/ingest"
	"stanchion/ingest/setup"
	"stanchion/report"
)

// springCmd is the spring command with its options.
type springCmd struct {
	study
	changed func(string) bool

	pressurePSI, pressureBar float64
	negativePSI, negativeBar float64
	sagMM                    float64
	sagLog                   string
	measured                 []string
	loadN                    float64
	riderKg, bikeKg          float64
	frontPct                 float64
	targetPct, targetMM      float64
	spacers                  int
	set, ride                spring.Place
	runLog                   string
}

// What a load is made of where only a weight is known: common practice, no source.
const (
	usualBikeKg   = 16
	usualFrontPct = 40
)

func newSpring(c *console) *cobra.Command {
	k := &springCmd{study: study{console: c}}
	cmd := &cobra.Command{
		Use:   "spring",
		Short: "What to pump: sag, spacers, bottom-outs, cold and height",
		Long: `Spring works the fork's spring out: force, rate and energy over the travel, and what
to pump for a wanted sag. One sag measured at a known pressure is enough; then it
tells the pressure for another sag, what volume spacers change, what the gauge
reads and how the fork sags on a cold day up high, and, from a run that bottomed
out, which change would hold such hits (an estimate).

The chambers' dimensions and the maker's maximum pressure come from [spring] in
the fork file. Where the dimensions are not known, those of an ordinary fork of
that travel are taken, and the page says so; two sags at two pressures
(--measured) fit the negative chamber. A coil works too: kind = "coil".

Pressures above the maker's maximum are refused. Stay within the pressures printed
on the fork and in its manual: they come before any figure here.`,
		Example: `  stanchion spring --fork fork.toml --pressure-psi 82 --sag-mm 38 --target-sag-pct 25
  stanchion spring --travel 160 --pressure-bar 5.2 --sag-mm 35 --spacers 1
  stanchion spring --travel 160 --rider-kg 78 --target-sag-pct 22
  stanchion spring --fork fork.toml --pressure-psi 82 --sag sag.csv --run run.csv
  stanchion spring --fork fork.toml --pressure-psi 82 --sag-mm 38 \
      --set-temperature 20 --set-altitude 300 --temperature -2 --altitude 2000
  stanchion spring --travel 160 --measured 70:44 --measured 90:33 --target-sag-pct 25

In the fork file:
  [spring]
  bore_mm = 32.0
  positive_volume_cm3 = 205   # at full extension, without spacers
  shaft_mm = 10.0
  negative_volume_cm3 = 45
  spacer_cm3 = 7.0
  max_pressure_psi = 120      # printed on the fork`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			k.changed = cmd.Flags().Changed
			return k.run(cmd.Context())
		},
	}
	k.flags(cmd)
	return cmd
}

func (k *springCmd) flags(cmd *cobra.Command) {
	fl := cmd.Flags()
	fl.SortFlags = false
	fl.Float64Var(&k.pressurePSI, "pressure-psi", 0, "pressure as it is set now, in `psi` at full extension")
	fl.Float64Var(&k.pressureBar, "pressure-bar", 0, "the same in `bar`")
	fl.Float64Var(&k.sagMM, "sag-mm", 0, "static sag in `mm` measured with it, along the stanchion")
	fl.StringVar(&k.sagLog, "sag", "", "take that sag, and the friction, from this stationary `log`")
	fl.Float64Var(&k.targetPct, "target-sag-pct", 0, "wanted sag in `percent` of travel")
	fl.Float64Var(&k.targetMM, "target-sag-mm", 0, "the same in `mm`")
	fl.IntVar(&k.spacers, "spacers", 0, "volume `spacers` fitted; overrules the fork file")
	fl.StringVar(&k.runLog, "run", "", "`log` of a run with the pressure as set: ways to fewer bottom-outs")
	fl.Float64Var(&k.set.TemperatureC, "set-temperature", 20, "temperature in `°C` of the fork when it was pumped")
	fl.Float64Var(&k.set.AltitudeM, "set-altitude", 0, "altitude in `m` where it was pumped")
	fl.Float64Var(&k.ride.TemperatureC, "temperature", 0, "temperature in `°C` where it will be ridden (default: as set)")
	fl.Float64Var(&k.ride.AltitudeM, "altitude", 0, "altitude in `m` where it will be ridden (default: as set)")
	fl.StringArrayVar(&k.measured, "measured", nil, "a measured pair `PSI:MM` of pressure and sag; give two or more where the chambers are not known")
	fl.Float64Var(&k.riderKg, "rider-kg", 0, "without a measured sag: rider with all gear in `kg`")
	fl.Float64Var(&k.bikeKg, "bike-kg", usualBikeKg, "bike in `kg`, for --rider-kg")
	fl.Float64Var(&k.frontPct, "front-share-pct", usualFrontPct, "share of both on the fork in `percent`, for --rider-kg (common practice, no source)")
	fl.Float64Var(&k.loadN, "load-n", 0, "without a measured sag: load along the stanchion in `N`")
	fl.Float64Var(&k.negativePSI, "negative-psi", 0, "negative chamber in `psi`, where it has a pump of its own")
	fl.Float64Var(&k.negativeBar, "negative-bar", 0, "the same in `bar`")
	fl.StringVarP(&k.dest, "out", "o", "", "`folder` for the results, or one file NAME.html (default: spring.html in this folder)")
	fl.BoolVar(&k.json, "json", false, "print the JSON instead of a summary, and write files only where -o says so")
	fl.BoolVar(&k.open, "open", false, "show the page in the browser")
	fl.BoolVar(&k.force, "force", false, "replace files that are there already")
	fl.BoolVarP(&k.quiet, "quiet", "q", false, "no progress and no summary")
	k.input.add(cmd)
}

func (k *springCmd) run(ctx context.Context) error {
	target, err := k.target("spring")
	if err != nil {
		return err
	}
	file, _, err := k.input.setupFor(k.runLog, k.changed)
	if err != nil {
		return err
	}
	q, err := k.question(ctx, &file)
	if err != nil {
		return err
	}
	answer, err := spring.Assess(q)
	if err != nil {
		return springHint(err)
	}
	head := report.SpringHead{Fork: file.Setup.Fork}
	figures := func(w io.Writer) error { return report.SpringJSON(w, answer) }
	page := func(w io.Writer) error {
		return report.SpringHTML(w, answer, head, report.HTMLOptions{Version: version()})
	}
	if err := k.put(target, page, figures); err != nil {
		return err
	}
	summary := func(w io.Writer) error {
		return report.SpringText(w, answer, head, report.TextOptions{Color: colour(k.out)})
	}
	return k.print(target, summary, figures)
}

// springHint says what to do about a spring that cannot be worked out.
func springHint(err error) error {
	var limit *spring.LimitError
	text := err.Error()
	switch {
	case errors.As(err, &limit):
		return ingest.Hinted{Err: fmt.Errorf("refused: %w", err), Hint: "stay below it: the limit printed on the fork and in its manual comes first; ask a service centre for a firmer spring"}
	case strings.Contains(text, "pressure is not known"), strings.Contains(text, "at which sag was measured"), strings.Contains(text, "run was ridden with"):
		return usagef("give --pressure-psi or --pressure-bar, as it was", "%w", err)
	case strings.Contains(text, "neither a measured sag"):
		return usagef("give --sag-mm with the pressure it was measured at, or --rider-kg", "%w", err)
	case strings.Contains(text, "travel is not known"):
		return usagef("give --fork or --travel", "%w", err)
	}
	return err
}

// question puts the options and the fork file together.
func (k *springCmd) question(ctx context.Context, file *setup.File) (spring.Question, error) {
	q := spring.Question{TravelM: spring.MM(file.Setup.Fork.TravelMM), HeadDeg: file.Setup.Fork.HeadAngleDeg, Set: k.set}
	if !(q.TravelM > 0) {
		return q, usagef("give --fork or --travel", "the travel of the fork is not known")
	}
	if err := k.given(&q); err != nil {
		return q, err
	}
	if err := k.describe(&q, file.Setup.Spring); err != nil {
		return q, err
	}
	if k.changed("temperature") || k.changed("altitude") {
		ride := k.set
		if k.changed("temperature") {
			ride.TemperatureC = k.ride.TemperatureC
		}
		if k.changed("altitude") {
			ride.AltitudeM = k.ride.AltitudeM
		}
		q.Ride = &ride
	}
	if err := k.fromLogs(ctx, &q); err != nil {
		return q, err
	}
	return q, k.load(&q)
}
