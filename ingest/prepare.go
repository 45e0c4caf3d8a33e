package ingest

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

const (
	// Rates outside these bounds are taken for stamps read in the wrong unit.
	minRateHz, maxRateHz = 1, 100e3
	// maxMadeUp bounds how many samples may be bridged for each one recorded.
	maxMadeUp = 4
)

// Prepare turns a recording into calibrated travel on a uniform grid. In this order it repairs the stamps, calibrates,
// finds the sample period and splits at long gaps, removes lone spikes, bridges short losses and, where the stamps are
// not on a uniform grid, resamples. All that it changed is counted in the trace's Quality.
//
// Prepare consumes rec: it works in place, and the trace keeps parts of rec.Travel and of the extra channels.
// rec.Stamps are overwritten too. rec must not be used afterwards.
//
// Errors say what kept the recording from being used; most are or wrap a Hinted.
func Prepare(rec *Recording, setup Setup, opt PrepareOptions) (*Trace, error) {
	if err := opt.check(); err != nil {
		return nil, err
	}
	if setup.Fork.TravelMM == 0 {
		return nil, Hinted{errors.New("fork: its travel is not known"),
			"give it in mm with --travel, for example --travel 160, or give a fork file with --fork; readings in counts or volts need the file"}
	}
	if t := setup.Fork.TravelMM; !(t > 0) || t > travelLimitMM {
		return nil, Hinted{fmt.Errorf("fork: a travel of %g mm is not usable", t), "give the travel of the fork in mm, for example 170"}
	}
	tr := &Trace{
		Source: rec.Source, Start: rec.Clock.Start, Fork: setup.Fork, Options: opt,
		Understood: slices.Clone(rec.Understood), Cautions: slices.Clone(rec.Cautions),
	}
	for _, c := range rec.Extra {
		tr.Channels = append(tr.Channels, ChannelInfo{Name: c.Name, Unit: c.Unit})
	}
	q := &tr.Quality
	q.Rows, q.BadRows, q.FirstBadRows = rec.Rows.Data, rec.Rows.Bad, slices.Clone(rec.Rows.First)
	if q.Rows == 0 {
		q.Rows = len(rec.Travel) // not read from a file
	}
	if setup.Sensor.ADCBits == 0 {
		setup.Sensor.ADCBits = rec.ADCBits
	}
	unit, err := tr.resolveUnit(rec.Unit, setup.Sensor.Unit)
	if err != nil {
		return nil, err
	}
	cal, err := newCalibration(unit, setup)
	if err != nil {
		return nil, err
	}
	rows := len(rec.Travel)
	tl, err := newTimeline(rec, cal.usable(), opt, q)
	if err != nil {
		return nil, err
	}
	if err := tl.enough(rec.Source, rows, q); err != nil {
		return nil, err
	}
	tr.Markers = tl.markers
	tr.calibrate(tl, cal, setup, opt)
	if err := tr.layOut(tl, opt); err != nil {
		return nil, fmt.Errorf("%s: %w", rec.Source, err)
	}
	tr.cautionClock(tl, rows)
	return tr, nil
}

// check reports an option that Prepare cannot work with.
func (o PrepareOptions) check() error {
	for _, v := range []struct {
		name       string
		value      float64
		least, top float64
	}{
		{"outlier_jump_s", o.OutlierJumpS, 1e-3, 1e9},
		{"period_tolerance", o.PeriodTolerance, 0, 0.5},
		{"gap_periods", o.GapPeriods, 1, 1e6},
		{"stall_s", o.StallS, 0, 1e9},
		{"bridge_s", o.BridgeS, 0, 10},
		{"min_segment_s", o.MinSegmentS, 0, 1e9},
		{"spike_half_window", float64(o.SpikeHalfWindow), 0, 1000},
		{"spike_mads", o.SpikeMADs, 0, 1e9},
		{"spike_min_mm", o.SpikeMinMM, 0, 1e9},
		{"spike_max_run", float64(o.SpikeMaxRun), 0, 1e9},
		{"grid_tolerance", o.GridTolerance, 0, 0.49},
		{"clip_run", float64(o.ClipRun), 1, 1e9},
	} {
		if !(v.value >= v.least && v.value <= v.top) {
			return Hinted{fmt.Errorf("option %s: %g is not between %g and %g", v.name, v.value, v.least, v.top),
				"leave the option out to use its default"}
		}
	}
	return nil
}

// resolveUnit settles what the readings mean: the setup's word goes before the log's.
func (tr *Trace) resolveUnit(log, setup Unit) (Unit, error) {
	unit := setup
	if unit == UnitUnknown {
		unit = log
	} else if log != UnitUnknown && log != setup {
		tr.caution("the log says its travel is in %s, the fork's setup says %s: %s was used", log, setup, setup)
	}
	switch unit {
	case UnitCounts, UnitVolts, UnitPercent, UnitMM:
		return unit, nil
	case UnitUnknown:
		return unit, Hinted{fmt.Errorf("%s: the unit of the travel column is not known", tr.Source),
			"say what the sensor logs: counts, volts, percent or mm"}
	}
	return unit, Hinted{fmt.Errorf("unknown travel unit %q", unit), "use counts, volts, percent or mm"}
}

