package report

import (
	"maps"
	"slices"
	"strings"

	"stanchion/analyze"
	"stanchion/analyze/compare"
)

// settingKeys are the settings noted for any run, sorted.
func settingKeys(runs []compare.SetRun) []string {
	all := map[string]bool{}
	for i := range runs {
		for k := range runs[i].Settings {
			all[k] = true
		}
	}
	return slices.Sorted(maps.Keys(all))
}

// settingName is the key of a setting in words: "temperature_c" is "Temperature (°C)".
func settingName(key string) string {
	units := map[string]string{"c": "°C", "psi": "psi", "bar": "bar", "kg": "kg", "mm": "mm", "pct": "%", "m": "m"}
	if i := strings.LastIndexByte(key, '_'); i > 0 {
		if unit, ok := units[key[i+1:]]; ok {
			return sentence(strings.ReplaceAll(key[:i], "_", " ")) + " (" + unit + ")"
		}
	}
	return sentence(strings.ReplaceAll(key, "_", " "))
}

// worded are caveats with the keys of settings that they begin with in words.
func worded(list []analyze.Caveat, runs []compare.SetRun) []analyze.Caveat {
	out := append([]analyze.Caveat(nil), list...)
	for i := range out {
		for _, key := range settingKeys(runs) {
			if rest, ok := strings.CutPrefix(out[i].Text, key+" "); ok && out[i].Topic == "setting" {
				out[i].Text = settingName(key) + " " + rest
				break
			}
		}
	}
	return out
}

// warningWords is the text of a caveat as a sentence without its full stop; the name of a run that it begins with stays as it is.
func warningWords(text string, runs []compare.SetRun) string {
	text = strings.TrimSuffix(text, ".")
	for i := range runs {
		if strings.HasPrefix(text, runs[i].Name) && runs[i].Name != "" {
			return text
		}
	}
	return sentence(text)
}

// setRuns are the runs of both sets.
func setRuns(c *compare.Comparison) []compare.SetRun {
	return append(append([]compare.SetRun(nil), c.A...), c.B...)
}

// sweptRuns are the runs of a sweep.
func sweptRuns(s *compare.SweepResult) []compare.SetRun {
	var out []compare.SetRun
	for i := range s.Runs {
		out = append(out, s.Runs[i].SetRun)
	}
	return out
}

func compareMethod(c *compare.Comparison) string {
	s := "B − A is the difference of the means of the run values. "
	if c.Scope != "" {
		s = "With one run a side, intervals come from a bootstrap of paired pieces of the two runs, at the same places of the trail. They hold for this pair of runs and claim nothing about the next: " + compare.SameSettingPairs() + ". "
	} else {
		s += "Intervals are Welch's t intervals on the run values, each at 95 % for its figure alone: only the spread between runs counts, never the number of samples. Where the rank test of Mann and Whitney contradicts one, which takes four runs a side, the figure says so. "
	}
	return s + "Verdicts are corrected after Holm for the number of figures judged together, so an interval may miss zero and the verdict still be no clear difference. " +
		"The smallest changes worth feeling are our choice, common practice without a source, and can be edited. " +
		"Runs needed a side are those that find a difference of the size seen in most tests, at the spread seen."
}

// compareSettings lists the thresholds and the smallest changes worth feeling.
func compareSettings(c *compare.Comparison) []table {
	o := &c.Options
	heads := []head{{Text: "Setting"}, {Text: "Value", Number: true}, {Text: "Meaning", Words: true}}
	return []table{
		{Caption: "Thresholds of the comparison", Heads: heads, Rows: thresholdRows(o)},
		stepTable(c),
	}
}

func thresholdRows(o *compare.Options) []row {
	rows := []row{
		texts("smallest fit to the trail", fixed(o.MinMatch, 2), "correlation of the roughness under which runs are taken for different trails"),
		texts("section length", length(o.SectionS), "aimed-at length of a section of the trail"),
		texts("bootstrap block", length(float64(o.BlockS)), "piece of a run that is drawn as a whole, for one run a side"),
		texts("bootstrap draws", plainNumber(float64(o.Resamples)), "number of draws"),
		texts("power", percent(100*o.Power), "share of tests that would find the difference with the runs needed"),
		texts("riding time", percent(o.RideTimePct), "difference in riding time that gives a warning"),
		texts("static sag", mmFine(o.SagMM), "difference in static sag that gives a warning"),
		texts("order", fixed(o.DriftShare, 2), "how far apart the sets may lie in the order ridden before a warning"),
	}
	for _, k := range slices.Sorted(maps.Keys(o.Tolerances)) {
		rows = append(rows, texts(settingName(k), plainNumber(o.Tolerances[k]), "difference up to which values noted for this count as the same"))
	}
	return rows
}

// stepTable lists the smallest change worth feeling of each figure that has one.
func stepTable(c *compare.Comparison) table {
	t := table{Caption: "Smallest changes worth feeling (our choice, no source)", Heads: []head{{Text: "Figure"}, {Text: "Smallest change", Number: true}}}
	for i := range c.Differences {
		d := &c.Differences[i]
		step, ok := c.Options.Steps[d.Key]
		switch {
		case !ok:
		case step.Relative:
			t.Rows = append(t.Rows, texts(sentence(d.Label), percent(100*step.Value)+" of A"))
		default:
			t.Rows = append(t.Rows, texts(sentence(d.Label), measureFor(d.Unit, step.Value, step.Value/2).text(step.Value)))
		}
	}
	return t
}
