package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"stanchion/ingest"
	"stanchion/ingest/calibrate"
	"stanchion/ingest/capture"
	"stanchion/ingest/csvlog"
	"stanchion/ingest/setup"
	"stanchion/ingest/wholefile"
)

// calibrateCmd is the calibrate command with its options.
type calibrateCmd struct {
	*console
	in       io.Reader
	port     string
	baud     int
	extended string
	at       []string
	hold     time.Duration
	fork     ingest.Fork
	adcBits  int
	method   string
	unit     string
	out      string
	force    bool
}

func newCalibrate(c *console) *cobra.Command {
	k := &calibrateCmd{console: c, in: os.Stdin}
	cmd := &cobra.Command{
		Use:   "calibrate",
		Short: "Make the fork file: which reading is which travel",
		Long: `Calibrate measures what the sensor reads at known travels and writes the fork file
that analyze and record use. Either step by step at the bike, with the sensor on a
serial port, or from logs in each of which the fork was held still.

It also says how good the sensor and its mount are: noise, the smallest velocity
that stands out, how far the points lie off a line, and whether the sensor runs
out of stroke. Points that cannot be right are refused.`,
		Example: `  stanchion calibrate --travel 160 --port /dev/ttyACM0 -o fork.toml
  stanchion calibrate --travel 160 --port COM4 --at 50 --at 100 --at 160
  stanchion calibrate --travel 160 --extended up.slog --at 160:down.slog`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, args []string) error { return k.run(cmd.Context()) },
	}
	fl := cmd.Flags()
	fl.SortFlags = false
	fl.Float64Var(&k.fork.TravelMM, "travel", 0, "usable travel of the fork in `mm`, along the stanchion (needed)")
	fl.StringVar(&k.fork.Name, "name", "", "`name` of the fork")
	fl.Float64Var(&k.fork.HeadAngleDeg, "head-angle", 0, "head angle in `degrees` from horizontal")
	fl.StringVarP(&k.port, "port", "p", "", "serial `port` of the sensor (default: the only one with something plugged in)")
	fl.IntVar(&k.baud, "baud", capture.DefaultBaud, "baud `rate`; USB boards take any")
	fl.StringVar(&k.extended, "extended", "", "`log` of the fork held fully extended")
	fl.StringArrayVar(&k.at, "at", nil, "a depth in `MM` to measure at, or MM:LOG; may be given again (default at the bike: full travel)")
	fl.DurationVar(&k.hold, "hold", 3*time.Second, "how `long` the fork is held at each point")
	fl.IntVar(&k.adcBits, "adc-bits", 0, "`bits` of the converter, where the sensor does not tell them")
	fl.StringVar(&k.unit, "unit", "", "`unit` of the readings, where the log does not tell it: counts, volts, percent or mm")
	fl.StringVar(&k.method, "method", "", "linear or pchip, a curve (default: the one that fits)")
	fl.StringVarP(&k.out, "out", "o", forkFileName, "fork `file` to write")
	fl.BoolVar(&k.force, "force", false, "replace a file that is there")
	return cmd
}

func (k *calibrateCmd) run(ctx context.Context) error {
	if err := k.check(); err != nil {
		return err
	}
	steps, err := k.steps()
	if err != nil {
		return err
	}
	var m measured
	if k.extended != "" {
		m, err = k.fromLogs(ctx, steps)
	} else {
		m, err = k.atBike(ctx, steps)
	}
	if err != nil {
		return err
	}
	report, err := calibrate.Fit(m.points, k.options(m))
	if err != nil {
		return err
	}
	return k.finish(report)
}

func (k *calibrateCmd) check() error {
	if k.fork.TravelMM == 0 {
		return usagef("give it along the stanchion, for example --travel 160", "the fork's travel is needed")
	}
	if !(k.fork.TravelMM >= 20 && k.fork.TravelMM <= 400) {
		return usagef("give the fork's travel along the stanchion, for example --travel 160", "--travel %g is not possible", k.fork.TravelMM)
	}
	if a := k.fork.HeadAngleDeg; a != 0 && !(a >= 40 && a <= 90) {
		return usagef("for example --head-angle 64.5", "--head-angle %g is not possible", a)
	}
	if k.adcBits != 0 && (k.adcBits < 8 || k.adcBits > 24) {
		return usagef("give 8 to 24", "--adc-bits %d is not possible", k.adcBits)
	}
	switch ingest.CalibrationMethod(k.method) {
	case "", ingest.CalibrateLinear, ingest.CalibratePCHIP:
	default:
		return usagef("give linear or pchip, or leave it out", "--method %q is not known", k.method)
	}
	switch ingest.Unit(k.unit) {
	case "", ingest.UnitCounts, ingest.UnitVolts, ingest.UnitPercent, ingest.UnitMM:
	default:
		return usagef("give counts, volts, percent or mm, or leave it out", "--unit %q is not known", k.unit)
	}
	if k.hold < time.Second || k.hold > time.Minute {
		return usagef("for example --hold 3s", "--hold %s is not possible", k.hold)
	}
	return replaceHint(wholefile.Check(k.out, k.force))
}

// A calibrationStep is a travel to measure at, and the log of it where there is one.
type calibrationStep struct {
	name     string
	travelMM float64
	log      string
}

