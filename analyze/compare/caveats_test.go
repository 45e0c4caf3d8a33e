package compare

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"stanchion/analyze"
)

// confounded is two sets of two made runs, changed by f.
func confounded(t *testing.T, opt Options, f func(set string, i int, r *Run)) *Comparison {
	t.Helper()
	var sets [2][]Run
	for k, set := range []string{"A", "B"} {
		for i := range 2 {
			r := made(fmt.Sprint(set, i), []byte{byte(10 + 3*i + 50*k), 30, 40, byte(51 + i), 62, byte(73 + 2*i + k), 80, 90, 100, 110, 120})
			r.Result.Ride.RidingS, r.Result.Sag.StaticMM = analyze.Value(60+float64(i), 1), analyze.Value(30, 1)
			r.Order = 1 + 2*i + k
			if k == 1 && i == 1 { // A B B A
				r.Order = 3
			} else if k == 0 && i == 1 {
				r.Order = 4
			}
			r.Settings = map[string]string{"temperature_c": "14", "rebound_clicks": fmt.Sprint(9 - 4*k)}
			f(set, i, &r)
			sets[k] = append(sets[k], r)
		}
	}
	return compared(t, sets[0], sets[1], opt)
}

// Each thing that could explain a difference is told, and nothing where all is well.
func TestConfounders(t *testing.T) {
	varied := DefaultOptions()
	varied.Varied = []string{"rebound_clicks"}
	set := func(key, value string) func(string, int, *Run) {
		return func(s string, _ int, r *Run) {
			if s == "B" {
				r.Settings[key] = value
			}
		}
	}
	for name, c := range map[string]struct {
		opt    Options
		change func(set string, i int, r *Run)
		topic  string // of the one warning; "" none
		text   string
	}{
		"all well":        {varied, func(string, int, *Run) {}, "", ""},
		"not meant":       {DefaultOptions(), func(string, int, *Run) {}, "setting", "rebound_clicks differs too (A: 9; B: 5)"},
		"colder":          {varied, set("temperature_c", "8"), "setting", "temperature_c differs too"},
		"a little colder": {varied, set("temperature_c", "11"), "", ""},
		"rider":           {varied, func(s string, _ int, r *Run) { r.Settings["rider"] = s }, "setting", "rider differs too (A: A; B: B)"},
		"nothing changed": {varied, set("rebound_clicks", "9"), "setting", "does not differ"},
		"a mixture":       {varied, func(s string, i int, r *Run) { set("rebound_clicks", fmt.Sprint(4+i))(s, i, r) }, "setting", "mixtures"},
		"two at once":     {func() Options { o := varied; o.Varied = []string{"rebound_clicks", "psi"}; return o }(), func(s string, _ int, r *Run) { r.Settings["psi"] = fmt.Sprint(len(s) + int(s[0])) }, "setting", "changed together"},
		"faster": {varied, func(s string, _ int, r *Run) {
			if s == "B" {
				r.Result.Ride.RidingS = analyze.Value(55, 1)
			}
		}, "speed", "faster (55.0 s against 60.5 s)"},
		"other sag": {varied, func(s string, _ int, r *Run) {
			if s == "B" {
				r.Result.Sag.StaticMM = analyze.Value(34, 1)
			}
		}, "sag", "4.0 mm"},
		"one set after another": {varied, func(s string, i int, r *Run) { r.Order = int(s[0]-'A')*2 + i + 1 }, "order", "A was ridden first"},
		"the other set first":   {varied, func(s string, i int, r *Run) { r.Order = int('B'-s[0])*2 + i + 1 }, "order", "B was ridden first"},
		"another reference": {varied, func(s string, _ int, r *Run) {
			r.Result.Packing.Reference = map[string]string{"A": analyze.ReferenceStatic, "B": analyze.ReferenceCalm}[s]
		}, "reference", "do not mean the same"},
		"order unknown (a note)": {varied, func(_ string, _ int, r *Run) { r.Order = 0 }, "", ""},
	} {
		got := confounded(t, c.opt, c.change)
		var warnings []analyze.Caveat
		for _, w := range got.Caveats {
			if w.Severity == analyze.Warning {
				warnings = append(warnings, w)
			}
		}
		switch {
		case c.topic == "" && len(warnings) > 0:
			t.Errorf("%s: %v", name, warnings)
		case c.topic != "" && (len(warnings) != 1 || warnings[0].Topic != c.topic || !strings.Contains(warnings[0].Text, c.text)):
			t.Errorf("%s: %v, want one about %s with %q", name, warnings, c.topic, c.text)
		}
	}
	unknown := confounded(t, varied, func(_ string, _ int, r *Run) { r.Order = 0 })
	if !slices.ContainsFunc(unknown.Caveats, func(c analyze.Caveat) bool { return c.Topic == "order" && c.Severity == analyze.Note }) {
		t.Errorf("unknown order: %v", unknown.Caveats)
	}
}

// A figure that some runs lack is compared over the rest, and says so; one that a set lacks is absent with the reason.
func TestMissingFigures(t *testing.T) {
	c := confounded(t, DefaultOptions(), func(set string, i int, r *Run) {
		if set == "B" && i == 0 {
			r.Result.Velocity.Rebound.Q95MMS = analyze.Absent("too slow a log")
		}
		if set == "B" {
			r.Result.Sag.DynamicMM = analyze.Absent("no riding")
		}
	})
	d := find(t, c, "velocity.rebound.q95_mm_s")
	if d.RunsB != 1 || d.Method != SingleT || !slices.ContainsFunc(d.Caveats, func(s string) bool { return strings.Contains(s, "absent from 1 of 2 runs of B: too slow a log") }) {
		t.Errorf("%+v", d)
	}
	d = find(t, c, "sag.dynamic_median_mm")
	if d.Difference.OK() || d.Verdict != NotJudged || d.Difference.Reason() != "absent from B: no riding" {
		t.Errorf("%+v", d)
	}
}

// Every figure that is judged has a smallest change worth feeling, and every key in the tables is a figure.
func TestTablesFit(t *testing.T) {
	keys := map[string]bool{}
	opt := DefaultOptions()
	res := &analyze.Result{}
	res.Spectrum.Bands = []analyze.Band{{Name: "chassis"}, {Name: "wheel"}, {Name: "chatter"}}
	count := map[Family]int{}
	for _, s := range res.Scalars() {
		keys[s.Key] = true
		f := opt.family(s.Key)
		count[f]++
		if _, ok := opt.Steps[s.Key]; !ok && f != Context {
			t.Errorf("%s has no smallest change", s.Key)
		}
	}
	for k := range opt.Steps {
		if !keys[k] {
			t.Errorf("the smallest change of %q is of no figure", k)
		}
	}
	for _, k := range slices.Concat(opt.Primary, opt.Context) {
		if !keys[k] && !strings.HasSuffix(k, ".") {
			t.Errorf("%q is no figure", k)
		}
	}
	for kind, m := range DefaultMoves() {
		for _, k := range slices.Concat(m.Should, m.ShouldNot) {
			if !keys[k] {
				t.Errorf("%s: %q is no figure", kind, k)
			}
		}
	}
	for _, p := range partials() {
		if !keys[p.key] {
			t.Errorf("%q is no figure", p.key)
		}
	}
	if count[Primary] != len(opt.Primary) || count[Primary] > 10 {
		t.Errorf("%d primary figures", count[Primary])
	}
}
