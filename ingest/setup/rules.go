package setup

import (
	_ "embed" // the table that comes with the program
	"fmt"
	"io"
	"os"
	"regexp"

	"stanchion/ingest"
)

//go:embed rules.toml
var defaultRules string

// DefaultRules is the text of the table of rules that comes with the program.
func DefaultRules() string { return defaultRules }

// maxRules bounds a table, maxConditions a rule.
const (
	maxRules      = 200
	maxConditions = 20
	maxRuleText   = 600
)

// LoadRules reads the table of rules at path. Errors in its contents are of type *Error.
func LoadRules(path string) (ingest.RuleTable, error) {
	f, err := os.Open(path)
	if err != nil {
		return ingest.RuleTable{}, fmt.Errorf("table of rules: %w", err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, MaxBytes+1))
	if err != nil {
		return ingest.RuleTable{}, fmt.Errorf("table of rules: %w", err)
	}
	return ParseRules(path, data)
}

// ParseRules reads the contents of a table of rules; name stands for it in errors, which are of type *Error. Whether the figures that
// it names exist is for the one who computes them to say.
func ParseRules(name string, data []byte) (ingest.RuleTable, error) {
	top, err := decode(name, data)
	if err != nil {
		return ingest.RuleTable{}, err
	}
	c := &checker{lines: findLines(string(data)), example: `{ figure = "sag.static_pct", over = 30 }`}
	root := section{c: c, values: top}
	t := ingest.RuleTable{Source: name, Need: c.conditions(&root, "need")}
	seen := map[string]bool{}
	for i, s := range root.sections("rule") {
		if i == maxRules {
			c.add("rule", "are more than %d", maxRules)
			break
		}
		r := c.rule(s)
		if r.Name != "" && seen[r.Name] {
			c.add(s.path+".name", "is %q, as that of another rule: each name once", r.Name)
		}
		seen[r.Name] = true
		t.Rules = append(t.Rules, r)
	}
	root.unknown()
	if len(t.Rules) == 0 && len(c.problems) == 0 {
		c.add("rule", "is missing: each rule is a table [[rule]]")
	}
	if len(c.problems) > 0 {
		return ingest.RuleTable{}, &Error{Path: name, Problems: c.sorted()}
	}
	return t, nil
}

var adjusterName = regexp.MustCompile(`^[a-z][a-z0-9_-]{0,30}$`)

// rule reads one rule.
func (c *checker) rule(s section) ingest.Rule {
	r := ingest.Rule{Line: c.lineOf(s.path)}
	for _, text := range []struct {
		key string
		dst *string
	}{{"name", &r.Name}, {"symptom", &r.Symptom}, {"setting", &r.Setting}, {"direction", &r.Direction}, {"why", &r.Why}, {"watch", &r.Watch}, {"worse", &r.Worse}} {
		s.text(text.key, text.dst)
		switch {
		case *text.dst == "":
			c.add(join(s.path, text.key), "is missing")
		case len(*text.dst) > maxRuleText:
			c.add(join(s.path, text.key), "is longer than %d characters", maxRuleText)
		}
	}
	if r.Setting != "" {
		if !adjusterName.MatchString(r.Setting) {
			c.add(s.path+".setting", "is %s, but must be pressure, spacers, service or the name of an adjuster, in small letters", show(r.Setting))
		} else if r.Direction != "" {
			s.oneOf("direction", &r.Direction, ingest.RuleDirections(r.Setting)...)
		}
	}
	sized := s.number("size", &r.Size, 0.1, 50)
	unsized := r.Setting == ingest.RuleService || r.Direction == "equalise"
	switch {
	case unsized && sized:
		c.add(s.path+".size", "is given, but there is no size to %s", r.Direction)
	case !unsized && !sized:
		c.add(s.path+".size", "is missing: percent of the pressure, or how many spacers or clicks")
	}
	r.When, r.Unless = c.conditions(&s, "when"), c.conditions(&s, "unless")
	if len(r.When) == 0 {
		c.add(s.path+".when", "is missing: without a condition a rule would always fire")
	}
	s.unknown()
	return r
}

// conditions reads a list of conditions.
func (c *checker) conditions(s *section, key string) []ingest.RuleCondition {
	var out []ingest.RuleCondition
	for i, at := range s.sections(key) {
		if i == maxConditions {
			c.add(join(s.path, key), "are more than %d", maxConditions)
			break
		}
		out = append(out, c.condition(at))
	}
	return out
}

func (c *checker) condition(s section) ingest.RuleCondition {
	r := ingest.RuleCondition{Line: c.lineOf(s.path)}
	s.text("figure", &r.Figure)
	if r.Figure == "" {
		c.add(s.path+".figure", "is missing: the key of a figure")
	}
	s.text("divided_by", &r.DividedBy)
	r.Over = s.number("over", &r.Limit, -1e9, 1e9)
	if under := s.number("under", &r.Limit, -1e9, 1e9); under == r.Over {
		c.add(s.path, "must have one of over and under")
	}
	s.number("margin", &r.Margin, 0, 1e9)
	s.whole("min_n", &r.MinN, 1, 1e9)
	s.flag("pct_of_travel", &r.PctOfTravel)
	s.flag("count", &r.Count)
	s.flag("per_min", &r.PerMin)
	s.text("low", &r.Low)
	s.text("high", &r.High)
	switch {
	case (r.Low == "") != (r.High == ""):
		c.add(s.path, "must have both of low and high, or none")
	case r.Low != "" && (r.Count || r.PerMin || r.DividedBy != "" || r.PctOfTravel || r.Margin != 0):
		c.add(s.path, "has low and high, which leave no room for count, per_min, divided_by, pct_of_travel or margin")
	case (r.Count || r.PerMin) && (r.DividedBy != "" || r.PctOfTravel || r.Margin != 0):
		c.add(s.path, "is a count, which leaves no room for divided_by, pct_of_travel or margin")
	}
	s.unknown()
	return r
}
