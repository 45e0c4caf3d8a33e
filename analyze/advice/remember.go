package advice

import (
	"fmt"
	"math"

	"stanchion/analyze"
	"stanchion/ingest"
)

// remembered says what came of the same change before: vain where an earlier run with that setting (or further the same way) had the
// symptom as well, or left no figures to tell. Where the symptom was gone then, the note says so and the advice stands. The latest run
// that tells counts.
func remembered(in *Input, r *ingest.Rule, p *Proposal) (note string, vain bool) {
	if p.Target == nil {
		return "", false
	}
	for i := len(in.Earlier) - 1; i >= 0; i-- {
		e := &in.Earlier[i]
		was, known := e.Settings[r.Setting]
		if !known || !reached(r, was, p) || differsElsewhere(in.Now, e.Settings, r.Setting) {
			continue
		}
		at := fmt.Sprintf("tried on %s (%s): %s at %s", e.When, e.Name, settingWords(r.Setting), settingValue(r.Setting, was))
		then, told := figureThen(in, r, e)
		if !told {
			return at + ", and what came of it is not known", true
		}
		lead := &p.Evidence[0]
		words := fmt.Sprintf("%s; %s %s then, %s now", at, lead.Label, Number(then, lead.Unit), Number(lead.Value.Or(0), lead.Unit))
		if beyond(&r.When[0], then) {
			return words + ": it did not help enough", true
		}
		return words + ": it helped", false
	}
	return "", false
}

// reached says whether a value is the advised one, or further the same way. Half a step short of it counts as there.
func reached(r *ingest.Rule, was float64, p *Proposal) bool {
	return direction(r)*(was-*p.Target) >= -math.Abs(*p.Target-*p.From)/2
}

// differsElsewhere says whether two setups differ in another setting that both know: then one tells nothing about the other.
func differsElsewhere(a, b map[string]float64, but string) bool {
	for name, v := range a {
		if w, ok := b[name]; ok && name != but && w != v {
			return true
		}
	}
	return false
}

// figureThen is the value of a rule's first condition in an earlier run.
func figureThen(in *Input, r *ingest.Rule, e *Earlier) (float64, bool) {
	c := &r.When[0]
	then := figures{travelMM: in.Result.Fork.TravelMM, byKey: map[string]analyze.Scalar{}, minutes: analyze.Absent("not known")}
	for _, s := range in.Result.Scalars() {
		s.Figure = analyze.Absent("not kept")
		if v, ok := e.Figures[s.Key]; ok {
			s.Figure = analyze.Value(v, 1)
		}
		then.byKey[s.Key] = s
	}
	if s, ok := e.Figures["ride.riding_s"]; ok && s > 0 {
		then.minutes = analyze.Value(s/60, manyN)
	}
	m := then.measure(c)
	return m.Value.Get()
}

// beyond says whether a value lies on the side of the limit that makes the symptom.
func beyond(c *ingest.RuleCondition, v float64) bool {
	if c.Over {
		return v > c.Limit
	}
	return v < c.Limit
}
