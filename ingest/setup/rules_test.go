package setup

import (
	"errors"
	"strings"
	"testing"

	"stanchion/ingest"
)

const oneRule = `need = [ { figure = "ride.riding_s", over = 30 } ]
[[rule]]
name = "deep"
symptom = "it is deep"
when = [
  { figure = "sag.static_pct", over = 30, margin = 1, min_n = 2 },
  { figure = "travel.bottom_outs", over = 2, per_min = true },
]
unless = [ { figure = "damping.zeta", under = 0.4, low = "damping.zeta_low", high = "damping.zeta_high" } ]
setting = "pressure"
direction = "raise"
size = 7
why = "w"
watch = "x"
worse = "y"
`

func TestParseRules(t *testing.T) {
	table, err := ParseRules("r.toml", []byte(oneRule))
	if err != nil {
		t.Fatal(err)
	}
	r := table.Rules[0]
	if len(table.Need) != 1 || table.Source != "r.toml" || r.Name != "deep" || r.Setting != ingest.RulePressure || r.Size != 7 || len(r.When) != 2 || len(r.Unless) != 1 {
		t.Fatalf("%+v", table)
	}
	if want := (ingest.RuleCondition{Figure: "sag.static_pct", Over: true, Limit: 30, Margin: 1, MinN: 2, Line: 6}); r.When[0] != want {
		t.Errorf("got %+v, want %+v", r.When[0], want)
	}
	if c := r.When[1]; !c.PerMin || c.Line != 7 {
		t.Errorf("%+v", c)
	}
	if c := r.Unless[0]; c.Over || c.Limit != 0.4 || c.High != "damping.zeta_high" {
		t.Errorf("%+v", c)
	}
}

func TestDefaultRules(t *testing.T) {
	table, err := ParseRules("rules.toml", []byte(DefaultRules()))
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range table.Rules {
		if r.Setting == ingest.RuleService && !strings.Contains(DefaultRules(), "service centre") {
			t.Errorf("rule %s does not send to a service centre", r.Name)
		}
		if r.Setting != ingest.RuleService && r.Direction != "equalise" && r.Size > 10 {
			t.Errorf("rule %s takes %g in one step", r.Name, r.Size)
		}
	}
}

func TestParseRulesNamesWhatIsWrong(t *testing.T) {
	change := func(old, new string) string { return strings.Replace(oneRule, old, new, 1) }
	for text, want := range map[string]string{
		"":                          "rule is missing: each rule is a table [[rule]]",
		"rule = 3":                  `must be a list like [ { figure = "sag.static_pct", over = 30 }, … ]`,
		change("why = \"w\"\n", ""): "r.toml:2: rule[1].why is missing",
		change("symptom", "symtom"): "r.toml:4: rule[1].symtom is not a known key; did you mean symptom?",
		change("margin", "margn"):   "r.toml:6: rule[1].when[1].margn is not a known key; did you mean margin?",
		change("over = 30, margin", "under = 1, over = 30, margin"):                                 "r.toml:6: rule[1].when[1] must have one of over and under",
		change("over = 2, per_min", "per_min"):                                                      "r.toml:7: rule[1].when[2] must have one of over and under",
		change(`"raise"`, `"open"`):                                                                 `r.toml:11: rule[1].direction is "open", but must be one of raise, lower, equalise`,
		change(`"pressure"`, `"Shim Stack"`):                                                        `r.toml:10: rule[1].setting is "Shim Stack", but must be pressure`,
		change("size = 7\n", ""):                                                                    "rule[1].size is missing",
		change("size = 7", "size = 70"):                                                             "r.toml:12: rule[1].size is 70, but must be a number from 0.1 to 50",
		change("over = 2, per_min = true", "over = 2, per_min = true, margin = 3"):                  "r.toml:7: rule[1].when[2] is a count, which leaves no room",
		change(`, high = "damping.zeta_high"`, ""):                                                  "rule[1].unless[1] must have both of low and high",
		change(`"pressure"`, `"service"`):                                                           "direction is \"raise\", but must be one of ask",
		oneRule + strings.TrimPrefix(oneRule, `need = [ { figure = "ride.riding_s", over = 30 } ]`): `rule[2].name is "deep", as that of another rule`,
		change("when = [", "when = [] #["):                                                          "expected",
	} {
		_, err := ParseRules("r.toml", []byte(text))
		var e *Error
		if !errors.As(err, &e) || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v\nwant %s\nof %s", err, want, text)
		}
	}
}

func TestAdjusters(t *testing.T) {
	text := "[fork]\ntravel_mm = 160\n\n[adjuster.hsc]\nusable_from = 1\nusable_to = 6.5\n\n[adjuster.rebound]\nclicks = 16\nusable_from = 2\nusable_to = 11\n"
	f, err := Parse("f", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	if got := f.Setup.Adjusters; len(got) != 2 || got["rebound"] != (ingest.Adjuster{Clicks: 16, UsableFrom: 2, UsableTo: 11}) || got["hsc"].UsableTo != 6.5 {
		t.Errorf("%+v", got)
	}
	if again := Format(f.Setup, nil); !strings.HasSuffix(again, strings.TrimPrefix(text, "[fork]\ntravel_mm = 160\n")) {
		t.Errorf("written as\n%s", again)
	}
	for table, want := range map[string]string{
		"clicks = 0":                                 "f:4: adjuster.rebound.clicks is 0",
		"usable_from = 2":                            "must have both of usable_from and usable_to",
		"usable_from = 5\nusable_to = 3":             "f:5: adjuster.rebound.usable_to is 3, but must be more than usable_from, 5",
		"clicks = 8\nusable_from = 5\nusable_to = 9": "usable_to is 9, but the adjuster has 8 clicks",
		"click = 8":                                  "did you mean clicks?",
		"":                                           "says nothing",
	} {
		_, err := Parse("f", []byte("[fork]\ntravel_mm = 160\n[adjuster.rebound]\n"+table))
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %s", table, err, want)
		}
	}
}

// FuzzParseRules checks that no table panics, that what is read obeys the bounds, and that an error has something to say.
func FuzzParseRules(f *testing.F) {
	f.Add([]byte(oneRule))
	f.Add([]byte("need = [ 3 ]\n[[rule]]\nwhen = [ { figure = 1, over = nan } ]\nunless = 4\nsize = inf\n"))
	f.Add([]byte(DefaultRules()))
	f.Fuzz(func(t *testing.T, data []byte) {
		table, err := ParseRules("r", data)
		if err != nil {
			if err.Error() == "" {
				t.Fatal("an error that says nothing")
			}
			return
		}
		if len(table.Rules) == 0 || len(table.Rules) > maxRules {
			t.Fatalf("%d rules", len(table.Rules))
		}
		for _, r := range table.Rules {
			if r.Name == "" || len(r.When) == 0 || len(r.When) > maxConditions || len(r.Symptom) > maxRuleText {
				t.Fatalf("%+v", r)
			}
			for _, c := range append(r.When, r.Unless...) {
				if c.Figure == "" || !(c.Limit >= -1e9 && c.Limit <= 1e9) || !(c.Margin >= 0) {
					t.Fatalf("%+v", c)
				}
			}
		}
	})
}
