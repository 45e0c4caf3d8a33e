package report

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"stanchion/analyze/compare"
)

// SweepHTML writes the page of one or more sweeps of one fork: a single file that loads nothing. The same input gives the same bytes.
func SweepHTML(w io.Writer, sweeps []*compare.SweepResult, opt HTMLOptions) error {
	if len(sweeps) == 0 {
		return errors.New("page: no sweep given")
	}
	for _, s := range sweeps {
		if err := checkFinite(s); err != nil {
			return err
		}
	}
	p, err := sweepPage(sweeps)
	if err != nil {
		return fmt.Errorf("page: %w", err)
	}
	return p.write(w, opt)
}

func sweepPage(sweeps []*compare.SweepResult) (*study, error) {
	var names, lines []string
	p := &study{Mark: "adjuster sheet", Can: sweepCan(sweeps), Cannot: sweepCannot(sweeps), Schema: sweeps[0].SchemaVersion, Method: sweepMethod(), Settings: sweepSettings(sweeps[0])}
	runs, left := 0, 0
	for _, s := range sweeps {
		names = append(names, s.Adjuster.Name)
		v := judgeSweep(s)
		lines = append(lines, v.Line)
		p.Verdict.Poor = append(p.Verdict.Poor, v.Poor...)
		p.Caveats = append(p.Caveats, notesOf(worded(s.Caveats, sweptRuns(s)))...)
		runs, left = runs+len(s.Runs), left+len(s.LeftOut)
	}
	p.Verdict.Line, p.Lines = strings.Join(lines, " "), lines
	p.Title = "What " + listed(names) + " does"
	if len(names) > 1 {
		p.Title = "What " + listed(names) + " do"
	}
	p.Sub = strings.Join(nonEmpty(counted(len(sweeps), "adjuster", "adjusters"), counted(runs, "run", "runs"), leftOutCount(left)), ", ")
	for i, s := range sweeps {
		part, err := responsePart(s, i)
		if err != nil {
			return nil, err
		}
		p.Parts = append(p.Parts, part)
	}
	cross, err := crosstalkPart(sweeps)
	if err != nil {
		return nil, err
	}
	p.Parts = append(p.Parts, cross, sweepRuns(sweeps))
	return p, nil
}

// drawnResponses are the figures worth a drawing: those that the adjuster should move, those that it moves though it should not, and, where
// nothing is known of what it should move, the main figures.
func drawnResponses(s *compare.SweepResult) []*compare.Response {
	var out []*compare.Response
	all, _ := withRole(s, compare.RoleShould)
	out = append(out, all...)
	for i := range s.Responses {
		r := &s.Responses[i]
		if r.Crosstalk || (len(all) == 0 && r.Family == compare.Primary) {
			out = append(out, r)
		}
	}
	return out
}

// newsOf are the one or two responses that hold the answer: the strongest of those that follow as they should (where clicks are dead, the
// strongest that shows it), and the strongest crosstalk. The other curves go the same way and say nothing new.
func newsOf(s *compare.SweepResult, drawn []*compare.Response) []*compare.Response {
	var lead, dead, cross []*compare.Response
	for _, r := range drawn {
		switch {
		case r.Crosstalk:
			cross = append(cross, r)
		case follows(r):
			lead = append(lead, r)
			if len(r.Dead) > 0 {
				dead = append(dead, r)
			}
		}
	}
	var out []*compare.Response
	switch {
	case len(s.Dead) > 0 && len(dead) > 0:
		out = append(out, strongest(dead))
	case len(lead) > 0:
		out = append(out, strongest(lead))
	case len(drawn) > 0:
		out = append(out, drawn[0])
	}
	if len(cross) > 0 {
		if r := strongest(cross); !slices.Contains(out, r) {
			out = append(out, r)
		}
	}
	return out
}

