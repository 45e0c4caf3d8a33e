package report

import (
	"fmt"
	"io"
	"strings"

	"stanchion/analyze"
	"stanchion/analyze/advice"
)

// nextPanel is what to change next, for the page.
type nextPanel struct {
	Line    string
	Points  []nextPoint
	Caution string
	Summary string  // of what is folded
	Tables  []table // folded
	Missing []string
	Source  string
}

type nextPoint struct{ Name, Text string }

// nextOf lays an advice out, nil where there is none.
func nextOf(a *advice.Advice) *nextPanel {
	if a == nil {
		return nil
	}
	p := &nextPanel{Line: a.Sentence, Caution: a.Caution, Missing: a.Missing, Source: a.Table,
		Summary: fmt.Sprintf("The evidence (%d of %d rules could be judged)", a.Judged, a.Rules)}
	if f := a.First; f != nil {
		p.Points = []nextPoint{{"Why", f.Why}, {"Watch", f.Watch}, {"It would make worse", f.Worse}}
		if f.Note != "" {
			p.Points = append(p.Points, nextPoint{"From the logbook", f.Note})
		}
		p.Tables = append(p.Tables, evidenceTable("Evidence for this change", f.Evidence))
	}
	if len(a.Behind) > 0 {
		p.Points = append(p.Points, nextPoint{"Not now, one thing at a time", findingList(a.Behind)})
	}
	for _, t := range []struct {
		caption string
		list    []advice.Finding
	}{
		{"Look at these again after the next run", a.Behind}, {"Tried before", a.Tried}, {"No room for it on this fork", a.Blocked}, {"May be so, but in doubt", a.Unsure},
	} {
		if len(t.list) > 0 {
			p.Tables = append(p.Tables, findingTable(t.caption, t.list))
		}
	}
	return p
}

// findingList names findings in a line.
func findingList(list []advice.Finding) string {
	var parts []string
	for _, f := range list {
		parts = append(parts, f.Symptom)
	}
	return strings.Join(parts, "; ")
}

func evidenceTable(caption string, list []advice.Evidence) table {
	t := table{Caption: caption, Heads: []head{{Text: "Figure", Words: true}, {Text: "This run"}, {Text: "Between"}, {Text: "Limit"}, {Text: "Observations", Number: true}}}
	for i := range list {
		if e := &list[i]; !e.Exception {
			t.Rows = append(t.Rows, evidenceRow(e))
		}
	}
	return t
}

// evidenceRow is one figure against its limit.
func evidenceRow(e *advice.Evidence) row {
	value := text(absentMark)
	if v, ok := e.Value.Get(); ok {
		value = text(advice.Number(v, e.Unit))
	} else {
		value.Note = e.Value.Reason()
	}
	between := absentMark
	low, okLow := e.Low.Get()
	high, okHigh := e.High.Get()
	if okLow && okHigh && low < high {
		between = advice.Number(low, e.Unit) + " to " + advice.Number(high, e.Unit)
	}
	n := absentMark
	if e.Value.N() > 0 {
		n = whole(float64(e.Value.N()))
	}
	return row{Cells: []cell{text(e.Label), value, text(between), text(e.LimitWords()), text(n)}}
}

func findingTable(caption string, list []advice.Finding) table {
	t := table{Caption: caption, Heads: []head{{Text: "Symptom", Words: true}, {Text: "It would be", Words: true}, {Text: "Figures", Words: true}}}
	for i := range list {
		f := &list[i]
		c := text(f.Because())
		c.Note = f.Note
		t.Rows = append(t.Rows, row{Cells: []cell{text(sentence(f.Symptom)), text(f.Step()), c}})
	}
	return t
}

// adviceLine is the advice in one line of the terminal's summary.
func adviceLine(a *advice.Advice) string {
	switch {
	case a.Verdict == advice.ChangeOne:
		return "Next: " + a.First.Step() + ", as " + a.First.Symptom + "."
	case a.Verdict == advice.Nothing:
		return "Next: nothing to change by the table of rules."
	}
	return "Next: " + a.Sentence
}

// AdviceText writes an advice in a screen of 80 columns.
func AdviceText(w io.Writer, r *analyze.Result, a *advice.Advice, opt TextOptions) error {
	t := &screen{color: opt.Color}
	t.line(clip(runName(r.Source)+": "+forkName(r), textColumns))
	t.line("")
	t.wrap(a.Sentence, 5, boldColor)
	if f := a.First; f != nil {
		t.line("")
		for _, p := range []nextPoint{{"Why", f.Why}, {"Watch", f.Watch}, {"Worse", f.Worse}, {"Logbook", f.Note}} {
			t.named(p.Name, p.Text, 2)
		}
		t.named("Caution", a.Caution, 3)
	}
	for _, list := range []struct {
		name string
		all  []advice.Finding
	}{{"Behind it", a.Behind}, {"Tried", a.Tried}, {"No room", a.Blocked}, {"In doubt", a.Unsure}} {
		for i := range list.all {
			if i == 3 && !opt.All {
				t.named("", count(len(list.all)-i, "more; --all shows it", "more; --all shows them"), 1)
				break
			}
			f := &list.all[i]
			words := f.Symptom + " (" + f.Step() + ")"
			if f.Note != "" {
				words += ": " + f.Note
			}
			t.named(list.name, words, 3)
		}
	}
	for i, m := range a.Missing {
		if i == 2 && !opt.All {
			t.named("", count(len(a.Missing)-i, "more; --all shows it", "more; --all shows them"), 1)
			break
		}
		t.named("Missing", m, 2)
	}
	t.line(clip(fmt.Sprintf("(%d of %d rules of %s could be judged)", a.Judged, a.Rules, a.Table), textColumns))
	if _, err := io.WriteString(w, t.out.String()); err != nil {
		return fmt.Errorf("advice: %w", err)
	}
	return nil
}

// named writes text behind a name, over at most the given number of lines.
func (t *screen) named(name, words string, lines int) {
	words = clean(words)
	for i := 1; words != ""; i++ {
		head, rest := breakLine(words, textColumns-nameColumns)
		if i == lines && rest != "" {
			head, rest = clip(head+" …", textColumns-nameColumns), ""
		}
		t.line(pad(name) + head)
		name, words = "", rest
	}
}

// AdviceJSON writes an advice as indented JSON. Its form is described in schema-advice.md.
func AdviceJSON(w io.Writer, a *advice.Advice) error { return writeJSON(w, a) }
