package report

import (
	"cmp"
	"fmt"
	"io"
	"strconv"
	"strings"

	"stanchion/analyze"
	"stanchion/analyze/compare"
)

// CompareHTML writes the page of a comparison: a single file that loads nothing. sets are the runs that were compared; where
// they have no signals there is no strip along the trail. The same input gives the same bytes.
func CompareHTML(w io.Writer, c *compare.Comparison, sets Sets, opt HTMLOptions) error {
	if err := checkFinite(c); err != nil {
		return err
	}
	p, err := comparePage(c, sets)
	if err != nil {
		return fmt.Errorf("page: %w", err)
	}
	return p.write(w, opt)
}

func comparePage(c *compare.Comparison, s Sets) (*study, error) {
	s = s.judged(c)
	p := &study{
		Title: versus(s), Mark: "setting sheet", Verdict: judgeComparison(c, s), Can: canSay(c, s), Cannot: cannotSay(c),
		Caveats: notesOf(worded(c.Caveats, setRuns(c))), Schema: c.SchemaVersion, Settings: compareSettings(c), Method: compareMethod(c),
		Sets: []setCard{{"a", named("A", s.NameA), runList(c.A)}, {"b", named("B", s.NameB), runList(c.B)}},
	}
	if len(s.A) > 0 {
		p.Sub = forkName(s.A[0].Result)
	}
	p.Sub = strings.Join(nonEmpty(p.Sub, counted(len(c.A), "run in A", "runs in A")+", "+counted(len(c.B), "run in B", "runs in B"), leftOutCount(len(c.LeftOut))), "; ")
	differences, err := differencesPart(c)
	if err != nil {
		return nil, err
	}
	spread, err := distributionsPart(s)
	if err != nil {
		return nil, err
	}
	trail, err := trailPart(c, s)
	if err != nil {
		return nil, err
	}
	p.Parts = append([]part{differences, spread, trail}, runsPart(c, s))
	return p, nil
}

// leftOutCount says how many runs were left out, if any were.
func leftOutCount(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprintf("%d left out", n)
}

func nonEmpty(s ...string) []string {
	var out []string
	for _, t := range s {
		if t != "" {
			out = append(out, t)
		}
	}
	return out
}

// versus is the heading of a comparison.
func versus(s Sets) string {
	return named("A", s.NameA) + " against " + named("B", s.NameB)
}

// runList names the runs of a set with what was noted of them.
func runList(set []compare.SetRun) []string {
	var out []string
	for i := range set {
		t := runName(set[i].Name)
		if set[i].Order > 0 {
			t += fmt.Sprintf(", ridden %s", ordinal(set[i].Order))
		}
		out = append(out, t)
	}
	return out
}

func ordinal(n int) string {
	suffix := "th"
	if n%100 < 11 || n%100 > 13 {
		switch n % 10 {
		case 1:
			suffix = "st"
		case 2:
			suffix = "nd"
		case 3:
			suffix = "rd"
		}
	}
	return strconv.Itoa(n) + suffix
}

// differencesPart is the forest plot and the tables of all figures.
func differencesPart(c *compare.Comparison) (part, error) {
	forest, err := forestChart(c)
	if err != nil {
		return part{}, err
	}
	read := "Each line is the 95 % interval of B − A, measured in the smallest change worth feeling. Inside the shaded band a difference is too small to feel. " +
		"A line that crosses zero is no clear difference. ▲ clearly higher in B, ▼ clearly lower in B, ○ not clear."
	main := block{ID: "forest", Title: "Where B differs from A", Read: read, Chart: forest, Wide: true,
		Tables: []table{differenceTable("The main figures, chosen before looking", c, compare.Primary)}}
	if forest == nil {
		main.Read, main.NoChart = "", "No interval could be computed, so there is nothing to draw."
	}
	other := block{ID: "all", Title: "All other figures", Wide: true, Read: "The other figures that describe how the fork worked are corrected for their number apart from the main ones. Context figures say what was ridden and recorded, and get no verdict.",
		Behind: []table{differenceTable("Other figures of how the fork worked", c, compare.Secondary), differenceTable("Context: what was ridden and recorded", c, compare.Context)}}
	return part{ID: "differences", Title: "Differences", Blocks: []block{main, other}}, nil
}

// differenceTable lists the figures of a family.
func differenceTable(caption string, c *compare.Comparison, family compare.Family) table {
	t := table{Caption: caption, Empty: "There are none.", Heads: []head{
		{Text: "Figure", Words: true}, {Text: "A", Number: true}, {Text: "B", Number: true}, {Text: "B − A", Number: true}, {Text: "95 % interval", Number: true},
		{Text: "Verdict"}, {Text: "Size"}, {Text: "Worth feeling from", Number: true}, {Text: "Runs a side to find it", Number: true},
	}}
	for i := range c.Differences {
		if d := &c.Differences[i]; d.Family == family {
			t.Rows = append(t.Rows, differenceRow(d))
		}
	}
	sayOnce(t.Rows)
	return t
}