// steps are the points that the flags ask for.
func (k *calibrateCmd) steps() ([]calibrationStep, error) {
	steps := []calibrationStep{{"fully extended", 0, k.extended}}
	at := k.at
	if len(at) == 0 {
		if k.extended != "" {
			return nil, usagef("for example --at 160:down.slog", "one log is not enough: give at least one --at MM:LOG too")
		}
		at = []string{strconv.FormatFloat(k.fork.TravelMM, 'f', -1, 64)}
	}
	for _, text := range at {
		mm, log, found := strings.Cut(text, ":")
		v, err := strconv.ParseFloat(strings.TrimSuffix(strings.TrimSpace(mm), "mm"), 64)
		if err != nil {
			return nil, usagef("for example --at 80, or --at 80:log.slog", "--at %q is not a depth in mm", text)
		}
		if found != (k.extended != "") {
			return nil, usagef("logs: --extended LOG --at MM:LOG; at the bike: --port PORT --at MM", "--at %q: either all points come from logs or none", text)
		}
		steps = append(steps, calibrationStep{fmt.Sprintf("%g mm", v), v, log})
	}
	// The deepest point comes second, so that from then on each further one can be judged.
	slices.SortStableFunc(steps[1:], func(a, b calibrationStep) int { return cmp.Compare(b.travelMM, a.travelMM) })
	return steps, nil
}

// measured is what all holds gave.
type measured struct {
	points  []calibrate.Point
	unit    ingest.Unit
	adcBits int
}

func (k *calibrateCmd) options(m measured) calibrate.Options {
	o := calibrate.Options{Unit: m.unit, ADCBits: m.adcBits, ForkTravelMM: k.fork.TravelMM, Method: ingest.CalibrationMethod(k.method)}
	if k.adcBits > 0 {
		o.ADCBits = k.adcBits
	}
	return o
}

// fromLogs measures recorded holds.
func (k *calibrateCmd) fromLogs(ctx context.Context, steps []calibrationStep) (m measured, err error) {
	for _, s := range steps {
		rec, err := readLog(ctx, s.log, csvlog.Options{TravelUnit: k.unit}, nil)
		if err != nil {
			return m, err
		}
		if err := m.add(rec, s, s.log, 0); err != nil {
			return m, err
		}
		p := m.points[len(m.points)-1]
		fmt.Fprintf(k.console.out, "%s (%s): reads %s\n", s.name, s.log, pointText(p, m.unit))
	}
	return m, nil
}

// add measures the last lastS seconds of a recording, or all of it where that is 0.
func (m *measured) add(rec *ingest.Recording, s calibrationStep, name string, lastS float64) error {
	if len(m.points) > 0 && rec.Unit != m.unit {
		return ingest.Hinted{Err: fmt.Errorf("%s is in %s, the first point in %s", name, rec.Unit, m.unit), Hint: "take all points with the same sensor"}
	}
	if rec.Unit == ingest.UnitUnknown {
		return usagef("give --unit", "%s does not tell the unit of its readings", name)
	}
	p, err := calibrate.Measure(calibrate.HoldOf(rec, name, s.travelMM, lastS))
	if err != nil {
		return err
	}
	m.points, m.unit, m.adcBits = append(m.points, p), rec.Unit, rec.ADCBits
	return nil
}

func pointText(p calibrate.Point, unit ingest.Unit) string {
	return fmt.Sprintf("%.5g %s, noise %.2g", p.Reading, unit, p.Noise)
}

// finish says how good the calibration is, and writes it.
func (k *calibrateCmd) finish(r calibrate.Report) error {
	lines := reportLines(r)
	comments := append([]string{"Made by stanchion calibrate."}, lines...)
	text := setup.Format(ingest.Setup{Fork: k.fork, Sensor: r.Sensor}, comments)
	if old, err := setup.Load(k.out); err == nil && k.force { // what else the file says stays
		text = setup.Format(ingest.Setup{Fork: k.fork, Sensor: r.Sensor, Spring: old.Setup.Spring}, comments) + setup.FormatLog(old.Log)
	}
	if _, err := setup.Parse(k.out, []byte(text)); err != nil {
		return fmt.Errorf("the fork file would not be readable: %w", err)
	}
	err := wholefile.Write(k.out, k.force, func(w io.Writer) error {
		_, err := io.WriteString(w, text)
		return err
	})
	if err != nil {
		return replaceHint(err)
	}
	fmt.Fprintf(k.console.out, "\n%s\n\nwrote %s\nnext: stanchion record --fork %s\n", strings.Join(lines, "\n"), k.out, k.out)
	return nil
}

// reportLines says how good a calibration is.
func reportLines(r calibrate.Report) []string {
	unit := strings.TrimSuffix(string(r.Sensor.Unit), "s")
	how := "a line"
	if r.Sensor.Method == ingest.CalibratePCHIP {
		how = "a monotone curve (pchip)"
	}
	lines := []string{fmt.Sprintf("%s through %d points; %.4g mm a %s", how, len(r.Points), r.MMPerUnit, unit)}
	if len(r.Points) > 2 {
		lines = append(lines, fmt.Sprintf("off a straight line: %.2f mm RMS, %.2f mm at most", r.ResidualMM, r.WorstMM))
	}
	lines = append(lines,
		fmt.Sprintf("noise: %.3f mm RMS", r.NoiseMM),
		fmt.Sprintf("smallest velocity that stands out: %.2g mm/s (below %.3g Hz at %.4g samples/s)", r.VelocityMMS, r.CutoffHz, r.RateHz))
	if r.Falling {
		lines = append(lines, "the reading falls as the fork goes in: that is taken care of")
	}
	for _, w := range r.Warnings {
		lines = append(lines, "take care: "+w)
	}
	return lines
}
