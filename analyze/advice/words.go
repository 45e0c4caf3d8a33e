package advice

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"stanchion/ingest"
)

// settingWords names a setting.
func settingWords(setting string) string {
	switch setting {
	case "lsc":
		return "low-speed compression"
	case "hsc":
		return "high-speed compression"
	}
	return setting
}

// settingValue is a value of a setting with its unit.
func settingValue(setting string, v float64) string {
	switch setting {
	case ingest.RulePressure:
		return plain(v) + " psi"
	case ingest.RuleSpacers:
		return counted(v, "spacer", "spacers")
	}
	return counted(v, "click", "clicks")
}

// Step is the change in words, without from where to where.
func (f *Finding) Step() string { return f.changeWords(nil, nil) }

// changeWords is the change in words, from where to where if that is known.
func (f *Finding) changeWords(from, target *float64) string {
	to := ""
	if target != nil {
		to = fmt.Sprintf(", from %s to %s", plain(*from), settingValue(f.Setting, *target))
	}
	switch {
	case f.Setting == ingest.RuleService:
		return "ask a service centre about friction: seals, bushings, oil"
	case f.Direction == "equalise":
		return "with the pump on, at the same pressure, push the fork slowly through the first third of its travel ten times, so that the negative chamber fills"
	case f.Setting == ingest.RulePressure:
		return fmt.Sprintf("%s the pressure by about %s %%%s", f.Direction, plain(f.Size), to)
	case f.Setting == ingest.RuleSpacers:
		return fmt.Sprintf("%s %s%s", f.Direction, counted(f.Size, "volume spacer", "volume spacers"), to)
	}
	if to != "" {
		to += " from fully closed"
	}
	return fmt.Sprintf("%s %s by %s%s", f.Direction, settingWords(f.Setting), counted(f.Size, "click", "clicks"), to)
}

// caution goes with a change.
func caution(p *Proposal) string {
	switch p.Setting {
	case ingest.RuleService:
		return "What needs tools inside the fork is for a service centre"
	case ingest.RulePressure, ingest.RuleSpacers:
		return "Stay within the pressures and spacers that the fork's maker allows, and follow the manual: let all air out before anything is opened"
	}
	return "Change nothing else, ride the same trail again and look at what is to be watched. Stay within the clicks of the adjuster and do not force it"
}

// LimitWords is the limit of a condition: "over 30 %".
func (e *Evidence) LimitWords() string {
	side := "under "
	if e.Over {
		side = "over "
	}
	return side + Number(e.Limit, e.Unit)
}

// Because is the evidence of a finding in a clause.
func (f *Finding) Because() string {
	var parts []string
	for i := range f.Evidence {
		if e := &f.Evidence[i]; !e.Exception && e.State != Absent {
			parts = append(parts, fmt.Sprintf("%s %s (%s)", e.Label, Number(e.Value.Or(0), e.Unit), e.LimitWords()))
		}
	}
	return strings.Join(parts, ", ")
}

// sentence is the whole in a sentence or two.
func (a *Advice) sentence() string {
	switch a.Verdict {
	case ChangeOne:
		s := sentence(a.First.Symptom) + ". " + sentence(a.First.Because()) + ". "
		if a.First.Setting == ingest.RuleService {
			return s + sentence(a.First.Change) + "."
		}
		return s + "Try one step: " + a.First.Change + "."
	case Nothing:
		return fmt.Sprintf("Nothing to change: of the %d rules that could be judged none fires.", a.Judged)
	}
	switch {
	case len(a.Tried) > 0:
		return fmt.Sprintf("Nothing new to try: %s, but this was %s.", a.Tried[0].Symptom, a.Tried[0].Note)
	case len(a.Blocked) > 0:
		return fmt.Sprintf("No room for a step: %s, but %s.", a.Blocked[0].Symptom, a.Blocked[0].Note)
	case len(a.Unsure) > 0:
		return fmt.Sprintf("Not enough evidence to change anything. It may be that %s, but %s.", a.Unsure[0].Symptom, a.Unsure[0].doubt())
	case len(a.Missing) > 0:
		return "Not enough evidence to change anything: " + a.Missing[0] + "."
	}
	return "Not enough evidence to change anything."
}

// doubt is the first thing in doubt about a finding.
func (f *Finding) doubt() string {
	for _, e := range f.Evidence {
		if e.State == Doubt {
			return e.Doubt
		}
	}
	return "it is in doubt"
}

// Number writes a figure with its unit, to three digits.
func Number(v float64, unit string) string {
	s := strconv.FormatFloat(v, 'g', 3, 64)
	if a := math.Abs(v); a >= 1000 || a != 0 && a < 0.001 {
		s = strconv.FormatFloat(v, 'f', 0, 64)
		if a < 1 {
			s = strconv.FormatFloat(v, 'f', 4, 64)
		}
	}
	switch unit {
	case "":
		return s
	case "share":
		return strconv.FormatFloat(100*v, 'f', 1, 64) + " %"
	case "1/min":
		return s + " a minute"
	}
	return s + " " + unit
}

// plain writes a number without a unit.
func plain(v float64) string { return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64) }

func counted(v float64, one, many string) string {
	if v == 1 {
		return "1 " + one
	}
	return plain(v) + " " + many
}

// sentence begins text with a capital letter.
func sentence(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(first)) + text[size:]
}
