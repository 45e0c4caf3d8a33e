package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"stanchion/analyze"
	"stanchion/ingest/csvlog"
	"stanchion/ingest/setup"
)

// forkFileName is the fork file that is found by itself beside a log.
const forkFileName = "fork.toml"

// inputFlags say how a log is to be read and which fork it came from.
type inputFlags struct {
	fork         string
	travelMM     float64
	headAngleDeg float64
	zeroOffsetMM float64

	delimiter    string
	decimalComma bool
	noHeader     bool
	skipLines    int
	headerLine   int
	tickS        float64
	markerColumn string
	noExtra      bool
	maxBytes     int64
	timeColumn   string
	timeUnit     string
	travelColumn string
	travelUnit   string
	rateHz       float64
	maxBadPct    float64

	// texts are the fork files of logs that have theirs elsewhere, in the logbook, by the path of the log.
	texts map[string]string
}

func (f *inputFlags) add(cmd *cobra.Command) {
	fl := cmd.Flags()
	fl.SortFlags = false
	fl.StringVar(&f.fork, "fork", "", "fork and calibration `file` (default: "+forkFileName+" beside the log, where there is one)")
	fl.Float64Var(&f.travelMM, "travel", 0, "usable travel of the fork in `mm`; overrules the fork file")
	fl.Float64Var(&f.headAngleDeg, "head-angle", 0, "head angle in `degrees` from horizontal; overrules the fork file")
	fl.Float64Var(&f.zeroOffsetMM, "zero-offset", 0, "re-zero: subtract so many `mm` from the travel")
	fl.StringVar(&f.travelColumn, "travel-column", "", "`name or number` of the travel column (first column: 1)")
	fl.StringVar(&f.travelUnit, "travel-unit", "", "its `unit`: counts, volts, percent or mm")
	fl.StringVar(&f.timeColumn, "time-column", "", "`name or number` of the time column, or none")
	fl.StringVar(&f.timeUnit, "time-unit", "", "its `unit`: s, ms, us, ns, min, date or clock")
	fl.Float64Var(&f.tickS, "tick", 0, "`seconds` per count of the time column, for counters with a tick of their own")
	fl.Float64Var(&f.rateHz, "rate", 0, "sample rate in `Hz`, for logs without time")
	fl.StringVar(&f.delimiter, "delimiter", "", "`character` between columns: , ; | tab or space")
	fl.BoolVar(&f.decimalComma, "decimal-comma", false, "numbers are written 1,5")
	fl.BoolVar(&f.noHeader, "no-header", false, "the first line is data")
	fl.IntVar(&f.headerLine, "header-line", 0, "`line` of the header, counted from 1")
	fl.IntVar(&f.skipLines, "skip-lines", 0, "leave out so many `lines` at the top")
	fl.StringVar(&f.markerColumn, "marker-column", "", "`name or number` of the column with markers, or none")
	fl.BoolVar(&f.noExtra, "no-extra", false, "keep no other columns")
	fl.Float64Var(&f.maxBadPct, "max-bad", 100*csvlog.DefaultMaxBadShare, "stop if more than this `percent` of the rows cannot be read")
	fl.Int64Var(&f.maxBytes, "max-bytes", csvlog.DefaultMaxBytes, "stop after so many `bytes` of text, after decompression")
}

// setupFor finds the fork file of a log, and lays the flags over what it says. found names the file that was used
// without being asked for, "" where there was none.
func (f *inputFlags) setupFor(log string, changed func(string) bool) (file setup.File, found string, err error) {
	path := f.fork
	text, kept := f.texts[log]
	if kept {
		if file, err = setup.Parse("the fork file of "+filepath.Base(log)+" in the logbook", []byte(text)); err != nil {
			return file, "", usageError{err}
		}
	} else if path == "" {
		beside := filepath.Join(filepath.Dir(log), forkFileName)
		if _, err := os.Stat(beside); err == nil {
			path, found = beside, beside
		} else if !errors.Is(err, fs.ErrNotExist) {
			return file, "", fmt.Errorf("look for %s: %w", beside, err)
		}
	}
	if path != "" && !kept {
		if file, err = setup.Load(path); err != nil {
			return file, "", usageError{err}
		}
	}
	if changed("travel") {
		file.Setup.Fork.TravelMM = f.travelMM
	}
	if changed("head-angle") {
		file.Setup.Fork.HeadAngleDeg = f.headAngleDeg
	}
	if changed("zero-offset") {
		file.Setup.Sensor.ZeroOffsetMM = f.zeroOffsetMM
	}
	return file, found, f.overrule(&file, changed)
}

