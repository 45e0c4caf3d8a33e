package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"stanchion/analyze"
	"stanchion/analyze/compare"
)

// positions writes a range of adjuster positions: "3 to 7 clicks".
func positions(r compare.Range, a *compare.Adjuster) string {
	return plainNumber(r.From) + " to " + plainNumber(r.To) + " " + plural(a.Unit)
}

// plural is the plural of the unit of an adjuster.
func plural(unit string) string {
	switch unit {
	case "", "click":
		return "clicks"
	case "turn", "spacer", "notch":
		return unit + "s"
	}
	return unit
}

// one is the unit of an adjuster after "a": "click", "psi".
func one(unit string) string {
	if unit == "" {
		return "click"
	}
	return unit
}

// adjusterName is the adjuster for headings.
func adjusterName(a *compare.Adjuster) string {
	if a.Kind != "" && string(a.Kind) != a.Name {
		return fmt.Sprintf("%s (%s)", a.Name, a.Kind)
	}
	return a.Name
}

func follows(r *compare.Response) bool {
	return r.Verdict == compare.Rises || r.Verdict == compare.Falls
}

// withRole are the responses of a role, those that follow the adjuster first.
func withRole(s *compare.SweepResult, role string) (all, follow []*compare.Response) {
	for i := range s.Responses {
		r := &s.Responses[i]
		if r.Role != role {
			continue
		}
		all = append(all, r)
		if follows(r) {
			follow = append(follow, r)
		}
	}
	return all, follow
}

// responseMeasure is the measure in which a response is written.
func responseMeasure(r *compare.Response) measure {
	size := 0.0
	for _, p := range r.Points {
		size = max(size, p.Mean.Or(0), -p.Mean.Or(0))
	}
	return measureFor(r.Unit, size, r.Spread.Or(0))
}

// slopeMeasure is the measure in which its change a click is written: about two digits.
func slopeMeasure(r *compare.Response) measure {
	m := responseMeasure(r)
	if v := max(r.Slope.Or(0), -r.Slope.Or(0)) * m.factor; v > 0 {
		m.decimals = int(max(0, min(4, 1-math.Floor(math.Log10(v)))))
	}
	return m
}

// slopeText is the change a click with its interval: "−45 mm/s a click (−60 to −30)".
func slopeText(r *compare.Response, a *compare.Adjuster) string {
	v, ok := r.Slope.Get()
	if !ok {
		return absentMark
	}
	m := slopeMeasure(r)
	s := m.change(v) + " a " + one(a.Unit)
	if i := m.interval(r.SlopeLow, r.SlopeHigh); i != "" {
		s += " (" + i + ")"
	}
	return s
}

// judgeSweep puts a sweep into words.
func judgeSweep(s *compare.SweepResult) verdict {
	var v verdict
	for _, k := range worded(s.Caveats, sweptRuns(s)) {
		if k.Severity == analyze.Warning {
			v.Poor = append(v.Poor, warningWords(k.Text, sweptRuns(s)))
		}
	}
	var say []string
	all, follow := withRole(s, compare.RoleShould)
	name := sentence(s.Adjuster.Name)
	switch {
	case s.Alignment.OtherTrail:
		v.Line = fmt.Sprintf("%s cannot be judged: %s.", name, s.Alignment.Refused)
		return v
	case len(all) == 0:
		follow = followers(s)
		if len(follow) == 0 {
			say = append(say, fmt.Sprintf("No figure clearly follows %s.", s.Adjuster.Name))
		} else {
			say = append(say, fmt.Sprintf("%s moves %s. What it should move is not known.", name, counted(len(follow), "figure clearly", "figures clearly")))
		}
	case !anyJudged(all):
		say = append(say, fmt.Sprintf("%s was not judged: %s.", name, strings.TrimSuffix(all[0].Why, ".")))
	case len(follow) == 0:
		say = append(say, fmt.Sprintf("%s does not clearly move any of the %d figures that it should.", name, len(all)))
	case len(follow) == len(all):
		say = append(say, fmt.Sprintf("%s moves all of the %d figures that it should.", name, len(all)))
	default:
		say = append(say, fmt.Sprintf("%s clearly moves %d of the %d figures that it should.", name, len(follow), len(all)))
	}
	if len(follow) > 0 {
		r := strongest(follow)
		say = append(say, fmt.Sprintf("Strongest: %s %s, %s.", r.Label, r.Verdict, slopeText(r, &s.Adjuster)))
		say = append(say, rangeWords(s)...)
		if cross := crosstalkLabels(s); len(cross) > 0 {
			say = append(say, "It also moves what it should leave alone: "+listed(cross)+".")
		} else if others, anyway := withRole(s, compare.RoleShouldNot); len(anyway) > 0 {
			say = append(say, "What it should leave alone hardly follows it.")
		} else if len(others) > 0 {
			say = append(say, "Nothing that it should leave alone follows it clearly.")
		} else if len(all) > 0 {
			say = append(say, "What it should leave alone is not known.")
		}
	}
	v.Line = strings.Join(say, " ")
	return v
}

