package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"stanchion/analyze"
	"stanchion/analyze/compare"
)

// Sets are the two sets of runs behind a comparison, as they were given to compare.Compare, with names for people ("" = none).
type Sets struct {
	NameA, NameB string
	A, B         []compare.Run
}

// judged are the sets without the runs that were left out, so that they lie as the lists of c.
func (s Sets) judged(c *compare.Comparison) Sets {
	without := func(set []compare.Run, letter string) []compare.Run {
		var out []compare.Run
		for i := range set {
			if !slices.ContainsFunc(c.LeftOut, func(l compare.LeftOut) bool { return l.Set == letter && l.Place == i+1 }) {
				out = append(out, set[i])
			}
		}
		return out
	}
	s.A, s.B = without(s.A, "A"), without(s.B, "B")
	return s
}

// named is "A" or "A (name)".
func named(letter, name string) string {
	if name == "" || name == letter {
		return letter
	}
	return letter + " (" + name + ")"
}

// doing says in plain words what a higher and a lower value of a figure means for the fork. Figures that are not here are named.
func doing(key string) (higher, lower string, ok bool) {
	words := map[string][2]string{
		"sag.dynamic_median_mm":                     {"rides deeper", "rides higher"},
		"travel.q95_mm":                             {"goes deeper", "goes less deep"},
		"velocity.compression.q95_mm_s":             {"compresses faster", "compresses slower"},
		"velocity.rebound.q95_mm_s":                 {"rebounds faster", "rebounds slower"},
		"velocity.rebound_to_compression_ratio":     {"rebounds faster for its compression", "rebounds slower for its compression"},
		"reversals.compression_to_rebound.median_s": {"turns later from compression to rebound", "turns sooner from compression to rebound"},
		"return.median_s":                           {"comes back later after a hit", "comes back sooner after a hit"},
		"packing.sink_in_rough_pct":                 {"sinks further in rough ground", "sinks less in rough ground"},
		"rough.median_mm_s":                         {"moves more over rough ground", "moves less over rough ground"},
	}
	w, ok := words[key]
	return w[0], w[1], ok
}

// isClear says whether a difference has a verdict that something differs, and which way.
func isClear(e *compare.Estimate) (differs, higher bool) {
	switch e.Verdict {
	case compare.Higher, compare.HigherPair:
		return true, true
	case compare.Lower, compare.LowerPair:
		return true, false
	}
	return false, false
}

// clearOf are the differences of a family that are clear, the largest against its smallest change worth feeling first.
func clearOf(c *compare.Comparison, family compare.Family) []*compare.Difference {
	var out []*compare.Difference
	for i := range c.Differences {
		d := &c.Differences[i]
		if differs, _ := isClear(&d.Estimate); differs && d.Family == family {
			out = append(out, d)
		}
	}
	slices.SortStableFunc(out, func(a, b *compare.Difference) int { return cmp.Compare(inSteps(b), inSteps(a)) })
	return out
}

// inSteps is a difference in smallest changes worth feeling, without sign; 0 where none is set.
func inSteps(d *compare.Difference) float64 {
	step, ok := d.Step.Get()
	if !ok || step <= 0 {
		return 0
	}
	return max(d.Difference.Or(0), -d.Difference.Or(0)) / step
}

// action is what B does in a difference: "rebounds slower", or "has a higher …".
func action(d *compare.Difference) string {
	_, higher := isClear(&d.Estimate)
	up, down, ok := doing(d.Key)
	switch {
	case ok && higher:
		return up
	case ok:
		return down
	case higher:
		return "is higher in " + d.Label
	}
	return "is lower in " + d.Label
}

// amount is a difference with its interval: "−310 mm/s, 95 % interval −420 to −200".
func amount(d *compare.Difference) string {
	m := differenceMeasure(&d.Estimate, d.Unit)
	v, ok := d.Difference.Get()
	if !ok {
		return ""
	}
	s := m.change(v)
	if i := m.interval(d.Low, d.High); i != "" {
		s += ", 95" + gap + "% interval " + i
	}
	return s
}

// differenceMeasure is the measure in which a comparison of a figure is written.
func differenceMeasure(e *compare.Estimate, unit string) measure {
	detail := e.Difference
	lo, okLo := e.Low.Get()
	hi, okHi := e.High.Get()
	if okLo && okHi {
		detail = analyze.Value((hi-lo)/2, 1)
	}
	return measureOf(unit, detail, e.A, e.B)
}

