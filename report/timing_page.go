package report

import (
	"fmt"
	"io"
	"slices"

	"stanchion/analyze/trail"
)

// TimingJSON writes a timing as indented JSON, with what was met on the trail as "trail" where g, which may be nil, has it. The form is described in
// schema-timing.md and schema-trail.md.
func TimingJSON(w io.Writer, t *trail.Timing, g *Ground) error {
	if g == nil || g.Reading == nil {
		return writeJSON(w, t)
	}
	return writeJSON(w, &struct {
		*trail.Timing
		Trail *trail.Reading `json:"trail"`
	}{t, g.Reading})
}

// TimingHTML writes the page of a timing: a single file that loads nothing. The same input gives the same bytes.
func TimingHTML(w io.Writer, t *trail.Timing, opt HTMLOptions) error {
	if err := checkFinite(t); err != nil {
		return err
	}
	can, cannot := timingSays(t)
	p := &study{
		Title: timingTitle(t), Mark: "timing sheet", Verdict: judgeTiming(t), Can: can, Cannot: cannot, Caveats: notesOf(t.Caveats),
		Schema: t.SchemaVersion, Method: timingMethod(t), Settings: timingSettings(t),
	}
	p.Sub = counted(len(t.Runs), "run", "runs") + ", " + counted(len(t.Best), "split", "splits")
	if v, ok := t.LineM.Get(); ok {
		p.Sub += ", reference line of " + metres(v)
	}
	lost, err := gapPart(t)
	if err != nil {
		return fmt.Errorf("page: %w", err)
	}
	splits := splitsPart(t)
	splits.OnePage = true
	p.Parts = slices.Concat(mapPart(opt.Ground), []part{splits, lost}, placesPart(opt.Ground), []part{againstPart(t), receptionPart(t)})
	p.Caveats = append(p.Caveats, groundNotes(opt.Ground)...)
	return p.write(w, opt)
}

func timingTitle(t *trail.Timing) string {
	if len(t.Runs) == 1 {
		return "Times of " + t.Runs[0].Name
	}
	return fmt.Sprintf("Times of %d runs", len(t.Runs))
}

// splitsPart is the split table.
func splitsPart(t *trail.Timing) part {
	d := timingDecimals(t)
	tab := table{Caption: "Split times in s, ± one standard uncertainty. ★ is the best run in a split", Heads: []head{{Text: "Run"}}}
	best := row{Cells: []cell{text("Best")}}
	for k := range t.Best {
		b := &t.Best[k]
		tab.Heads = append(tab.Heads, head{Text: b.From + " to " + b.To, Unit: splitReach(t, k), Number: true})
		c := text(plusMinus(b.TimeS, b.SigmaS, d))
		if b.Run >= 0 {
			switch b.Verdict {
			case trail.TooClose:
				c.Note = "too close to call"
			case trail.Faster:
				c.Note = "clear"
			}
		}
		best.Cells = append(best.Cells, c)
	}
	tab.Heads = append(tab.Heads, head{Text: "Start to finish", Number: true}, head{Text: "Over ideal", Number: true})
	for i := range t.Runs {
		r := &t.Runs[i]
		line := row{Cells: []cell{text(r.Name)}}
		for k := range r.Splits {
			s := &r.Splits[k]
			c := text(plusMinus(s.TimeS, s.SigmaS, d))
			switch v, ok := s.LossS.Get(); {
			case !ok:
				c.Note = s.TimeS.Reason()
			case s.Best && len(t.Runs) > 1:
				c.Text, c.Best = "★ "+c.Text, true
			case v > 0:
				c.Note = signedSeconds(v, d)
			}
			line.Cells = append(line.Cells, c)
		}
		total := text(plusMinus(r.TotalS, r.SigmaS, d))
		total.Note = r.TotalS.Reason()
		over := text(absentMark)
		if v, ok := r.LossToIdeal.Get(); ok {
			over = text(signedSeconds(v, d))
		}
		line.Cells = append(line.Cells, total, over)
		tab.Rows = append(tab.Rows, line)
	}
	if len(t.Runs) > 1 {
		ideal := text(plusMinus(t.IdealS, t.IdealSigmaS, d))
		ideal.Note = t.IdealS.Reason()
		if ideal.Note == "" {
			ideal.Note = "ideal: sum of the best"
		}
		best.Cells = append(best.Cells, ideal, text(absentMark))
		tab.Rows = append(tab.Rows, best)
	}
	return part{ID: "splits", Title: "Splits", Blocks: []block{
		{ID: "split-table", Title: "Every split of every run", Wide: true, Tables: []table{tab}, Read: "Under each time stands what it lost to the best run of that split. Splits add up to the time from start to finish."},
	}}
}

// splitReach is where a split lies.
func splitReach(t *trail.Timing, k int) string {
	a, okA := t.Gates[k].StationM.Get()
	b, okB := t.Gates[k+1].StationM.Get()
	if !okA || !okB {
		return ""
	}
	return fixed(a, 0) + " to " + metres(b)
}