// sayOnce takes away the notes that repeat, column by column, the last note said above them.
func sayOnce(rows []row) {
	last := map[int]string{}
	for _, r := range rows {
		for k := range r.Cells {
			switch note := r.Cells[k].Note; {
			case note == "":
			case note == last[k]:
				r.Cells[k].Note = ""
			default:
				last[k] = note
			}
		}
	}
}

func differenceRow(d *compare.Difference) row {
	m := differenceMeasure(&d.Estimate, d.Unit)
	name := text(sentence(d.Label))
	name.Note = strings.Join(d.Caveats, "; ")
	value := func(f analyze.Figure) cell { return figureCell(show(f, m.text)) }
	interval := text(m.interval(d.Low, d.High))
	if interval.Text == "" {
		interval = text(absentMark)
	}
	verdict := text(verdictWords(&d.Estimate))
	if d.Verdict == compare.NotJudged {
		verdict.Note = d.Why
	}
	size, step := text(absentMark), text(absentMark)
	if w := sizeWords(d.Size); w != "" && d.Family != compare.Context {
		size = text(w)
	}
	if v, ok := d.Step.Get(); ok {
		step = text(measureFor(d.Unit, max(d.A.Or(v), v), v/2).text(v))
	}
	needed := text(absentMark)
	if n, ok := d.RunsNeeded.Get(); ok {
		needed = text(whole(n))
	}
	change := value(d.Difference)
	if v, ok := d.Difference.Get(); ok {
		change = text(m.change(v))
	}
	return row{Cells: []cell{name, value(d.A), value(d.B), change, interval, verdict, size, step, needed}}
}

// verdictWords marks a verdict so that it is seen without colour.
func verdictWords(e *compare.Estimate) string {
	differs, higher := isClear(e)
	switch {
	case differs && higher:
		return "▲ " + e.Verdict
	case differs:
		return "▼ " + e.Verdict
	}
	return e.Verdict
}

// runsPart lists the runs with what was noted for them.
func runsPart(c *compare.Comparison, s Sets) part {
	heads := []head{{Text: "Set"}, {Text: "Run"}, {Text: "Order ridden", Number: true}, {Text: "Riding time", Number: true}, {Text: "Static sag", Number: true}, {Text: "Fit to the trail", Unit: "correlation", Number: true}}
	keys := settingKeys(setRuns(c))
	for _, k := range keys {
		heads = append(heads, head{Text: settingName(k)})
	}
	t := table{Caption: "The runs compared", Heads: heads}
	add := func(set string, r *compare.SetRun, fit cell) {
		order := absentMark
		if r.Order > 0 {
			order = strconv.Itoa(r.Order)
		}
		row := row{Cells: []cell{text(set), text(runName(r.Name)), text(order), figureCell(show(r.RidingS, length)), figureCell(show(r.StaticMM, mmFine)), fit}}
		for _, k := range keys {
			row.Cells = append(row.Cells, text(cmp.Or(r.Settings[k], absentMark)))
		}
		t.Rows = append(t.Rows, row)
	}
	for i, r := range setRuns(c) {
		letter, fit := "A", text(absentMark)
		if i >= len(c.A) {
			letter = "B"
		}
		if i < len(c.Alignment.Runs) {
			fit = figureCell(show(c.Alignment.Runs[i].Quality, ratio))
		}
		add(letter, &r, fit)
	}
	for i := range c.LeftOut {
		l := &c.LeftOut[i]
		fit := figureCell(show(l.Doubt.Fit, ratio))
		fit.Note = l.Doubt.Why
		add("left out of "+l.Set, &l.SetRun, fit)
	}
	return part{ID: "runs", Title: "Runs", Blocks: []block{{ID: "runs-table", Title: "What was compared", Wide: true, Tables: []table{t}, Read: alignmentWords(&c.Alignment)}}}
}

// alignmentWords says how the runs were lined up.
func alignmentWords(a *compare.Alignment) string {
	if a.Refused != "" {
		return "The runs were not lined up along the trail: " + a.Refused + "."
	}
	by := map[compare.Method]string{
		compare.ByMarkers: "the riders' markers", compare.ByDistance: "the distance that was logged", compare.BySpeed: "the distance that the speed channel adds up to, its scale fitted run by run to the roughness of the ground", compare.ByRoughness: "the roughness of the ground, which is the same each time",
	}[a.Method]
	return "The runs were lined up along the trail by " + cmp.Or(by, string(a.Method)) + ". Times along the trail are those of " + runName(a.Reference) +
		", the run that most of the others look most like; the shared ground is " + length(a.EndS-a.StartS) + " of it."
}
