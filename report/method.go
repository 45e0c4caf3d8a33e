package report

import (
	"encoding/json"
	"fmt"
	"reflect"
	"strings"

	"stanchion/analyze"
)

// methodTables lists every option with its value and meaning.
func methodTables(r *analyze.Result) []table {
	heads := []head{{Text: "Setting"}, {Text: "Value", Number: true}, {Text: "Meaning", Words: true}}
	t := []table{
		{Caption: "From samples to travel", Heads: heads, Rows: optionRows(r.Prepare)},
		{Caption: "From travel to figures", Heads: heads, Rows: optionRows(r.Options)},
	}
	if o := r.Options.StaticSag; o != nil {
		t[1].Rows = append(t[1].Rows, texts("static sag override", mmFine(o.SagMM), "static sag measured apart from the run: "+o.Source))
	}
	if s := r.Options.SagWindow; s != nil {
		t[1].Rows = append(t[1].Rows, texts("sag window", clock(s.StartS)+"–"+clock(s.EndS), "stretch that was marked for static sag"))
	}
	return t
}

// optionRows walks an options struct by its JSON names, which carry the units.
func optionRows(options any) []row {
	v := reflect.ValueOf(options)
	var rows []row
	for i := range v.NumField() {
		key, _, _ := strings.Cut(v.Type().Field(i).Tag.Get("json"), ",")
		if v.Field(i).Kind() == reflect.Pointer {
			continue
		}
		name, unit := splitUnit(key)
		value := optionValue(v.Field(i).Interface())
		if key == "cutoff_hz" && value == "0" {
			value, unit = "automatic", ""
		}
		if key == "bootstrap_seed" && value == "0" {
			value = "from the samples"
		}
		if unit != "" {
			value += " " + unit
		}
		rows = append(rows, texts(name, value, optionMeaning[key]))
	}
	return rows
}

func optionValue(v any) string {
	if pair, ok := v.([2]float64); ok {
		return plainNumber(pair[0]) + "–" + plainNumber(pair[1])
	}
	b, err := json.Marshal(v)
	if err != nil {
		return fmt.Sprint(v)
	}
	return string(b)
}

// splitUnit takes the unit off a JSON name: "bottom_hard_mm_s" is "bottom hard" in mm/s.
func splitUnit(key string) (name, unit string) {
	for _, u := range [...][2]string{
		{"_mm_s", "mm/s"}, {"_m_s2", "m/s²"}, {"_mm", "mm"}, {"_hz", "Hz"}, {"_pct", "%"}, {"_s", "s"},
	} {
		if rest, ok := strings.CutSuffix(key, u[0]); ok {
			return strings.ReplaceAll(rest, "_", " "), u[1]
		}
	}
	return strings.ReplaceAll(key, "_", " "), ""
}

