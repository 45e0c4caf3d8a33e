package advice

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"stanchion/analyze"
	"stanchion/ingest"
)

// Keys lists the keys of the figures that a table may name, apart from those of adjusters.
func Keys() []string {
	var out []string
	none := analyze.Result{Spectrum: analyze.Spectrum{Bands: []analyze.Band{{Name: "chassis"}, {Name: "wheel"}, {Name: "chatter"}}}}
	for _, s := range none.Scalars() {
		out = append(out, s.Key)
	}
	return out
}

// Check reports every figure that a table names and that does not exist, with the line.
func Check(t ingest.RuleTable) error {
	known := Keys()
	var problems []error
	check := func(where string, list []ingest.RuleCondition) {
		for _, c := range list {
			for _, key := range []string{c.Figure, c.DividedBy, c.Low, c.High} {
				if key == "" || slices.Contains(known, key) || ofAdjuster(key) {
					continue
				}
				problems = append(problems, fmt.Errorf("%s:%d: %s names the figure %q, which does not exist", t.Source, c.Line, where, key))
			}
		}
	}
	check("need", t.Need)
	for _, r := range t.Rules {
		check(fmt.Sprintf("rule %q", r.Name), r.When)
		check(fmt.Sprintf("rule %q", r.Name), r.Unless)
	}
	return errors.Join(problems...)
}

// ofAdjuster says whether a key is one that adjusterScalars makes.
func ofAdjuster(key string) bool {
	name, ok := strings.CutPrefix(key, "adjuster.")
	return ok && (strings.HasSuffix(name, "."+pastOpen) || strings.HasSuffix(name, "."+pastClosed))
}