// anyJudged says whether one of the responses has a verdict.
func anyJudged(list []*compare.Response) bool {
	return slices.ContainsFunc(list, func(r *compare.Response) bool { return r.Verdict != compare.NotJudged })
}

// followers are all figures that follow the adjuster.
func followers(s *compare.SweepResult) []*compare.Response {
	var out []*compare.Response
	for i := range s.Responses {
		if r := &s.Responses[i]; follows(r) {
			out = append(out, r)
		}
	}
	return out
}

// strongest is the response that is largest against the spread between runs.
func strongest(list []*compare.Response) *compare.Response {
	best := list[0]
	for _, r := range list {
		if r.Standard.Or(0) > best.Standard.Or(0) {
			best = r
		}
	}
	return best
}

// rangeWords names dead clicks and the usable range.
func rangeWords(s *compare.SweepResult) []string {
	var out []string
	if len(s.Dead) == 0 {
		out = append(out, "No dead "+plural(s.Adjuster.Unit)+" were found.")
	} else {
		var dead []string
		for _, r := range s.Dead {
			dead = append(dead, positions(r, &s.Adjuster))
		}
		out = append(out, "Dead from "+listed(dead)+": turning it there changes nothing that can be measured.")
	}
	if s.Usable != nil {
		out = append(out, "Usable from "+positions(*s.Usable, &s.Adjuster)+".")
	}
	return out
}

func crosstalkLabels(s *compare.SweepResult) []string {
	var out []string
	for i := range s.Responses {
		if r := &s.Responses[i]; r.Crosstalk {
			t := r.Label
			if v, ok := r.Ratio.Get(); ok {
				t += " (" + percent(100*v)
				if len(out) == 0 {
					t += " of the middling response of those that it should"
				}
				t += ")"
			}
			out = append(out, t)
		}
	}
	return out
}

// sweepCan lists what sweeps show.
func sweepCan(sweeps []*compare.SweepResult) []string {
	var out []string
	for _, s := range sweeps {
		name := sentence(s.Adjuster.Name) + ": "
		if len(sweeps) == 1 {
			name = ""
		}
		_, follow := withRole(s, compare.RoleShould)
		for _, r := range follow {
			out = append(out, sentence(fmt.Sprintf("%s%s %s, %s.", name, r.Label, r.Verdict, slopeText(r, &s.Adjuster))))
		}
		if len(follow) > 0 {
			out = append(out, name+strings.Join(rangeWords(s), " "))
		}
	}
	return out
}

// refusedWords say why no response of a sweep was judged, where the runs are not of one trail.
func refusedWords(s *compare.SweepResult) string {
	if !s.Alignment.OtherTrail {
		return ""
	}
	return "No response was judged, because " + s.Alignment.Refused + "."
}

// notClear says of the figures that an adjuster should move which were judged and stayed open, and which were not judged and why.
func notClear(name string, should []*compare.Response) []string {
	var out []string
	open := 0
	reasons, missing := []string{}, map[string][]string{}
	for _, r := range should {
		switch r.Verdict {
		case compare.NoResponse:
			open++
		case compare.NotJudged:
			if missing[r.Why] == nil {
				reasons = append(reasons, r.Why)
			}
			missing[r.Why] = append(missing[r.Why], r.Label)
		}
	}
	if open > 0 {
		out = append(out, fmt.Sprintf("%s: that it does nothing to the other %s. No clear response was found; more runs may show one.",
			name, counted(open, "figure that it should move", "figures that it should move")))
	}
	for _, why := range reasons {
		out = append(out, fmt.Sprintf("%s: what it does to %s, which could not be judged: %s.", name, listed(missing[why]), why))
	}
	return out
}

// sweepCannot lists what sweeps do not show.
func sweepCannot(sweeps []*compare.SweepResult) []string {
	var out []string
	for _, s := range sweeps {
		name := sentence(s.Adjuster.Name)
		all, _ := withRole(s, compare.RoleShould)
		if why := refusedWords(s); why != "" {
			out = append(out, name+": anything of what it moves. "+why)
		} else {
			out = append(out, notClear(name, all)...)
		}
		for i := range s.LeftOut {
			l := &s.LeftOut[i]
			out = append(out, fmt.Sprintf("%s: anything about %s at %s %s, which was left out: %s.", name, runName(l.Name), plainNumber(l.Clicks), plural(s.Adjuster.Unit), l.Doubt.Why))
		}
		unsure := false
		for _, r := range all {
			unsure = unsure || len(r.Unsure) > 0
		}
		if unsure {
			out = append(out, name+": whether the stretches marked as unsure are dead. They look flat, but the spread between runs is too large to say.")
		}
		for _, k := range s.Caveats {
			if k.Severity == analyze.Warning && slices.Contains([]string{"order", "speed", "setting"}, k.Topic) {
				out = append(out, name+": that it was the adjuster alone, because something else went along with it: see the warnings at the top.")
				break
			}
		}
	}
	return append(out, "Which position is best. Figures say how the fork moved, not how it rode.",
		"What happens beyond the positions ridden, or between them.")
}
