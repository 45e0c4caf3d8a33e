package report

import (
	"fmt"
	"strings"

	"stanchion/analyze"
)

// Usual ranges, all common practice without a source: shown as a help to read a figure, never as a verdict.
const (
	usualSag    = "15–30 % of travel is common practice (no source)"
	usualBottom = "a few soft ones on the biggest hits are common practice (no source)"
	usualStroke = "about 30 ms is a rule of thumb for trail strokes (common practice, no source)"
)

// A glanceRow is one line of the run at a glance.
type glanceRow struct {
	Name  string
	Value shown
	Usual string // what to hold it against
}

// glance is the run in nine lines.
func glance(r *analyze.Result) []glanceRow {
	sag := showBoth(r.Sag.StaticMM, mm, r.Sag.StaticPct, percent)
	if r.Sag.StaticFrom != "" && !sag.Absent {
		sag.Caveats = append([]string{"measured in " + r.Sag.StaticFrom}, sag.Caveats...)
	}
	return []glanceRow{
		{"Static sag", sag, usualSag},
		{"Median travel while riding", showBoth(r.Sag.DynamicMM, mm, r.Sag.DynamicPct, percent), "deeper than static sag means that the fork sinks on the trail"},
		{"Deepest travel", deepest(r), "of " + mm(r.Fork.TravelMM)},
		{"Bottom-outs", bottoms(r), usualBottom},
		{"Compression, slow / fast", pair(r.Velocity.Regimes.LowCompression, r.Velocity.Regimes.HighCompression), "of riding time; the split at " + mmps(r.Options.SplitMMS) + " is a setting"},
		{"Rebound, slow / fast", pair(r.Velocity.Regimes.LowRebound, r.Velocity.Regimes.HighRebound), "of riding time; same split"},
		{"Mean stroke time", show(r.Strokes.MeanDurationS, ms), usualStroke},
		{"Riding time", ridingTime(r), "of the time recorded"},
		{"Data quality", shown{Text: qualityWords(r)}, "details under Data quality"},
	}
}

func deepest(r *analyze.Result) shown {
	s := showBoth(r.Travel.MaxMM, mm, r.Travel.MaxPct, percent)
	if at := r.Travel.MaxAtS; !s.Absent && at != nil {
		s.Text += " at " + clock(*at)
	}
	return s
}

func bottoms(r *analyze.Result) shown {
	s := show(r.Travel.BottomOuts, whole)
	if hard, ok := r.Travel.BottomHard.Get(); ok && !s.Absent && s.Text != "0" {
		s.Text += fmt.Sprintf(" (%s hard)", whole(hard))
	}
	if rate, ok := r.Travel.BottomPerMin.Get(); ok && !s.Absent && rate > 0 {
		s.Text += ", " + perMin(rate)
	}
	return s
}

// pair is two shares of one direction.
func pair(slow, fast analyze.Figure) shown {
	s, f := show(slow, share), show(fast, share)
	if s.Absent {
		return s
	}
	if f.Absent {
		return f
	}
	s.Text += " / " + f.Text
	s.Caveats = append(append([]string(nil), s.Caveats...), f.Caveats...)
	return s
}

func ridingTime(r *analyze.Result) shown {
	s := show(r.Ride.RidingS, length)
	if d, ok := r.Ride.DurationS.Get(); ok && !s.Absent {
		s.Text += " of " + length(d)
	}
	return s
}

// qualityWords sums the data quality up by its warnings and notes.
func qualityWords(r *analyze.Result) string {
	warnings, notes := 0, 0
	for _, c := range r.Caveats {
		if c.Severity == analyze.Warning {
			warnings++
		} else {
			notes++
		}
	}
	var parts []string
	if warnings > 0 {
		parts = append(parts, count(warnings, "warning", "warnings"))
	}
	if notes > 0 {
		parts = append(parts, count(notes, "note", "notes"))
	}
	if len(parts) == 0 {
		return "nothing to note"
	}
	return strings.Join(parts, ", ")
}
