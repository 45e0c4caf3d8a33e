package compare

import (
	"errors"
	"fmt"
	"math"

	"stanchion/analyze"
)

// Compare says how set B differs from set A. Both need a run. It fails where the runs cannot be compared at all: a run without
// result, a run given twice, different forks, sample rates or analysis options.
func Compare(a, b []Run, opt Options) (*Comparison, error) {
	if len(a) == 0 || len(b) == 0 {
		return nil, errors.New("a set has no runs: give at least one run for A and one for B")
	}
	runs := append(append(make([]Run, 0, len(a)+len(b)), a...), b...)
	if err := check(runs); err != nil {
		return nil, err
	}
	if err := opt.check(); err != nil {
		return nil, err
	}
	opt = opt.clone()
	alignment := align(runs, &opt, func(kept []int) string { return emptied(kept, len(a)) })
	c := &comparing{opt: &opt, alignment: alignment, runs: alignment.rest(runs), nA: len(a)}
	for _, i := range alignment.leftOut() {
		if i < len(a) {
			c.nA--
		}
	}
	c.tally()
	out := &Comparison{
		SchemaVersion: SchemaVersion, Options: opt, Seed: opt.seed(c.runs), Alignment: c.alignment, Sections: []Section{},
	}
	for i := range c.runs {
		if s := c.setRun(i); i < c.nA {
			out.A = append(out.A, s)
		} else {
			out.B = append(out.B, s)
		}
	}
	for _, i := range alignment.leftOut() {
		l := LeftOut{SetRun: wholeRun(&runs[i]), Set: "A", Place: i + 1, Doubt: alignment.doubt(i)}
		if i >= len(a) {
			l.Set, l.Place = "B", i+1-len(a)
		}
		out.LeftOut = append(out.LeftOut, l)
	}
	out.Differences = c.differences(out.Seed)
	if len(c.runs) == 2 {
		out.Scope = WithinRun
	}
	out.Sections, out.NoSections = c.sections()
	out.Caveats = c.caveats(out)
	return out, nil
}

// comparing is the working state of a comparison.
type comparing struct {
	runs      []Run // A, then B
	nA        int
	opt       *Options
	alignment Alignment
	units     [][]tally // by run, each second of the shared ground; nil where not aligned
}

// tally goes through the signals of all runs, where they are aligned.
func (c *comparing) tally() {
	al := &c.alignment
	n := int(al.EndS - al.StartS)
	if al.Refused != "" || n < 1 {
		return
	}
	c.units = make([][]tally, len(c.runs))
	each(len(c.runs), func(i int) {
		g := newGauge(&c.runs[i])
		c.units[i] = g.units(&al.Runs[i], al.StartS, n)
	})
}

// wholeRun is what the results keep about a run, with the riding time of all of it.
func wholeRun(r *Run) SetRun {
	return SetRun{
		Name: r.name(), Hash: r.Hash, Order: r.Order, Settings: r.Settings, Recording: r.Result.Source,
		RidingS: r.Result.Ride.RidingS, StaticMM: r.Result.Sag.StaticMM,
	}
}

func (c *comparing) setRun(i int) SetRun {
	r := &c.runs[i]
	s := wholeRun(r)
	if c.units != nil {
		t := total(c.units[i])
		s.RidingS = analyze.Value(t.sum[sumN]/r.Signals.RateHz, len(c.units[i]))
	}
	return s
}

// differences compares every scalar figure and judges it within its family.
func (c *comparing) differences(seed uint64) []Difference {
	lists := make([]map[string]analyze.Figure, len(c.runs))
	for i := range c.runs {
		lists[i] = map[string]analyze.Figure{}
		for _, s := range c.runs[i].Result.Scalars() {
			lists[i][s.Key] = s.Figure
		}
	}
	var pairs map[string]Estimate
	if len(c.runs) == 2 && c.units != nil {
		pairs = pair(c.runs, [2][]tally{c.units[0], c.units[1]}, c.opt, seed)
	}
	var out []Difference
	for _, s := range c.runs[0].Result.Scalars() {
		d := Difference{Key: s.Key, Group: s.Group, Label: s.Label, Unit: s.Unit, Family: c.opt.family(s.Key)}
		for i := range c.runs {
			f, ok := lists[i][s.Key]
			if !ok {
				f = analyze.Absent("not among the figures of %s", c.runs[i].name())
			}
			if i < c.nA {
				d.ValuesA = append(d.ValuesA, f)
			} else {
				d.ValuesB = append(d.ValuesB, f)
			}
		}
		d.Estimate = c.estimate(&d, pairs)
		out = append(out, d)
	}
	c.judge(out)
	for i := range out {
		out[i].Caveats = c.notes(&out[i])
	}
	return out
}

