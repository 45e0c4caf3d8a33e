package report

import (
	"fmt"
	"io"
	"strings"

	"stanchion/analyze"
	"stanchion/analyze/damper"
)

// DamperHTML writes the page of a ride on a damper's curves: a single file that loads nothing. The same input gives the same bytes.
func DamperHTML(w io.Writer, d *damper.Result, opt HTMLOptions) error {
	if err := checkFinite(d); err != nil {
		return err
	}
	p, err := damperPage(d)
	if err != nil {
		return fmt.Errorf("page: %w", err)
	}
	return p.write(w, opt)
}

func damperPage(d *damper.Result) (*study, error) {
	p := &study{
		Title: "Damper: " + runName(d.Source), Mark: "damper sheet", Schema: d.SchemaVersion, Verdict: verdict{Line: damperLine(d)},
		Sub:     length(d.RidingS) + " of riding; " + counted(len(d.Clicks), "curve", "curves") + " from a dyno",
		Caveats: notesOf(d.Caveats), Method: damperMethod(d),
		Can: []string{"Where in the curve this ride lived, and so which part of the damper is worth working on.", "Which clicks do little or nothing on such ground, and which do much."},
		Cannot: []string{"What the next ride with another click will show: the fork would have moved otherwise.",
			"What the damper does warm, if the dyno ran it cold. Forces of gas, friction and end stops are not in the curves."},
	}
	for i := range p.Caveats {
		p.Caveats[i].Text = sentence(p.Caveats[i].Text) + "."
	}
	for _, c := range d.Caveats {
		if c.Severity == analyze.Warning {
			p.Verdict.Poor = append(p.Verdict.Poor, sentence(c.Text))
		}
	}
	curves, err := damperCurves(d)
	if err != nil {
		return nil, err
	}
	lives, err := damperLives(d)
	if err != nil {
		return nil, err
	}
	p.Parts = []part{
		{ID: "clicks", Title: "Which clicks would matter", Blocks: []block{
			{ID: "steps", Title: "From each position to the next", Wide: true, Tables: []table{clickSteps(d)},
				Read: fmt.Sprintf("The change is the mean of |ΔF·v| over the ride, against what the damper takes up: from %g%s%% a click it is said to matter (common practice, no source).", float64(damper.MattersPct), gap)},
			{ID: "energy", Title: "What the damper would have taken up at each", Wide: true, Tables: []table{energyTable(d), sideTable(d)}},
		}},
		{ID: "curve", Title: "Where in the curve the ride lives", Blocks: []block{
			{ID: "damper-lives", Title: "Riding time and energy over velocity", Chart: lives, Wide: true, Behind: []table{livesTable(d)},
				Read: fmt.Sprintf("At %g clicks. Where the dashed line lies above the solid one, the damper works harder than the time spent there suggests.", d.LivesAt)},
			{ID: "damper-curves", Title: "The curves", Chart: curves, Wide: true, Read: "Rebound is to the left of zero, compression to the right; steeper is firmer.", Behind: curveTables(d)},
		}},
	}
	return p, nil
}

// clickSteps is what lies between neighbours.
func clickSteps(d *damper.Result) table {
	t := table{Caption: "Steps of the adjuster", Empty: "There is one position only, and so no step.", Heads: []head{{Text: "Step", Words: true}, {Text: "Change", Unit: "% a click", Number: true},
		{Text: "Power", Unit: "W more or less", Number: true}, {Text: "Force", Unit: "N RMS", Number: true}, {Text: "Mostly in", Words: true}, {Text: "Matters?"}}}
	for i := range d.Steps {
		s := &d.Steps[i]
		where := text(absentMark)
		if s.Where != "" {
			where = text(s.Where + ", " + percent(s.WherePct))
		}
		t.Rows = append(t.Rows, row{Cells: []cell{text(stepName(s)), text(fixed(s.PerClickPct, 1)), text(measure{factor: 1, decimals: 1}.signed(s.PowerW)), text(fixed(s.ForceRMSN, 0)), where, text(matters(s))}})
	}
	return t
}

func stepName(s *damper.Step) string {
	return plainNumber(s.From) + " to " + plainNumber(s.To) + " clicks"
}

func matters(s *damper.Step) string {
	if s.Matters {
		return "● yes"
	}
	return "○ hardly"
}

func energyTable(d *damper.Result) table {
	t := table{Caption: "Energy by regime; split at " + mmps(d.SplitMMS), Heads: []head{{Text: "Clicks", Number: true}, {Text: "Power", Unit: "W", Number: true}, {Text: "Energy", Unit: "J", Number: true},
		{Text: "Compression, slow", Unit: "%", Number: true}, {Text: "Compression, fast", Unit: "%", Number: true}, {Text: "Rebound, slow", Unit: "%", Number: true}, {Text: "Rebound, fast", Unit: "%", Number: true}}}
	for i := range d.Clicks {
		c := &d.Clicks[i]
		of := func(j float64) string {
			if c.EnergyJ <= 0 {
				return absentMark
			}
			return fixed(100*j/c.EnergyJ, 1)
		}
		t.Rows = append(t.Rows, texts(plainNumber(c.Clicks), fixed(c.PowerW, 1), fixed(c.EnergyJ, 0), of(c.Regimes.LowCompressionJ), of(c.Regimes.HighCompressionJ), of(c.Regimes.LowReboundJ), of(c.Regimes.HighReboundJ)))
	}
	return t
}