// overrule lays the reader's flags over the [log] part of the fork file.
func (f *inputFlags) overrule(file *setup.File, changed func(string) bool) error {
	o := &file.Log
	for _, given := range []struct {
		flag  string
		apply func()
	}{
		{"delimiter", func() { o.Delimiter = f.delimiter }},
		{"decimal-comma", func() { o.DecimalComma, o.DecimalPoint = f.decimalComma, !f.decimalComma }},
		{"no-header", func() { o.NoHeader = f.noHeader }},
		{"header-line", func() { o.HeaderLine = f.headerLine }},
		{"skip-lines", func() { o.SkipLines = f.skipLines }},
		{"time-column", func() { o.TimeColumn = f.timeColumn }},
		{"time-unit", func() { o.TimeUnit = f.timeUnit }},
		{"tick", func() { o.TickS = f.tickS }},
		{"rate", func() { o.RateHz = f.rateHz }},
		{"travel-column", func() { o.TravelColumn = f.travelColumn }},
		// The sensor's unit in the fork file gives way: what the reader makes of the flag counts.
		{"travel-unit", func() { o.TravelUnit, o.SensorUnit, file.Setup.Sensor.Unit = f.travelUnit, "", "" }},
		{"marker-column", func() { o.MarkerColumn = f.markerColumn }},
		{"no-extra", func() { o.NoExtra = f.noExtra }},
		{"max-bytes", func() { o.MaxBytes = f.maxBytes }},
		{"max-bad", func() { o.MaxBadShare = f.maxBadPct / 100 }},
	} {
		if changed(given.flag) {
			given.apply()
		}
	}
	if changed("max-bad") && f.maxBadPct == 0 {
		o.MaxBadShare = -1 // not one bad row
	}
	if err := o.Check(); err != nil {
		return usageError{err}
	}
	return nil
}

// figureFlags steer the figures.
type figureFlags struct {
	cutoffHz  float64
	splitMMS  float64
	sagLog    string
	sagMM     float64
	sagWindow string
}

func (f *figureFlags) add(cmd *cobra.Command) {
	fl := cmd.Flags()
	fl.StringVar(&f.sagLog, "sag", "", "take static sag from this stationary `log` (the rider on the bike, at rest)")
	fl.Float64Var(&f.sagMM, "static-sag", 0, "static sag in `mm`, measured by other means")
	fl.StringVar(&f.sagWindow, "sag-window", "", "take static sag from these seconds of the log, as `FROM:TO`")
	fl.Float64Var(&f.cutoffHz, "cutoff", 0, "low-pass cutoff in `Hz` (default: 100, or a fifth of the sample rate if lower)")
	fl.Float64Var(&f.splitMMS, "split", analyze.DefaultOptions().SplitMMS, "speed in `mm/s` that parts low speed from high speed")
}

// options are the analysis options that the flags ask for; the sag log is dealt with apart.
func (f *figureFlags) options(changed func(string) bool) (analyze.Options, error) {
	opt := analyze.DefaultOptions()
	sources := 0
	for _, flag := range []string{"sag", "static-sag", "sag-window"} {
		if changed(flag) {
			sources++
		}
	}
	if sources > 1 {
		return opt, usagef("leave out all but one", "--sag, --static-sag and --sag-window each give static sag")
	}
	if changed("cutoff") {
		if !(f.cutoffHz > 0) {
			return opt, usagef("leave it out for the usual 100 Hz", "--cutoff %g: must be above 0 Hz", f.cutoffHz)
		}
		opt.CutoffHz = f.cutoffHz
	}
	if !(f.splitMMS > opt.StillMMS) {
		return opt, usagef("the usual value is 200", "--split %g: must be above %g mm/s", f.splitMMS, opt.StillMMS)
	}
	opt.SplitMMS = f.splitMMS
	if changed("static-sag") {
		if !(f.sagMM > 0) {
			return opt, usagef("", "--static-sag %g: must be above 0 mm", f.sagMM)
		}
		opt.StaticSag = &analyze.SagOverride{SagMM: f.sagMM, Source: "given by hand",
			FrictionBandMM: analyze.Absent("static sag was given by hand: take a sag log of two settles for it")}
	}
	if f.sagWindow != "" {
		span, err := parseSpan(f.sagWindow)
		if err != nil {
			return opt, err
		}
		opt.SagWindow = &span
	}
	return opt, nil
}

// parseSpan reads FROM:TO in seconds.
func parseSpan(text string) (analyze.Span, error) {
	from, to, ok := strings.Cut(text, ":")
	lo, err1 := strconv.ParseFloat(from, 64)
	hi, err2 := strconv.ParseFloat(to, 64)
	if !ok || err1 != nil || err2 != nil || !(lo >= 0) || !(hi > lo) {
		return analyze.Span{}, usagef("for example --sag-window 2:6", "--sag-window %q: must be FROM:TO in seconds", text)
	}
	return analyze.Span{StartS: lo, EndS: hi}, nil
}