// optionMeaning says in a line what each option does. A test keeps it complete.
var optionMeaning = map[string]string{
	"outlier_jump_s":    "a single forward step of the clock over this that returns is dropped",
	"period_tolerance":  "where mean and median step differ by more than this share, the mean is the period",
	"gap_periods":       "a step over this many periods is a gap",
	"stall_s":           "a clock that stands still or goes back for over this splits the recording",
	"bridge_s":          "gaps up to this long are filled in; longer ones split the recording",
	"min_segment_s":     "shorter pieces between gaps are left out",
	"spike_half_window": "samples on each side that a sample is held against for spikes (Hampel)",
	"spike_mads":        "a spike is this many scaled median deviations off",
	"spike_min_mm":      "and at least this far off",
	"spike_max_run":     "longer runs of odd samples are left alone",
	"grid_tolerance":    "stamps further off an even grid, in periods, cause resampling",
	"clip_run":          "samples in a row at a limit of the sensor that count as clipping",

	"cutoff_hz":             "low-pass of travel and speed; automatic is the smaller of 100 Hz and 0.2 of the sample rate",
	"filter_order":          "order of the low-pass (Butterworth, run without delay)",
	"noise_window_s":        "the quietest window of this length gives the noise floor",
	"noise_warn_mm_s":       "noise floor above which to warn",
	"rate_warn_hz":          "sample rate under which a 30 ms stroke has fewer than 10 samples",
	"rate_min_velocity_hz":  "sample rate under which no figure of speed is given",
	"zero_check_mm":         "how far off 0 full extension may read",
	"zero_quantile":         "this quantile of unfiltered travel is taken for full extension",
	"zero_max_pct":          "where it lies deeper than this, full extension is not known",
	"settle_drift_mm_s":     "a rest in a sag log drifts slower than this",
	"settle_arrive_mm_s":    "a rest reached faster than this tells nothing about friction",
	"cell_s":                "riding time and roughness are judged in cells of this length",
	"cell_window_s":         "window for the RMS speed of a cell",
	"riding_mm_s":           "RMS speed above which a cell is riding",
	"riding_pause_s":        "shorter pauses count as riding",
	"stationary_mm_s":       "RMS speed below which a cell is at rest",
	"stationary_min_s":      "shortest rest that gives static sag",
	"static_sag_min_pct":    "a rest at less travel than this is not a rider's sag",
	"extended_pct":          "less travel than this is extended",
	"extended_min_s":        "shortest extended spell",
	"jump_min_s":            "extended for this long is a likely jump",
	"bottom_open_pct":       "a bottom-out begins at this much travel",
	"bottom_close_pct":      "and ends under this much",
	"bottom_hard_mm_s":      "speed shortly before that makes it a hard one",
	"bottom_lookback_s":     "how long before is looked at for that",
	"top_out_pct":           "rebound that ends under this much travel is a top-out",
	"top_out_hard_mm_s":     "rebound speed there that makes it a hard one",
	"stroke_gate_mm":        "a turn counts once the fork came back this far",
	"short_stroke_s":        "strokes under this are counted as short",
	"reversal_mm_s":         "reversal time runs from this speed one way to this speed the other way",
	"velocity_bin_mm_s":     "bin width of the speed distribution",
	"velocity_limit_mm_s":   "the distribution ends here on both sides",
	"still_mm_s":            "slower than this is still",
	"rebound_depth_pct":     "rebound speed at a depth is taken in this part of the travel: the spring pushes the same there, whatever the hit",
	"compression_depth_pct": "compression speed at a depth is taken deeper than this",
	"split_mm_s":            "between slow and fast; a setting, no published value exists",
	"psd_window_s":          "window of the spectrum (Welch, Hann, half overlap)",
	"peak_ratio":            "a peak is named where it stands this many times over its band's median",
	"peak_reach_hz":         "it is compared with what lies this far off on either side",
	"peak_contrast":         "which must be under this share of it",
	"chassis_hz":            "band of the chassis",
	"wheel_hz":              "band of the wheel",
	"chatter_hz":            "band of chatter",
	"packing_valleys":       "valleys in a row that make a packing run",
	"packing_gap_s":         "longest time between two of them",
	"packing_depth_pct":     "how much deeper than sag each of them lies",
	"return_min_pct":        "compressions at least this much deeper than sag are timed",
	"return_share":          "back means within this share of that depth",
	"return_limit_s":        "later than this is not back",
	"decay_min_pct":         "smallest first swing of a free decay",
	"decay_equilibrium_s":   "time after it whose median is the rest position",
	"decay_window_s":        "time that must calm down",
	"decay_end_s":           "length of its first and last part that are compared",
	"decay_end_share":       "the last part has at most this share of the first part's RMS speed",
	"decay_min_r2":          "fits worse than this do not count",
	"overshoot_min":         "less overshoot than this share is no overshoot",
	"bootstrap_n":           "resamples for the interval of the damping ratio",
	"bootstrap_seed":        "seed of those resamples",
	"dive_cutoff_hz":        "low-pass for the slow part of travel",
	"dive_pct":              "a deep time lies this much below the median depth",
	"dive_min_s":            "shortest deep time",
	"dive_decel_m_s2":       "deceleration that confirms braking",
	"decel_step_s":          "deceleration is taken over this time",
	"decel_mean_s":          "between means of speed over this time",
	"harsh_quantile":        "cells at or over this quantile of roughness are harsh",
	"harsh_gap_s":           "harsh cells closer than this are one section",
	"harsh_min_s":           "shortest harsh section",
	"section_window_s":      "window of the spectrum of a harsh section",
	"chatter_share":         "chatter: share of speed power in the wheel and chatter bands",
	"chatter_max_pct":       "chatter: deepest travel that still counts",
	"big_hit_pct":           "big hit: smallest compression stroke",
	"big_hit_mm_s":          "big hit: its peak speed",
	"events_min":            "a mean or quantile over fewer events is not given",
	"events_few":            "over fewer events it carries a note",
}

// absentFigures lists the figures without a value, with the reason.
func absentFigures(r *analyze.Result) table {
	t := table{Caption: "Figures without a value", Heads: []head{{Text: "About"}, {Text: "Figure"}, {Text: "Reason", Words: true}}, Empty: "Every figure has a value."}
	for _, c := range r.Scalars() {
		if !c.Figure.OK() {
			t.Rows = append(t.Rows, texts(c.Group, c.Label, c.Figure.Reason()))
		}
	}
	return clipRows(t)
}