// judgeComparison puts a comparison into words. It says only what the figures say.
func judgeComparison(c *compare.Comparison, s Sets) verdict {
	var v verdict
	for _, k := range worded(c.Caveats, setRuns(c)) {
		if k.Severity == analyze.Warning {
			v.Poor = append(v.Poor, warningWords(k.Text, setRuns(c)))
		}
	}
	judged, n := clearOf(c, compare.Primary), 0
	for i := range c.Differences {
		if d := &c.Differences[i]; d.Family == compare.Primary && d.Verdict != compare.NotJudged {
			n++
		}
	}
	if n == 0 {
		v.Line = "The runs cannot be judged against one another."
		if why := notJudgedWhy(c); why != "" {
			v.Line = "The runs cannot be judged against one another: " + why + "."
		}
		return v
	}
	b := named("B", s.NameB)
	if len(judged) == 0 {
		v.Line = fmt.Sprintf("No clear difference between A and %s: none of the %d main figures differs by more than the runs of one set do.", b, n)
		if c.Scope != "" {
			v.Line = fmt.Sprintf("No clear difference within this pair of runs: none of the %d main figures differs by more than parts of a run do.", n)
		}
	} else {
		var parts []string
		for _, d := range judged[:min(3, len(judged))] {
			p := action(d) + " (" + amount(d)
			if w := sizeWords(d.Size); w != "" {
				p += "; " + w
			}
			parts = append(parts, p+")")
		}
		line := b + " " + listed(parts)
		if more := len(judged) - len(parts); more > 0 {
			line += fmt.Sprintf("; %s", counted(more, "other main figure also differs clearly", "other main figures also differ clearly"))
		} else {
			line += "; nothing else among the " + fmt.Sprint(n) + " main figures clearly differs"
		}
		if c.Scope != "" {
			line = "In these two runs " + line
		}
		v.Line = line + "."
	}
	if more := len(clearOf(c, compare.Secondary)); more > 0 {
		v.Line += fmt.Sprintf(" Of the other figures, %s.", counted(more, "differs clearly", "differ clearly"))
	}
	if c.Scope != "" {
		v.Line += " This is within-run only: two runs of one setting are often called different too."
	}
	return v
}

func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// notJudgedWhy is the first reason why a main figure was not judged.
func notJudgedWhy(c *compare.Comparison) string {
	for i := range c.Differences {
		if d := &c.Differences[i]; d.Family == compare.Primary && d.Why != "" {
			return d.Why
		}
	}
	return ""
}

// listed joins clauses: "a, b and c".
func listed(s []string) string {
	if n := len(s); n > 1 {
		return strings.Join(s[:n-1], ", ") + " and " + s[n-1]
	}
	return strings.Join(s, "")
}

// sizeWords are the words of a size that say something.
func sizeWords(size string) string {
	if size == compare.SizeNone || size == compare.SizeUnknown {
		return ""
	}
	return size
}

// canSay lists what the comparison shows, in plain words.
func canSay(c *compare.Comparison, s Sets) []string {
	var out []string
	for _, d := range clearOf(c, compare.Primary) {
		m := differenceMeasure(&d.Estimate, d.Unit)
		t := fmt.Sprintf("B %s: %s from %s to %s", action(d), d.Label, m.number(d.A.Or(0)), m.text(d.B.Or(0)))
		if i := m.interval(d.Low, d.High); i != "" {
			t += " (95" + gap + "% interval of the change " + i + ")"
		}
		if w := sizeWords(d.Size); w != "" {
			t += ", " + w
		}
		if c.Scope != "" {
			t = "In these two runs " + t
		}
		out = append(out, t+".")
	}
	var same []string
	for i := range c.Differences {
		d := &c.Differences[i]
		if d.Family == compare.Primary && d.Verdict == compare.NoClear && d.Size == compare.SizeSmall {
			same = append(same, d.Label)
		}
	}
	if len(same) > 0 {
		out = append(out, "Any difference is too small to feel, by the smallest changes set below, in "+listed(same)+".")
	}
	if len(clearOf(c, compare.Primary)) > 0 && c.Scope == "" {
		out = append(out, "If the setting did nothing, one or more false findings among all the main figures would come up in fewer than 5 of 100 such tests.")
	}
	return out
}

// cannotSay lists what the comparison does not show.
func cannotSay(c *compare.Comparison) []string {
	var out []string
	if c.Scope != "" {
		out = append(out, "Whether the next runs would show the same. With one run a side the intervals are within-run only: run-to-run variation is unknown, and "+compare.SameSettingPairs()+".")
	}
	var open []string
	most := 0.0
	for i := range c.Differences {
		d := &c.Differences[i]
		if d.Family != compare.Primary || d.Verdict != compare.NoClear || d.Size == compare.SizeSmall {
			continue
		}
		open = append(open, d.Label)
		if d.Size == compare.SizeMaybe {
			most = max(most, d.RunsNeeded.Or(0))
		}
	}
	if len(open) > 0 {
		t := "That A and B are the same in " + listed(open) + ": no clear difference was found, and a difference that can be felt is not ruled out."
		if most > 0 {
			t += fmt.Sprintf(" About %.0f runs a side would be needed to find differences of the sizes seen.", most)
		}
		out = append(out, t)
	}
	for i := range c.LeftOut {
		l := &c.LeftOut[i]
		out = append(out, fmt.Sprintf("Anything about %s, which was left out of %s: %s.", runName(l.Name), l.Set, l.Doubt.Why))
	}
	for _, k := range c.Caveats {
		if k.Severity == analyze.Warning && slices.Contains([]string{"speed", "sag", "setting", "order"}, k.Topic) {
			out = append(out, "That it was the setting alone, because something else differed or was not held apart: see the warnings at the top.")
			break
		}
	}
	return append(out,
		"Which setting is better. Figures say how the fork moved, not how it rode.",
		"What happens on another trail, at another pace or with another rider.")
}