func (c *comparing) estimate(d *Difference, pairs map[string]Estimate) Estimate {
	e := estimate(d.ValuesA, d.ValuesB)
	if len(c.runs) != 2 || !e.Difference.OK() {
		return e
	}
	if p, ok := pairs[d.Key]; ok {
		return p
	}
	why := "it cannot be recomputed for a part of a run, so one run a side gives no interval"
	if c.units == nil {
		why = "one run a side needs the runs aligned: " + c.alignment.Refused
	}
	return e.unjudged(why)
}

// judge words the verdicts, family by family, and what follows from them.
func (c *comparing) judge(list []Difference) {
	counts := map[Family]int{}
	for _, family := range []Family{Primary, Secondary} {
		var members []*Estimate
		for i := range list {
			if list[i].Family != family {
				continue
			}
			if c.alignment.OtherTrail {
				list[i].Estimate.notJudged(c.alignment.Refused)
			}
			members = append(members, &list[i].Estimate)
		}
		counts[family] = judge(members)
	}
	for i := range list {
		d := &list[i]
		if d.Family == Context {
			d.notJudged("it says what was ridden or recorded, not how the fork worked")
		}
		d.RankP = rankP(d.ValuesA, d.ValuesB)
		d.RunsNeeded = analyze.Absent("not judged")
		if d.Family != Context && !c.alignment.OtherTrail {
			d.RunsNeeded = needed(&d.Estimate, counts[d.Family], c.opt.Power)
		}
		step, ok := c.opt.step(d.Key, d.A.Or(math.NaN()))
		if !ok {
			d.Step, d.Size = analyze.Absent("none set for this figure"), SizeNone
			continue
		}
		d.Step, d.Size = analyze.Value(step, 0), SizeUnknown
		if !c.alignment.OtherTrail {
			d.Size = size(&d.Estimate, step)
		}
	}
}

// notJudged takes p and verdict away and keeps the interval.
func (e *Estimate) notJudged(why string) {
	if e.Why == "" {
		e.Why = why
	}
	e.P, e.HolmP, e.Verdict = analyze.Absent("%s", e.Why), analyze.Absent("%s", e.Why), NotJudged
}

func rankP(a, b []analyze.Figure) analyze.Figure {
	x, y := values(a), values(b)
	if len(x) < 2 || len(y) < 2 {
		return analyze.Absent("needs two runs a side")
	}
	_, p := mannWhitney(x, y)
	return analyze.Value(p, len(x)+len(y))
}

// notes are the caveats of one figure.
func (c *comparing) notes(d *Difference) []string {
	var out []string
	missing := func(set string, f []analyze.Figure, n int) {
		if n > 0 && n < len(f) {
			out = append(out, fmt.Sprintf("absent from %d of %d runs of %s: %s", len(f)-n, len(f), set, absentReason(f)))
		}
	}
	missing("A", d.ValuesA, d.RunsA)
	missing("B", d.ValuesB, d.RunsB)
	switch d.Method {
	case SingleT:
		out = append(out, "one set is a single run: its run-to-run spread is taken to be that of the other")
	case Bootstrap:
		out = append(out, WithinRun)
	}
	return append(out, ranksDisagree(d)...)
}

// ranksDisagree says where the rank test contradicts the t test. With three runs a side it cannot reach p < 0.05 at all.
func ranksDisagree(d *Difference) []string {
	p, okP := d.P.Get()
	rank, okRank := d.RankP.Get()
	switch {
	case !okP || !okRank || min(d.RunsA, d.RunsB) < 4 || max(p, rank) <= 0.2:
	case p < 0.05 && rank >= 0.05:
		return []string{fmt.Sprintf("the ranks of the runs do not confirm it (rank test p = %.2f): look for a single run that stands out", rank)}
	case p >= 0.05 && rank < 0.05:
		return []string{fmt.Sprintf("by their ranks the runs do differ (rank test p = %.3f): a single run that stands out may hide it", rank)}
	}
	return nil
}