// enough reports why nothing can be made of what clock repair left, if so.
func (tl *timeline) enough(source string, rows int, q *Quality) error {
	switch n := len(tl.ticks); {
	case n > 1:
		return nil
	case q.UnusableReadings > 0:
		return Hinted{fmt.Errorf("%s: %d of %d rows have no usable travel reading", source, q.UnusableReadings, rows),
			"check that the travel column is the right one, that the sensor was connected, and that the calibration fits it"}
	case q.DuplicateStamps > 0 && q.DuplicateStamps >= q.BackwardStamps:
		return Hinted{fmt.Errorf("%s: the time stamp is the same in %d of %d rows", source, q.DuplicateStamps+1, rows),
			"check that the time column is the right one; for a log without stamps give the sample rate"}
	case q.BackwardStamps > 0:
		return Hinted{fmt.Errorf("%s: the time stamps do not rise: %d of %d rows go backward", source, q.BackwardStamps, rows),
			"check that the time column is the right one; for a log without stamps give the sample rate"}
	default:
		return Hinted{fmt.Errorf("%s: only %d usable sample", source, n), "record for at least a few seconds"}
	}
}

// layOut finds the period, splits at long gaps, removes spikes and puts every segment on the grid.
func (tr *Trace) layOut(tl *timeline, opt PrepareOptions) error {
	q := &tr.Quality
	period, fromMean := nominalPeriod(tl.ticks, opt.PeriodTolerance)
	rate := roundRate(1 / (period * tl.tickS))
	if !(rate >= minRateHz && rate <= maxRateHz) {
		return Hinted{fmt.Errorf("the stamps give a sample rate of %.4g Hz", rate),
			"check the unit of the time stamps (s, ms or µs)"}
	}
	q.PeriodFromMean = fromMean
	period = 1 / (rate * tl.tickS)
	cuts, stalled := tl.stallCuts(period, opt.StallS)
	tr.cautionStalls(tl, cuts, stalled, opt.StallS)
	parts := tl.splitGaps(opt.GapPeriods*period, opt.BridgeS/tl.tickS, cuts, q)
	parts, err := tl.longEnough(parts, period, opt, q)
	if err != nil {
		return err
	}
	for _, p := range parts {
		despike(tl.travel[p.lo:p.hi], opt, q)
	}
	period, jitter := tl.chooseGrid(parts, period, opt)
	q.StampsJitterS = jitter * tl.tickS
	tr.RateHz = roundRate(1 / (period * tl.tickS))
	q.RateHz = tr.RateHz
	recorded := 0
	for _, p := range parts {
		q.LostSamples += p.grid.lost
		q.BridgedGaps += p.grid.bridged
		recorded += p.hi - p.lo
	}
	if q.LostSamples > maxMadeUp*recorded {
		return Hinted{fmt.Errorf("%d samples were recorded and %d are missing between them", recorded, q.LostSamples),
			"check that the recorder keeps up: most of the trace would be made up"}
	}
	tr.cautionLosses(recorded)
	for _, p := range parts {
		s, resampled := tl.segment(p, period, opt)
		q.Resampled = q.Resampled || resampled
		q.Samples += len(s.TravelMM)
		tr.Segments = append(tr.Segments, s)
	}
	return nil
}

// longEnough leaves out and counts the stretches that would give a segment under MinSegmentS.
func (tl *timeline) longEnough(parts []stretch, period float64, opt PrepareOptions, q *Quality) ([]stretch, error) {
	longest := 0.0
	kept := parts[:0]
	n := len(parts)
	for _, p := range parts {
		samples := math.Round((tl.ticks[p.hi-1]-tl.ticks[p.lo])/period) + 1
		s := samples * period * tl.tickS
		longest = max(longest, s)
		if s*slack < opt.MinSegmentS || p.hi-p.lo < 2 {
			q.ShortSegments++
			q.ShortSegmentsS += s
			continue
		}
		kept = append(kept, p)
	}
	if len(kept) == 0 {
		if n == 1 {
			return nil, Hinted{fmt.Errorf("the recording lasts %.3g s, and %g s are needed", longest, opt.MinSegmentS), "record for longer"}
		}
		return nil, Hinted{fmt.Errorf("gaps cut the recording into %d pieces, the longest of %.3g s, and %g s are needed", n, longest, opt.MinSegmentS),
			"check that the recorder keeps up, and that the time column is the right one"}
	}
	return kept, nil
}

// caution adds a doubt that a person should see.
func (tr *Trace) caution(format string, args ...any) {
	tr.Cautions = append(tr.Cautions, fmt.Sprintf(format, args...))
}