func responsePart(s *compare.SweepResult, index int) (part, error) {
	id := "adjuster-" + strconv.Itoa(index+1)
	p := part{ID: id, Title: sentence(adjusterName(&s.Adjuster))}
	drawn := drawnResponses(s)
	news := newsOf(s, drawn)
	var rest []block
	var names []string
	for k, r := range drawn {
		b, err := responseBlock(s, r, id, k+1)
		if err != nil {
			return p, err
		}
		if slices.Contains(news, r) {
			p.Blocks = append(p.Blocks, b)
		} else {
			rest, names = append(rest, b), append(names, r.Label)
		}
	}
	if len(p.Blocks) > 0 {
		p.Blocks[0].Read = "◆ is the mean at a position with its 95 % interval, ○ a single run, the dashed line the best fit that never turns back. Grey stretches are dead: the response stands still there."
	}
	if len(rest) > 0 {
		p.Folds = append(p.Folds, fold{counted(len(rest), "more curve: ", "more curves: ") + strings.Join(names, "; "), rest})
	}
	follow := "No figure clearly follows "
	if n := len(followers(s)); s.Alignment.OtherTrail {
		follow = "Nothing was judged of "
	} else if n > 0 {
		follow = counted(n, "figure clearly follows ", "figures clearly follow ")
	}
	p.Folds = append(p.Folds, fold{follow + s.Adjuster.Name + ": all figures in numbers", []block{{
		ID: id + "-all", Title: "Every figure", Wide: true,
		Tables: []table{responseTable("Figures that clearly follow "+s.Adjuster.Name, s, true)},
		Behind: []table{responseTable("All figures", s, false)}}}})
	return p, nil
}

// responseBlock is the curve of one figure with what is known about it.
func responseBlock(s *compare.SweepResult, r *compare.Response, id string, k int) (block, error) {
	c, err := responseChart(s, r, fmt.Sprintf("%s-%d", id, k))
	b := block{ID: fmt.Sprintf("%s-h%d", id, k), Title: sentence(r.Label), Chart: c, Figures: responseFigures(s, r), Behind: []table{pointTable(s, r)}}
	if c == nil {
		b.NoChart = sentence(r.Why) + "."
	}
	return b, err
}

func responseFigures(s *compare.SweepResult, r *compare.Response) []figureRow {
	rows := []figureRow{
		{"Verdict", shown{Text: cmp.Or(roleWords(r), r.Verdict)}, ""},
		{"Change", shown{Text: slopeText(r, &s.Adjuster)}, "median of all pairs, with its 95 % interval"},
		{"Never turns back", show(r.Monotonicity, func(v float64) string { return percent(100 * v) }), "100 % is a response that goes one way only"},
	}
	dead := shown{Text: "none found"}
	if len(r.Dead) > 0 {
		dead.Text = rangeList(r.Dead, &s.Adjuster)
	}
	if len(r.Unsure) > 0 {
		dead.Text += "; unsure " + rangeList(r.Unsure, &s.Adjuster)
	}
	if follows(r) {
		rows = append(rows, figureRow{"Dead " + plural(s.Adjuster.Unit), dead, ""})
		if r.Usable != nil {
			rows = append(rows, figureRow{"Usable range", shown{Text: positions(*r.Usable, &s.Adjuster)}, ""})
		}
	}
	return rows
}

func roleWords(r *compare.Response) string {
	if r.Role == "" {
		return r.Verdict
	}
	return r.Verdict + " (" + r.Role + ")"
}

func rangeList(list []compare.Range, a *compare.Adjuster) string {
	var out []string
	for _, r := range list {
		out = append(out, positions(r, a))
	}
	return listed(out)
}

func pointTable(s *compare.SweepResult, r *compare.Response) table {
	m := responseMeasure(r)
	t := table{Caption: sentence(r.Label) + " by position", Heads: []head{{Text: "Position", Unit: plural(s.Adjuster.Unit), Number: true}, {Text: "Runs", Number: true},
		{Text: "Mean", Unit: m.unit, Number: true}, {Text: "95 % interval", Unit: m.unit, Number: true}, {Text: "Fit", Unit: m.unit, Number: true}}}
	for _, p := range r.Points {
		interval := absentMark
		lo, okLo := p.Low.Get()
		hi, okHi := p.High.Get()
		if okLo && okHi {
			interval = m.number(lo) + " to " + m.number(hi)
		}
		t.Rows = append(t.Rows, texts(plainNumber(p.Clicks), strconv.Itoa(p.Runs), show(p.Mean, m.number).Text, interval, show(p.Isotonic, m.number).Text))
	}
	return t
}

