package advice

import (
	"fmt"

	"stanchion/ingest"
)

// Advise holds the table against the figures of a run. It fails where the table names what is not there: see Check.
func Advise(in Input) (*Advice, error) {
	if err := Check(in.Table); err != nil {
		return nil, err
	}
	f := newFigures(&in)
	a := &Advice{SchemaVersion: SchemaVersion, Table: in.Table.Source, Rules: len(in.Table.Rules),
		Behind: []Finding{}, Tried: []Finding{}, Blocked: []Finding{}, Unsure: []Finding{}, Missing: []string{}}
	if a.lacks(&f, in.Table.Need); len(a.Missing) > 0 {
		a.Verdict = NotEnough
		a.Sentence = a.sentence()
		return a, nil
	}
	var fires []Finding
	var byRule []*ingest.Rule
	for i := range in.Table.Rules {
		r := &in.Table.Rules[i]
		found, state := f.finding(r)
		switch state {
		case Holds:
			fires, byRule = append(fires, found), append(byRule, r)
			a.Judged++
		case Fails:
			a.Judged++
		case Doubt:
			a.Unsure = append(a.Unsure, found)
		case Absent:
			a.miss(found)
		}
	}
	for i, found := range fires {
		a.place(&in, byRule[i], found)
	}
	a.conclude()
	return a, nil
}

// lacks notes what of the table's needs is not there.
func (a *Advice) lacks(f *figures, need []ingest.RuleCondition) {
	for i := range need {
		e := f.judge(&need[i])
		if e.State == Holds {
			continue
		}
		if e.State == Absent {
			a.Missing = append(a.Missing, e.Doubt)
			continue
		}
		a.Missing = append(a.Missing, fmt.Sprintf("%s is %s: %s are needed", e.Label, Number(e.Value.Or(0), e.Unit), e.LimitWords()))
	}
}

// miss notes the figures that a rule lacks, each once.
func (a *Advice) miss(found Finding) {
	for _, e := range found.Evidence {
		if e.State != Absent || e.Exception || e.Value.Reason() == noUsable {
			continue
		}
		for _, m := range a.Missing {
			if m == e.Doubt {
				return
			}
		}
		a.Missing = append(a.Missing, e.Doubt)
		return
	}
}

// finding judges a rule: Holds where it fires, Fails where it does not, Doubt where it may, Absent where a figure is missing for it.
func (f *figures) finding(r *ingest.Rule) (Finding, State) {
	out := Finding{Rule: r.Name, Symptom: r.Symptom, Setting: r.Setting, Direction: r.Direction, Size: r.Size, Evidence: []Evidence{}}
	state := Holds
	worst := func(s State) {
		if rank(s) > rank(state) {
			state = s
		}
	}
	for i := range r.When {
		e := f.judge(&r.When[i])
		worst(e.State)
		out.Evidence = append(out.Evidence, e)
	}
	for i := range r.Unless {
		e := f.judge(&r.Unless[i])
		e.Exception = true
		switch e.State {
		case Holds:
			worst(Fails)
		case Doubt:
			worst(Doubt)
		}
		out.Evidence = append(out.Evidence, e)
	}
	return out, state
}

// rank orders states by what they make of a rule: one condition that fails settles it, whatever else is missing.
func rank(s State) int {
	switch s {
	case Holds:
		return 0
	case Doubt:
		return 1
	case Absent:
		return 2
	}
	return 3
}

// place puts a rule that fires where it belongs.
func (a *Advice) place(in *Input, r *ingest.Rule, found Finding) {
	p := propose(in, r, found)
	if why := in.Limits.forbid(r, &p); why != "" {
		found.Note = why
		a.Blocked = append(a.Blocked, found)
		return
	}
	note, vain := remembered(in, r, &p)
	switch {
	case vain:
		found.Note = note
		a.Tried = append(a.Tried, found)
	case a.First == nil:
		p.Note = note
		a.First = &p
	default:
		found.Note = note
		a.Behind = append(a.Behind, found)
	}
}

// conclude draws the verdict.
func (a *Advice) conclude() {
	switch {
	case a.First != nil:
		a.Verdict = ChangeOne
		a.Caution = caution(a.First)
	case len(a.Unsure)+len(a.Tried)+len(a.Blocked) > 0 || 2*a.Judged < a.Rules:
		a.Verdict = NotEnough
	default:
		a.Verdict = Nothing
	}
	a.Sentence = a.sentence()
}
