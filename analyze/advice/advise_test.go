package advice

import (
	"encoding/json"
	"math"
	"os"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"stanchion/analyze"
	"stanchion/ingest"
)

// run is a result with enough riding to judge.
func run(change func(r *analyze.Result)) *analyze.Result {
	r := &analyze.Result{Fork: ingest.Fork{TravelMM: 160}}
	r.Ride.RidingS = analyze.Value(120, 120)
	r.Strokes.Compression.Count = analyze.Value(300, 300)
	r.Spectrum.Bands = []analyze.Band{{Name: "chassis"}, {Name: "wheel"}, {Name: "chatter"}}
	if change != nil {
		change(r)
	}
	return r
}

func rule(name, figure string, over bool, limit float64) ingest.Rule {
	return ingest.Rule{Name: name, Symptom: "it is " + name, When: []ingest.RuleCondition{{Figure: figure, Over: over, Limit: limit, Line: 3}},
		Setting: "pressure", Direction: "raise", Size: 10, Why: "w", Watch: "x", Worse: "y"}
}

func advise(t *testing.T, in Input) *Advice {
	t.Helper()
	a, err := Advise(in)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func sagOf(pct float64) func(*analyze.Result) {
	return func(r *analyze.Result) { r.Sag.StaticPct = analyze.Value(pct, 2) }
}

func TestFirstOfTheTable(t *testing.T) {
	table := ingest.RuleTable{Source: "t", Rules: []ingest.Rule{rule("deep", "sag.static_pct", true, 30), rule("deeper", "sag.static_pct", true, 20)}}
	a := advise(t, Input{Table: table, Result: run(sagOf(34))})
	if a.Verdict != ChangeOne || a.First.Rule != "deep" || len(a.Behind) != 1 || a.Behind[0].Rule != "deeper" || a.Caution == "" {
		t.Fatalf("%+v", a)
	}
	if want := "It is deep. Static sag 34 % (over 30 %). Try one step: raise the pressure by about 10 %."; a.Sentence != want {
		t.Errorf("%q, want %q", a.Sentence, want)
	}
	if a := advise(t, Input{Table: table, Result: run(sagOf(20))}); a.Verdict != Nothing || a.First != nil || a.Judged != 2 || a.Caution != "" {
		t.Errorf("at the limit: %+v", a)
	}
	a = advise(t, Input{Table: table, Result: run(nil)})
	if a.Verdict != NotEnough || len(a.Missing) != 1 || a.Judged != 0 {
		t.Errorf("without sag: %+v", a)
	}
}

func TestDoubt(t *testing.T) {
	table := ingest.RuleTable{Source: "t", Rules: []ingest.Rule{rule("deep", "sag.static_pct", true, 30)}}
	c := &table.Rules[0].When[0]
	state := func(v float64) State {
		t.Helper()
		f := newFigures(&Input{Result: run(sagOf(v))})
		return f.judge(c).State
	}
	c.Margin = 2
	for _, want := range []struct {
		v float64
		s State
	}{{29, Fails}, {30, Fails}, {31, Doubt}, {32, Doubt}, {32.1, Holds}} {
		if got := state(want.v); got != want.s {
			t.Errorf("%g with a margin: %s, want %s", want.v, got, want.s)
		}
	}
	c.MinN = 3 // the figure rests on 2
	if got := state(40); got != Doubt {
		t.Errorf("too few observations: %s", got)
	}
	a := advise(t, Input{Table: table, Result: run(sagOf(40))})
	if a.Verdict != NotEnough || len(a.Unsure) != 1 || !strings.Contains(a.Sentence, "2 of the 3 observations") {
		t.Errorf("%+v", a)
	}
}

// A count near its limit is in doubt as far as its exact interval reaches.
func TestCountsAreDoubted(t *testing.T) {
	table := ingest.RuleTable{Source: "t", Rules: []ingest.Rule{rule("hard", "travel.bottom_outs", true, 2)}}
	c := &table.Rules[0].When[0]
	c.PerMin = true
	for n, want := range map[float64]State{4: Fails, 5: Doubt, 8: Doubt, 9: Holds} { // in 2 min: lower bounds of 8 and 9 are 3.98 and 4.70
		f := newFigures(&Input{Result: run(func(r *analyze.Result) { r.Travel.BottomOuts = analyze.Value(n, int(n)) })})
		e := f.judge(c)
		if e.State != want || e.Unit != "1/min" || e.Value.N() != int(n) || e.Value.Or(0) != n/2 {
			t.Errorf("%g bottom-outs: %+v, want %s", n, e, want)
		}
	}
}

func TestOwnInterval(t *testing.T) {
	table := ingest.RuleTable{Source: "t", Rules: []ingest.Rule{rule("swings", "damping.zeta", false, 0.4)}}
	c := &table.Rules[0].When[0]
	c.Low, c.High = "damping.zeta_low", "damping.zeta_high"
	judge := func(low, high analyze.Figure) State {
		f := newFigures(&Input{Result: run(func(r *analyze.Result) {
			r.Damping.Zeta, r.Damping.ZetaLow, r.Damping.ZetaHigh = analyze.Value(0.3, 6), low, high
		})})
		return f.judge(c).State
	}
	if got := judge(analyze.Value(0.2, 6), analyze.Value(0.39, 6)); got != Holds {
		t.Errorf("all below: %s", got)
	}
	if got := judge(analyze.Value(0.2, 6), analyze.Value(0.5, 6)); got != Doubt {
		t.Errorf("across: %s", got)
	}
	if got := judge(analyze.Absent("few"), analyze.Absent("few")); got != Doubt {
		t.Errorf("no interval: %s", got)
	}
}

func TestUnlessAndRatioAndShareOfTravel(t *testing.T) {
	r := rule("sticks", "sag.friction_band_mm", true, 10)
	r.When[0].PctOfTravel = true
	r.When = append(r.When, ingest.RuleCondition{Figure: "travel.q99_mm", DividedBy: "travel.q95_mm", Over: true, Limit: 1.5})
	r.Unless = []ingest.RuleCondition{{Figure: "packing.count", Over: true, Limit: 3}}
	table := ingest.RuleTable{Source: "t", Rules: []ingest.Rule{r}}
	fork := func(packing analyze.Figure) *analyze.Result {
		return run(func(r *analyze.Result) {
			r.Sag.FrictionBandMM, r.Travel.Q99MM, r.Travel.Q95MM, r.Packing.Count = analyze.Value(20, 2), analyze.Value(80, 9), analyze.Value(50, 9), packing
		})
	}
	a := advise(t, Input{Table: table, Result: fork(analyze.Value(0, 0))})
	if a.First == nil || a.First.Evidence[0].Value.Or(0) != 12.5 || a.First.Evidence[1].Value.Or(0) != 1.6 {
		t.Fatalf("%+v", a)
	}
	if a := advise(t, Input{Table: table, Result: fork(analyze.Value(4, 4))}); a.Verdict != Nothing {
		t.Errorf("an exception that holds: %+v", a)
	}
	if a := advise(t, Input{Table: table, Result: fork(analyze.Absent("no"))}); a.First == nil {
		t.Errorf("an exception that is not known: %+v", a)
	}
}

func TestLimitsOfTheFork(t *testing.T) {
	one := func(setting, direction string, size float64) ingest.RuleTable {
		r := rule("deep", "sag.static_pct", true, 30)
		r.Setting, r.Direction, r.Size = setting, direction, size
		return ingest.RuleTable{Source: "t", Rules: []ingest.Rule{r}}
	}
	limits := Limits{MaxPressurePSI: 100, MaxSpacers: 3, Adjusters: map[string]ingest.Adjuster{"rebound": {Clicks: 12}, "hsc": {UsableFrom: 3, UsableTo: 8}}}
	for _, c := range []struct {
		setting, direction string
		size, now, target  float64
		note               string
	}{
		{"pressure", "raise", 10, 80, 88, ""},
		{"pressure", "raise", 10, 95, 0, "above the maker's maximum of 100 psi"},
		{"spacers", "add", 1, 2, 3, ""},
		{"spacers", "add", 1, 3, 0, "no more than 3 spacers fit"},
		{"spacers", "remove", 1, 0, 0, "only 0 spacers are fitted"},
		{"rebound", "open", 2, 10, 12, ""},
		{"rebound", "open", 2, 11, 0, "11 of its 12 clicks already"},
		{"rebound", "close", 2, 1, 0, "stands at 1 click from closed already"},
		{"hsc", "open", 2, 6, 8, ""},
		{"hsc", "open", 2, 7, 0, "does something from 3 to 8 clicks only"},
		{"hsc", "close", 2, 12, 10, ""}, // towards the usable range
	} {
		a := advise(t, Input{Table: one(c.setting, c.direction, c.size), Result: run(sagOf(40)), Limits: limits, Now: map[string]float64{c.setting: c.now}})
		switch {
		case c.note == "" && (a.First == nil || a.First.Target == nil || *a.First.Target != c.target):
			t.Errorf("%+v: %+v", c, a)
		case c.note != "" && (a.Verdict != NotEnough || len(a.Blocked) != 1 || !strings.Contains(a.Blocked[0].Note, c.note) || !strings.Contains(a.Sentence, c.note)):
			t.Errorf("%+v: %+v", c, a)
		}
	}
}

func TestRemembers(t *testing.T) {
	r := rule("packs", "packing.count", true, 2)
	r.Setting, r.Direction, r.Size = "rebound", "open", 2
	next := rule("deep", "sag.static_pct", true, 30)
	table := ingest.RuleTable{Source: "t", Rules: []ingest.Rule{r, next}}
	result := run(func(r *analyze.Result) {
		r.Packing.Count, r.Sag.StaticPct = analyze.Value(9, 9), analyze.Value(33, 2)
	})
	now := map[string]float64{"rebound": 5, "lsc": 8}
	try := func(e Earlier) *Advice {
		return advise(t, Input{Table: table, Result: result, Now: now, Earlier: []Earlier{e}})
	}
	if a := try(Earlier{"run 3", "2031-05-04", map[string]float64{"rebound": 7}, map[string]float64{"packing.count": 6}}); a.First.Rule != "deep" || len(a.Tried) != 1 ||
		a.Tried[0].Note != "tried on 2031-05-04 (run 3): rebound at 7 clicks; packing events 6 then, 9 now: it did not help enough" {
		t.Errorf("in vain: %+v", a)
	}
	if a := try(Earlier{"run 3", "2031-05-04", map[string]float64{"rebound": 8}, map[string]float64{"packing.count": 1}}); a.First.Rule != "packs" || !strings.HasSuffix(a.First.Note, "it helped") {
		t.Errorf("with success: %+v", a)
	}
	if a := try(Earlier{"run 3", "2031-05-04", map[string]float64{"rebound": 7}, nil}); a.First.Rule != "deep" || !strings.HasSuffix(a.Tried[0].Note, "not known") {
		t.Errorf("outcome not known: %+v", a)
	}
	for name, e := range map[string]Earlier{
		"not as far":        {"run 3", "d", map[string]float64{"rebound": 5}, map[string]float64{"packing.count": 9}},
		"another way":       {"run 3", "d", map[string]float64{"rebound": 3}, map[string]float64{"packing.count": 9}},
		"another lsc":       {"run 3", "d", map[string]float64{"rebound": 7, "lsc": 2}, map[string]float64{"packing.count": 9}},
		"rebound not known": {"run 3", "d", map[string]float64{"lsc": 8}, map[string]float64{"packing.count": 9}},
	} {
		if a := try(e); a.First.Rule != "packs" || a.First.Note != "" {
			t.Errorf("%s: %+v", name, a)
		}
	}
	a := advise(t, Input{Table: ingest.RuleTable{Source: "t", Rules: []ingest.Rule{r}}, Result: result, Now: now,
		Earlier: []Earlier{{"run 3", "2031-05-04", map[string]float64{"rebound": 7}, nil}}})
	if a.Verdict != NotEnough || !strings.HasPrefix(a.Sentence, "Nothing new to try: it is packs, but this was tried on 2031-05-04") {
		t.Errorf("all tried: %+v", a)
	}
}

func TestOutsideOfTheUsableRange(t *testing.T) {
	r := rule("out there", "adjuster.rebound.past_open", true, 0)
	r.Setting, r.Direction, r.Size = "rebound", "close", 1
	in := Input{Table: ingest.RuleTable{Source: "t", Rules: []ingest.Rule{r}}, Result: run(nil), Now: map[string]float64{"rebound": 13},
		Limits: Limits{Adjusters: map[string]ingest.Adjuster{"rebound": {UsableFrom: 2, UsableTo: 11}}}}
	if a := advise(t, in); a.First == nil || *a.First.Target != 12 || a.First.Evidence[0].Value.Or(0) != 2 {
		t.Errorf("%+v", a)
	}
	in.Now["rebound"] = 11
	if a := advise(t, in); a.Verdict != Nothing {
		t.Errorf("%+v", a)
	}
	in.Now = nil
	if a := advise(t, in); a.Verdict != NotEnough || len(a.Missing) != 1 {
		t.Errorf("%+v", a)
	}
	in.Limits = Limits{}
	if a := advise(t, in); a.Verdict != NotEnough || len(a.Missing) != 0 {
		t.Errorf("no usable range: %+v", a)
	}
}

func TestTooLittleRiding(t *testing.T) {
	table := ingest.RuleTable{Source: "t", Need: []ingest.RuleCondition{{Figure: "ride.riding_s", Over: true, Limit: 30}}, Rules: []ingest.Rule{rule("deep", "sag.static_pct", true, 30)}}
	a := advise(t, Input{Table: table, Result: run(func(r *analyze.Result) {
		r.Ride.RidingS = analyze.Value(12, 12)
		r.Sag.StaticPct = analyze.Value(40, 1)
	})})
	if a.Verdict != NotEnough || a.First != nil || !strings.Contains(a.Sentence, "riding is 12 s: over 30 s are needed") {
		t.Errorf("%+v", a)
	}
}

func TestCheckNamesTheLine(t *testing.T) {
	_, err := Advise(Input{Table: ingest.RuleTable{Source: "mine.toml", Rules: []ingest.Rule{rule("deep", "sag.statical_pct", true, 30)}}, Result: run(nil)})
	if err == nil || !strings.Contains(err.Error(), `mine.toml:3: rule "deep" names the figure "sag.statical_pct"`) {
		t.Errorf("%v", err)
	}
}

// Against closed forms and SciPy: testdata/poisson.json, made by testdata/poisson.py.
func TestPoissonInterval(t *testing.T) {
	low, high := poissonInterval(0) // e^−μ = 0.05
	if low != 0 || math.Abs(high+math.Log(0.05)) > 1e-9 {
		t.Errorf("of 0: %g to %g", low, high)
	}
	if low, _ := poissonInterval(1); math.Abs(low+math.Log(0.95)) > 1e-9 { // 1 − e^−μ = 0.05
		t.Errorf("of 1: from %g", low)
	}
	data, err := os.ReadFile("testdata/poisson.json")
	if err != nil {
		t.Fatal(err)
	}
	var want [][3]float64
	if err := json.Unmarshal(data, &want); err != nil || len(want) < 5 {
		t.Fatal(err, want)
	}
	for _, w := range want {
		low, high := poissonInterval(w[0])
		if math.Abs(low-w[1]) > 1e-7*(1+w[1]) || math.Abs(high-w[2]) > 1e-7*(1+w[2]) {
			t.Errorf("of %g: %g to %g, want %g to %g", w[0], low, high, w[1], w[2])
		}
	}
}

// A rule never fires on a figure that is absent, whatever the table, and the same input gives the same advice.
func TestAbsentNeverFires(t *testing.T) {
	keys := Keys()
	rapid.Check(t, func(t *rapid.T) {
		res := run(nil)
		present := map[string]bool{"ride.riding_s": true, "strokes.compression.count": true}
		sag, most := rapid.Bool().Draw(t, "sag"), rapid.Bool().Draw(t, "most")
		if sag {
			res.Sag.StaticPct, present["sag.static_pct"] = analyze.Value(rapid.Float64Range(-50, 150).Draw(t, "v"), 3), true
		}
		if most {
			res.Travel.MaxPct, present["travel.max_pct"] = analyze.Value(rapid.Float64Range(-50, 150).Draw(t, "m"), 3), true
		}
		key := rapid.OneOf(rapid.SampledFrom(keys), rapid.SampledFrom([]string{"sag.static_pct", "travel.max_pct", "adjuster.rebound.past_open"}))
		var table ingest.RuleTable
		for i := range rapid.IntRange(1, 6).Draw(t, "rules") {
			r := rule(string(rune('a'+i)), "", false, 0)
			r.When = nil
			for range rapid.IntRange(1, 3).Draw(t, "conditions") {
				c := ingest.RuleCondition{Figure: key.Draw(t, "key"), Over: rapid.Bool().Draw(t, "over"), Limit: rapid.Float64Range(-100, 100).Draw(t, "limit"),
					PerMin: rapid.Bool().Draw(t, "rate")}
				if !c.PerMin && rapid.Bool().Draw(t, "ratio") {
					c.DividedBy = key.Draw(t, "other")
				}
				r.When = append(r.When, c)
			}
			table.Rules = append(table.Rules, r)
		}
		in := Input{Table: table, Result: res}
		a, err := Advise(in)
		if err != nil {
			t.Fatal(err)
		}
		fired := append([]Finding{}, a.Behind...)
		if a.First != nil {
			fired = append(fired, a.First.Finding)
		}
		for _, f := range fired {
			for _, r := range table.Rules {
				for _, c := range r.When {
					if r.Name == f.Rule && (!present[c.Figure] || c.DividedBy != "" && !present[c.DividedBy]) {
						t.Fatalf("rule %s fired without %s / %s", r.Name, c.Figure, c.DividedBy)
					}
				}
			}
		}
		if again, _ := Advise(in); !reflect.DeepEqual(a, again) {
			t.Fatalf("twice: %+v and %+v", a, again)
		}
	})
}