// againstPart holds every run against one, split by split.
func againstPart(t *trail.Timing) part {
	o := t.Runs[t.Against].Name
	p := part{ID: "against", Title: "Against " + o}
	if len(t.Versus) == 0 {
		p.Title = "Against another run"
		p.Blocks = []block{{ID: "against-table", Title: "Differences", Wide: true, NoChart: "There is one run, so there is nothing to hold it against."}}
		return p
	}
	d := timingDecimals(t)
	tab := table{Caption: "Difference to " + o + " in s, ± one standard uncertainty of the difference; + is slower", Heads: []head{{Text: "Run"}}}
	for k := range t.Best {
		tab.Heads = append(tab.Heads, head{Text: t.Best[k].From + " to " + t.Best[k].To, Number: true})
	}
	tab.Heads = append(tab.Heads, head{Text: "Start to finish", Number: true})
	for i := range t.Versus {
		v := &t.Versus[i]
		line := row{Cells: []cell{text(t.Runs[v.Run].Name)}}
		for _, x := range append(append([]trail.Difference(nil), v.Splits...), v.Total) {
			line.Cells = append(line.Cells, differenceCell(x, d))
		}
		tab.Rows = append(tab.Rows, line)
	}
	p.Blocks = []block{{ID: "against-table", Title: "Which differences are larger than the uncertainty", Wide: true, Tables: []table{tab},
		Read: "▲ slower and ▼ faster are said only where the difference is over " + plainNumber(t.Options.Coverage) + " standard uncertainties. All else is too close to call: the receivers cannot tell."}}
	return p
}

func differenceCell(x trail.Difference, decimals int) cell {
	v, ok := x.DifferenceS.Get()
	if !ok {
		return cell{Text: absentMark, Note: x.DifferenceS.Reason()}
	}
	c := cell{Text: signedSeconds(v, decimals) + gap + "±" + fixed(x.SigmaS.Or(0), decimals), Note: x.Verdict}
	switch x.Verdict {
	case trail.Slower:
		c.Text = "▲ " + c.Text
	case trail.Faster:
		c.Text = "▼ " + c.Text
	}
	return c
}

// receptionPart says how far times can be trusted, and lists the tracks.
func receptionPart(t *trail.Timing) part {
	tab := table{Caption: "The tracks", Heads: []head{{Text: "Run"}, {Text: "File", Words: true}, {Text: "Positions a second", Number: true}, {Text: "Noise of one", Unit: "m", Number: true},
		{Text: "Cross-track error", Unit: "m, root mean square", Number: true}, {Text: "Off the line", Unit: "s", Number: true}}}
	one := func(v float64) string { return fixed(v, 1) }
	for i := range t.Runs {
		r := &t.Runs[i]
		off := 0.0
		for _, s := range r.OffLine {
			off += s[1] - s[0]
		}
		tab.Rows = append(tab.Rows, row{Cells: []cell{text(r.Name), text(r.Source), figureCell(show(r.RateHz, one)), figureCell(show(r.NoiseM, one)), figureCell(show(r.CrossRMSM, one)), text(one(off))}})
	}
	b := block{ID: "uncertainty", Title: "How sure the times are", Wide: true, Read: uncertaintyWords(t)}
	if t.By == "positions" {
		b.Tables = []table{tab}
		b.Figures = []figureRow{{"Spread of the runs across the line", show(t.SpreadM, func(v float64) string { return fixed(v, 1) + gap + "m" }), "median along the line"}}
	}
	return part{ID: "reception", Title: "Uncertainty", Blocks: []block{b}}
}

// timingSettings lists the thresholds.
func timingSettings(t *trail.Timing) []table {
	o := &t.Options
	rows := []row{
		texts("coverage", plainNumber(o.Coverage), "differences over so many standard uncertainties are called; 2 covers about 95 %"),
		texts("marker", length(o.MarkerS), "standard uncertainty of a marker dropped by hand (common practice, no source)"),
		texts("speed at the ends", fixed(o.GateMS, 1)+gap+"m/s", "start and finish of even splits lie where every run rides as fast"),
		texts("gate off the line", metres(o.GateAwayM), "a gate on the ground may lie so far from the line"),
		texts("error changes over", length(o.WanderS), "where it cannot be seen from several runs (common practice, no source)"),
		texts("stated weight", plainNumber(o.StatedWeight), "independent observations that the uncertainty stated by smoothing counts for"),
		texts("doubtful cross-track error", metres(o.DoubtCrossM), "over this a run gets a warning"),
	}
	return []table{{Caption: "Thresholds of timing", Heads: []head{{Text: "Setting"}, {Text: "Value", Number: true}, {Text: "Meaning", Words: true}}, Rows: rows}}
}
