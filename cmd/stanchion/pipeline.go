package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"stanchion/analyze"
	"stanchion/analyze/advice"
	"stanchion/ingest"
	"stanchion/ingest/csvlog"
)

// pipeline takes a log to its figures.
type pipeline struct {
	input    inputFlags
	changed  func(flag string) bool
	options  analyze.Options
	progress *progress
	tracks   trackFlags
}

// badRows tells about rows that were left out though the log as a whole could be used, "" where there were none.
func (run *analysed) badRows() string {
	q := &run.result.Quality
	if q.BadRows == 0 {
		return ""
	}
	var b strings.Builder
	for _, r := range q.FirstBadRows {
		fmt.Fprintf(&b, "%s:%d: %s\n", run.log, r.Line, r.Reason)
	}
	fmt.Fprintf(&b, "%s: %d of %d rows could not be used\n", run.log, q.BadRows, q.Rows)
	return b.String()
}

// analysed is one log with all that was computed from it.
type analysed struct {
	log     string
	result  *analyze.Result
	signals *analyze.Signals
	start   time.Time      // of the recording, zero where the log does not tell
	advice  *advice.Advice // nil where none was asked for
	located
}

// unprepared is a log that could be read and then not be turned into travel.
type unprepared struct {
	error
	log        string
	understood []string // what the reader made of the log
}

func (e unprepared) Unwrap() error { return e.error }

// trace reads, repairs and calibrates one log.
func (p *pipeline) trace(ctx context.Context, log string) (*ingest.Trace, error) {
	file, found, err := p.input.setupFor(log, p.changed)
	if err != nil {
		return nil, err
	}
	rec, err := readLog(ctx, log, file.Log, func(done int64) { p.progress.read(log, done) })
	if err != nil {
		return nil, err
	}
	if found != "" {
		rec.Understood = append(rec.Understood, "fork: from "+filepath.Base(found)+", found beside the log")
	}
	p.progress.step("calibrating", log)
	understood := rec.Understood
	trace, err := ingest.Prepare(rec, file.Setup, ingest.DefaultPrepareOptions())
	if err != nil {
		return nil, unprepared{fmt.Errorf("%s: %w", log, err), log, understood}
	}
	return trace, ctx.Err()
}

// analyse takes one log all the way.
func (p *pipeline) analyse(ctx context.Context, log string) (*analysed, error) {
	trace, err := p.trace(ctx, log)
	if err != nil {
		return nil, err
	}
	trace, where, err := p.position(trace, log)
	if err != nil {
		return nil, err
	}
	p.progress.step("computing", log)
	result, signals, err := analyze.Run(trace, p.options)
	if err != nil {
		err = fmt.Errorf("%s: %w", log, err)
		if p.changed("cutoff") && p.options.CutoffHz >= trace.RateHz/2 {
			err = ingest.Hinted{Err: err, Hint: "give a lower --cutoff, or leave it out"}
		}
		return nil, err
	}
	result.Position = where.position
	return &analysed{log: log, result: result, signals: signals, start: trace.Start, located: where}, ctx.Err()
}

// sagFrom measures static sag in a stationary log of its own, for the options of the runs.
func (p *pipeline) sagFrom(ctx context.Context, log string) (*analyze.SagOverride, error) {
	trace, err := p.trace(ctx, log)
	if err != nil {
		return nil, fmt.Errorf("sag log: %w", err)
	}
	sag, err := analyze.AnalyzeSag(trace, p.options)
	if err != nil {
		return nil, fmt.Errorf("sag log %s: %w", log, err)
	}
	mm, ok := sag.SagMM.Get()
	if !ok {
		return nil, ingest.Hinted{
			Err:  fmt.Errorf("sag log %s: no static sag in it: %s", log, sag.SagMM.Reason()),
			Hint: "stand on the bike in riding position, at rest, for at least 4 s",
		}
	}
	over := &analyze.SagOverride{SagMM: mm, Source: "sag log " + filepath.Base(log)}
	over.FrictionBandMM = sag.FrictionBandMM
	return over, nil
}

// hintOf gathers what the errors in a chain say about mending them.
func hintOf(err error) string {
	var hints []string
	add := func(h string) {
		if h != "" {
			hints = append(hints, h)
		}
	}
	var csv *csvlog.Error
	if errors.As(err, &csv) {
		add(csv.Hint)
	}
	var hinted ingest.Hinted
	if errors.As(err, &hinted) {
		add(hinted.Hint)
	}
	return strings.Join(hints, "; ")
}
