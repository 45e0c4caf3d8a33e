package advice

import (
	"fmt"
	"math"

	"stanchion/ingest"
)

// propose is the change that a rule stands for, from how the fork is set where that is known.
func propose(in *Input, r *ingest.Rule, found Finding) Proposal {
	p := Proposal{Finding: found, Why: r.Why, Watch: r.Watch, Worse: r.Worse}
	now, known := in.Now[r.Setting]
	sign := direction(r)
	if known && sign != 0 {
		step := r.Size
		if r.Setting == ingest.RulePressure {
			step = now * r.Size / 100
		}
		target := now + sign*step
		if r.Setting == ingest.RulePressure {
			target = math.Round(target)
		}
		p.From, p.Target = &now, &target
	}
	p.Change = p.changeWords(p.From, p.Target)
	return p
}

// direction is 1 where the setting's number goes up, −1 where it goes down, 0 where it stays.
func direction(r *ingest.Rule) float64 {
	switch r.Direction {
	case "raise", "add", "open":
		return 1
	case "lower", "remove", "close":
		return -1
	}
	return 0
}

// forbid says why the fork leaves no room for a change, "" where it does.
func (l *Limits) forbid(r *ingest.Rule, p *Proposal) string {
	if p.Target == nil {
		return ""
	}
	to, from := *p.Target, *p.From
	switch r.Setting {
	case ingest.RulePressure:
		if l.MaxPressurePSI > 0 && to > l.MaxPressurePSI {
			return fmt.Sprintf("%s psi would be above the maker's maximum of %s psi", plain(to), plain(l.MaxPressurePSI))
		}
	case ingest.RuleSpacers:
		if to < 0 {
			return fmt.Sprintf("only %s fitted", counted(from, "spacer is", "spacers are"))
		}
		if l.MaxSpacers > 0 && to > float64(l.MaxSpacers) {
			return fmt.Sprintf("no more than %s", counted(float64(l.MaxSpacers), "spacer fits", "spacers fit"))
		}
	default:
		return l.forbidClicks(r, from, to)
	}
	return ""
}

// forbidClicks keeps an adjuster within its clicks, and out of where a sweep showed that it does nothing.
func (l *Limits) forbidClicks(r *ingest.Rule, from, to float64) string {
	a := l.Adjusters[r.Setting]
	name := settingWords(r.Setting)
	switch {
	case to < 0:
		return fmt.Sprintf("%s stands at %s from closed already", name, counted(from, "click", "clicks"))
	case a.Clicks > 0 && to > a.Clicks:
		return fmt.Sprintf("%s stands at %s of its %s already", name, plain(from), counted(a.Clicks, "click", "clicks"))
	case a.UsableTo > a.UsableFrom && (to > a.UsableTo && to > from || to < a.UsableFrom && to < from):
		return fmt.Sprintf("a sweep showed that %s does something from %s to %s clicks only", name, plain(a.UsableFrom), plain(a.UsableTo))
	}
	return ""
}