// responseTable lists the responses, all or those that clearly follow the adjuster.
func responseTable(caption string, s *compare.SweepResult, only bool) table {
	t := table{Caption: caption, Empty: cmp.Or(refusedWords(s), "No figure clearly follows it."), Heads: []head{
		{Text: "Figure", Words: true}, {Text: "Change a " + one(s.Adjuster.Unit), Number: true}, {Text: "With " + plural(s.Adjuster.Unit)}, {Text: "One way", Number: true},
		{Text: "Dead"}, {Text: "Should it?"}, {Text: "Against those it should move", Number: true},
	}}
	list := make([]*compare.Response, 0, len(s.Responses))
	for i := range s.Responses {
		if r := &s.Responses[i]; !only || follows(r) {
			list = append(list, r)
		}
	}
	if only { // those that it should move first, then the largest against the spread between runs
		slices.SortStableFunc(list, func(a, b *compare.Response) int {
			return cmp.Or(-cmp.Compare(a.Role, b.Role), cmp.Compare(b.Standard.Or(0), a.Standard.Or(0)))
		})
	}
	for _, r := range list {
		verdict := text(strings.TrimSuffix(r.Verdict, " with clicks"))
		if r.Verdict == compare.NotJudged {
			verdict.Note = r.Why
		}
		dead := absentMark
		if len(r.Dead) > 0 {
			dead = rangeList(r.Dead, &s.Adjuster)
		}
		role := cmp.Or(r.Role, absentMark)
		if r.Crosstalk {
			role = "! " + role
		}
		ratio := absentMark
		if v, ok := r.Ratio.Get(); ok {
			ratio = percent(100 * v)
		}
		mono := absentMark
		if v, ok := r.Monotonicity.Get(); ok {
			mono = percent(100 * v)
		}
		t.Rows = append(t.Rows, row{Cells: []cell{text(sentence(r.Label)), text(strings.ReplaceAll(slopeText(r, &s.Adjuster), " a "+one(s.Adjuster.Unit), "")), verdict, text(mono), text(dead), text(role), text(ratio)}})
	}
	return t
}

func crosstalkPart(sweeps []*compare.SweepResult) (part, error) {
	m := compare.NewMatrix(sweeps)
	p := part{ID: "cross", Title: "Crosstalk"}
	c, err := crosstalkChart(m)
	if err != nil {
		return p, err
	}
	b := block{ID: "cross-map", Title: "What each adjuster moves", Chart: c, Wide: true,
		Read: "Each field is the change of a figure over the whole range ridden, as a share of its size, against the middling one of the figures that the adjuster should move (100 %). ● it should move this, ○ it should leave this alone, ! it should leave this alone but clearly moves it. A field without a mark may follow by way of the ride, and is not judged.",
	}
	if c == nil {
		b.Read, b.NoChart = "", "No crosstalk can be given: "+crosstalkReason(sweeps)+"."
	}
	t := table{Caption: "Crosstalk", Heads: []head{{Text: "Figure", Words: true}}, Empty: "Nothing is known of what the adjusters should move."}
	for i := range m.Adjusters {
		t.Heads = append(t.Heads, head{Text: sentence(m.Adjusters[i].Name), Number: true})
	}
	for k, label := range m.Labels {
		row := texts(sentence(label))
		for i := range m.Adjusters {
			c := cell{Text: absentMark, Note: m.Ratio[i][k].Reason()}
			if v, ok := m.Ratio[i][k].Get(); ok {
				c = text(percent(100 * v))
				c.Note = m.Role[i][k]
				if m.Crosstalk[i][k] {
					c.Note += ", but clearly does"
				}
			}
			row.Cells = append(row.Cells, c)
		}
		t.Rows = append(t.Rows, row)
	}
	b.Behind = []table{t}
	p.Blocks = []block{b}
	return p, nil
}