func sideTable(d *damper.Result) table {
	t := table{Caption: "Forces, and energy a stroke", Heads: []head{{Text: "Clicks", Number: true}, {Text: "Direction"}, {Text: "Median force", Unit: "N", Number: true}, {Text: "95 % force", Unit: "N", Number: true},
		{Text: "Largest", Unit: "N", Number: true}, {Text: "Median stroke", Unit: "J", Number: true}, {Text: "95 % stroke", Unit: "J", Number: true}, {Text: "In the hardest tenth", Number: true}}}
	for i := range d.Clicks {
		c := &d.Clicks[i]
		for _, s := range []struct {
			name string
			side *damper.Side
		}{{"compression", &c.Compression}, {"rebound", &c.Rebound}} {
			f := func(v analyze.Figure, decimals int) cell {
				return figureCell(show(v, func(x float64) string { return fixed(x, decimals) }))
			}
			t.Rows = append(t.Rows, row{Cells: []cell{text(plainNumber(c.Clicks)), text(s.name), f(s.side.MedianN, 0), f(s.side.Q95N, 0), f(s.side.MaxN, 0), f(s.side.StrokeJ, 2), f(s.side.StrokeQ95J, 1),
				figureCell(show(s.side.StrokeShare, share))}})
		}
	}
	return t
}

func livesTable(d *damper.Result) table {
	t := table{Caption: "Riding time and energy", Heads: []head{{Text: "Velocity", Unit: "mm/s", Number: true}, {Text: "Force", Unit: "N", Number: true}, {Text: "Time", Unit: "%", Number: true}, {Text: "Energy", Unit: "%", Number: true}}}
	for _, b := range d.Lives {
		t.Rows = append(t.Rows, texts(fixed(b.FromMMS, 0)+" to "+fixed(b.ToMMS, 0), fixed(b.ForceN, 0), signif(100*b.TimeShare, 3), signif(100*b.EnergyShare, 3)))
	}
	return t
}

func curveTables(d *damper.Result) []table {
	var out []table
	for i := range d.Clicks {
		t := table{Caption: "Curve at " + plainNumber(d.Clicks[i].Clicks) + " clicks", Heads: []head{{Text: "Velocity", Unit: "mm/s", Number: true}, {Text: "Force", Unit: "N", Number: true}}}
		for _, p := range d.Clicks[i].Curve {
			t.Rows = append(t.Rows, texts(fixed(p.VelocityMMS, 0), fixed(p.ForceN, 0)))
		}
		out = append(out, t)
	}
	return out
}

// damperLine is the answer in a few sentences.
func damperLine(d *damper.Result) string {
	c := &d.Clicks[0]
	for i := range d.Clicks {
		if d.Clicks[i].Clicks == d.LivesAt {
			c = &d.Clicks[i]
		}
	}
	s := fmt.Sprintf("At %g clicks the damper turned %.0f%sW into heat while riding, %.1f%skJ in all", c.Clicks, c.PowerW, gap, c.EnergyJ/1000, gap)
	if d.Ridden == nil {
		s = strings.Replace(s, "turned", "would have turned", 1)
	}
	if c.EnergyJ > 0 {
		s += fmt.Sprintf(": %s of it in compression, and %s in fast movement, from %s on", percent(100*c.Compression.EnergyJ/c.EnergyJ), percent(100*(c.Regimes.HighCompressionJ+c.Regimes.HighReboundJ)/c.EnergyJ), mmps(d.SplitMMS))
	}
	s += "."
	var much, little []string
	for i := range d.Steps {
		if d.Steps[i].Matters {
			much = append(much, stepName(&d.Steps[i]))
		} else {
			little = append(little, stepName(&d.Steps[i]))
		}
	}
	if len(much) > 0 {
		s += " Steps that would matter: " + listed(much) + "."
	}
	if len(little) > 0 {
		s += " Hardly: " + listed(little) + "."
	}
	return s
}

func damperMethod(d *damper.Result) string {
	return "Force is interpolated linearly between the points of the dyno, through zero at rest; beyond them the last slope goes on. Power is the mean of F·v over riding time, energy its sum over time, " +
		"of a stroke from turning point to turning point. Slow and fast part at " + mmps(d.SplitMMS) + ". A step compares two curves at the velocities that were ridden: its size is the mean of |ΔF·v|, its place the regime with most of that."
}

// DamperText writes the same for the terminal, in a screen of 80 columns.
func DamperText(w io.Writer, d *damper.Result, opt TextOptions) error {
	t := &screen{color: opt.Color}
	t.line(clip("Damper: "+runName(d.Source), textColumns))
	for _, c := range d.Caveats {
		if c.Severity == analyze.Warning {
			t.wrap("Read with care: "+c.Text+".", 3, warnColor)
		}
	}
	t.wrap(damperLine(d), 6, boldColor)
	t.line("")
	t.line("Step             change a click   power W   force N RMS   mostly in")
	const most = 12
	for i := range d.Steps {
		if i == most {
			t.line(fmt.Sprintf("… and %d more on the page", len(d.Steps)-most))
			break
		}
		s := &d.Steps[i]
		t.line(clip(padRunes(stepName(s), 17)+padLeft(fixed(s.PerClickPct, 1)+" %", 14)+padLeft(measure{factor: 1, decimals: 1}.signed(s.PowerW), 10)+padLeft(fixed(s.ForceRMSN, 0), 14)+"   "+orElse(s.Where, "nowhere"), textColumns))
	}
	if len(d.Steps) == 0 {
		t.line("one position only, and so no step")
	}
	if _, err := io.WriteString(w, t.out.String()); err != nil {
		return fmt.Errorf("summary: %w", err)
	}
	return nil
}
