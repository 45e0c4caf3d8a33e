package report

import (
	"fmt"
	"strconv"

	"stanchion/analyze"
)

// qualityFigures says how far the recording can be trusted.
func qualityFigures(r *analyze.Result) []figureRow {
	q := &r.Quality
	plain := func(s string) shown { return shown{Text: s} }
	n := func(v int) shown { return plain(strconv.Itoa(v)) }
	clipping := "not known: the width of the converter was not given"
	if q.ClippingKnown {
		clipping = fmt.Sprintf("%d at the low end, %d at the high end", q.ClippedLow, q.ClippedHigh)
	}
	rows := []figureRow{
		{"Rows in the log", plain(fmt.Sprintf("%d, %d not readable", q.Rows, q.BadRows)), ""},
		{"Readings that were not usable", n(q.UnusableReadings), "rows with a stamp but no number"},
		{"Sample rate", plain(signif(q.RateHz, 4) + gap + "Hz"), periodWords(q.PeriodFromMean)},
		{"Samples", n(q.Samples), ""},
		{"Uneven stamps", plain(signif(1000*q.StampsJitterS, 2) + gap + "ms RMS"), resampledWords(q.Resampled)},
		{"Counter wraps", n(q.Wraps), ""},
		{"Stamps dropped", plain(fmt.Sprintf("%d repeated, %d backward, %d outliers", q.DuplicateStamps, q.BackwardStamps, q.OutlierStamps)), ""},
		{"Samples filled in", plain(fmt.Sprintf("%d, in them %s", q.LostSamples, count(q.BridgedGaps, "bridged gap", "bridged gaps"))), "short losses"},
		{"Gaps that split the recording", n(len(q.Splits)), ""},
		{"Short pieces left out", plain(fmt.Sprintf("%d, together %s", q.ShortSegments, length(q.ShortSegmentsS))), ""},
		{"Spikes removed", plain(fmt.Sprintf("%s, %s", count(q.SpikeRuns, "run", "runs"), count(q.SpikeSamples, "sample", "samples"))), longSpikeWords(q.LongSpikeRuns)},
		{"Samples at the sensor's limits", plain(clipping), ""},
		{"Calibration", calibration(q), ""},
		{"Full extension reads", show(q.ZeroOffsetMM, mmFine), "should be 0, give or take " + mmFine(r.Options.ZeroCheckMM)},
		{"Noise floor of speed", show(q.NoiseMMS, func(v float64) string { return fixed(v, 1) + gap + "mm/s" }), "over " + mmps(r.Options.NoiseWarnMMS) + " it spoils slow speeds"},
		{"Low-pass used", plain(plainNumber(q.CutoffHz) + gap + "Hz"), ""},
	}
	if q.SuggestedCutoffHz.OK() {
		rows = append(rows, figureRow{"A lower cutoff that would do", show(q.SuggestedCutoffHz, hz), "for the noise floor"})
	}
	return append(rows, positionFigures(r.Position)...)
}

func periodWords(fromMean bool) string {
	if fromMean {
		return "from the mean step: the stamps are coarse"
	}
	return ""
}

func resampledWords(resampled bool) string {
	if resampled {
		return "resampled onto an even grid"
	}
	return ""
}

func longSpikeWords(n int) string {
	if n > 0 {
		return count(n, "longer run", "longer runs") + " left alone"
	}
	return ""
}

func calibration(q *analyze.Quality) shown {
	if q.CalibrationPoints == 0 {
		return shown{Text: "none: the log holds travel"}
	}
	s := fmt.Sprintf("%d points, residual %s mm RMS", q.CalibrationPoints, signif(q.CalibrationRMSMM, 2))
	if q.CalibrationPoints == 2 {
		s = "2 points, so no residual can tell whether the sensor is straight"
	}
	if q.MMPerCount != 0 {
		s += ", " + signif(q.MMPerCount, 3) + " mm per unit of reading"
	}
	return shown{Text: s}
}

// gapTable lists what was lost and could not be read.
func gapTables(r *analyze.Result) []table {
	var out []table
	if len(r.Quality.Splits) > 0 {
		t := table{Caption: "Gaps", Heads: []head{{Text: "From"}, {Text: "Lasted", Unit: "s", Number: true}}}
		for _, g := range r.Quality.Splits {
			t.Rows = append(t.Rows, texts(clock(g.StartS), signif(g.DurationS, 3)))
		}
		out = append(out, clipRows(t))
	}
	if len(r.Quality.FirstBadRows) > 0 {
		t := table{Caption: "First rows that could not be read", Heads: []head{{Text: "Line", Number: true}, {Text: "Reason", Words: true}}}
		for _, b := range r.Quality.FirstBadRows {
			t.Rows = append(t.Rows, texts(strconv.Itoa(b.Line), b.Reason))
		}
		out = append(out, clipRows(t))
	}
	return out
}