func crosstalkReason(sweeps []*compare.SweepResult) string {
	for _, s := range sweeps {
		for i := range s.Responses {
			if r := &s.Responses[i]; r.Role != "" && !r.Ratio.OK() {
				return r.Ratio.Reason()
			}
		}
	}
	return "the kind of adjuster is not known"
}

func sweepRuns(sweeps []*compare.SweepResult) part {
	p := part{ID: "runs", Title: "Runs"}
	for k, s := range sweeps {
		keys := settingKeys(sweptRuns(s))
		t := table{Caption: "Runs of the sweep of " + s.Adjuster.Name, Heads: []head{{Text: "Run"}, {Text: "Position", Unit: plural(s.Adjuster.Unit), Number: true}, {Text: "Order ridden", Number: true}, {Text: "Riding time", Number: true}}}
		for _, key := range keys {
			t.Heads = append(t.Heads, head{Text: settingName(key)})
		}
		order := make([]int, len(s.Runs))
		for i := range order {
			order[i] = i
		}
		slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(s.Runs[i].Clicks, s.Runs[j].Clicks) })
		add := func(r *compare.SetRun, clicks float64, note string) {
			ridden, position := absentMark, text(plainNumber(clicks))
			if r.Order > 0 {
				ridden = strconv.Itoa(r.Order)
			}
			position.Note = note
			row := row{Cells: []cell{text(runName(r.Name)), position, text(ridden), figureCell(show(r.RidingS, length))}}
			for _, key := range keys {
				row.Cells = append(row.Cells, text(cmp.Or(r.Settings[key], absentMark)))
			}
			t.Rows = append(t.Rows, row)
		}
		for _, i := range order {
			add(&s.Runs[i].SetRun, s.Runs[i].Clicks, "")
		}
		for i := range s.LeftOut {
			l := &s.LeftOut[i]
			add(&l.SetRun, l.Clicks, "left out: "+l.Doubt.Why)
		}
		id, name := "runs-"+strconv.Itoa(k+1), sentence(s.Adjuster.Name)
		p.Folds = append(p.Folds, fold{name + ": " + strings.Join(nonEmpty(counted(len(s.Runs), "run", "runs"), leftOutCount(len(s.LeftOut))), ", "), []block{{ID: id, Title: name, Wide: true, Read: alignmentWords(&s.Alignment), Tables: []table{t}}}})
	}
	return p
}

func sweepMethod() string {
	return "The change a click is the median of the slopes of all pairs of runs (Theil and Sen) with Sen's interval; whether a figure follows the adjuster is a test of the rank correlation, " +
		"corrected after Holm for the number of figures judged together. Intervals at a position use the run-to-run spread of all positions. A stretch is dead where the best fit that never turns back " +
		"stands still and the spread between runs is small enough to be sure. Which figures an adjuster should move is common practice and our choice, without a source."
}

func sweepSettings(s *compare.SweepResult) []table {
	o := &s.Options
	heads := []head{{Text: "Setting"}, {Text: "Value", Number: true}, {Text: "Meaning", Words: true}}
	rows := append([]row{
		texts("dead stretch", percent(100*o.DeadPerQuarter), "share of the whole response per quarter of the range under which a stretch stands still"),
		texts("sure it is dead", percent(100*o.DeadShare), "share of an even response that the upper bound must stay under"),
	}, thresholdRows(&o.Options)...)
	if m := o.Moves[s.Adjuster.Kind]; m.CrosstalkRatio > 0 {
		rows = append(rows, texts("crosstalk", percent(100*m.CrosstalkRatio), "relative change of a figure that should stay, against those that should move, that is pointed out"))
	}
	return []table{{Caption: "Thresholds of the sweep", Heads: heads, Rows: rows}}
}
