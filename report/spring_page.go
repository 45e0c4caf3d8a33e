package report

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"stanchion/analyze"
	"stanchion/analyze/spring"
	"stanchion/ingest"
)

// SpringHead says whose spring it is.
type SpringHead struct {
	Fork ingest.Fork
}

// SpringHTML writes the page of a spring: a single file that loads nothing. The same input gives the same bytes.
func SpringHTML(w io.Writer, a *spring.Answer, head SpringHead, opt HTMLOptions) error {
	if err := checkFinite(a); err != nil {
		return err
	}
	p, err := springPage(a, head)
	if err != nil {
		return fmt.Errorf("page: %w", err)
	}
	return p.write(w, opt)
}

func springPage(a *spring.Answer, head SpringHead) (*study, error) {
	p := &study{
		Title: springTitle(a, head), Sub: springSub(a, head), Mark: "spring sheet", Schema: a.SchemaVersion,
		Verdict: verdict{Poor: []string{a.Caution}, Line: springLine(a)}, Can: springCan(a), Cannot: springCannot(a),
		Method: springMethod(a), Settings: springSettings(a),
	}
	for _, n := range a.Notes {
		p.Caveats = append(p.Caveats, analyze.Caveat{Severity: analyze.Note, Topic: "spring", Text: n + "."})
	}
	p.Parts = append(p.Parts, pumpPart(a))
	if a.Bottom != nil {
		p.Parts = append(p.Parts, remedyPart(a))
	}
	curves, err := curvesPart(a)
	if err != nil {
		return nil, err
	}
	p.Parts = append(p.Parts, curves)
	return p, nil
}

func springTitle(a *spring.Answer, head SpringHead) string {
	kind := "Air spring"
	if a.Kind == "coil" {
		kind = "Coil spring"
	}
	if head.Fork.Name != "" {
		return kind + ": " + head.Fork.Name
	}
	return kind + " of a fork with " + mm(a.TravelMM) + " of travel"
}

func springSub(a *spring.Answer, head SpringHead) string {
	s := fixed(a.LoadN, 0) + gap + "N along the stanchion, from " + a.LoadFrom
	if head.Fork.Name != "" {
		s = mm(a.TravelMM) + " of travel; " + s
	}
	return s
}

// pumpPart is the table of what to pump, and those of spacers and of another place.
func pumpPart(a *spring.Answer) part {
	title, caption := "What to pump", "Settings"
	if a.Kind == "coil" {
		title, caption = "Which coil", "Coils"
	}
	var main []spring.Setting
	for _, s := range []*spring.Setting{a.AsSet, a.Target} {
		if s != nil {
			main = append(main, *s)
		}
	}
	p := part{ID: "pump", Title: title, Blocks: []block{{ID: "settings", Title: "Sag and what comes with it", Wide: true, Figures: coilRows(a), Tables: []table{settingTable(caption, a, main)},
		Read: "Sag is at rest, along the stanchion. The rate at sag, the forces and the energy are those when riding, when the gas has no time to cool."}}}
	if a.Kind == "coil" {
		p.Blocks[0].Read = "Sag is at rest, along the stanchion."
	}
	if m := a.Moved; m != nil {
		p.Blocks = append(p.Blocks, block{ID: "moved", Title: "At " + place(m.To), Wide: true,
			Read:   "Set at " + place(a.SetAt) + ". The gas stays in: the gauge reads less in the cold, and more where the air is thin.",
			Tables: []table{settingTable("There", a, []spring.Setting{m.There, m.TopUp, m.PumpHere})}})
	}
	if len(a.Spacer) > 0 {
		p.Blocks = append(p.Blocks, block{ID: "spacers", Title: "The same sag with other volume spacers", Wide: true,
			Read:   "Spacers leave the first half of the travel nearly alone and make the last of it firmer. Open the fork only as its manual says, all air let out first; else ask a service centre.",
			Tables: []table{settingTable("Spacers", a, a.Spacer)}})
	}
	return p
}

// coilRows are the figures of a coil.
func coilRows(a *spring.Answer) []figureRow {
	c := a.Coil
	if c == nil {
		return nil
	}
	rows := []figureRow{{"Coil", shown{Text: rate(c.RateNMM)}, "with " + mmFine(c.PreloadMM) + " of preload"}}
	if c.WantedRateNMM != nil {
		rows = append(rows, figureRow{"For the wanted sag", shown{Text: rate(*c.WantedRateNMM)}, "with the same preload"})
	}
	switch {
	case c.WantedPreloadMM != nil:
		rows = append(rows, figureRow{"Or preload", shown{Text: mmFine(*c.WantedPreloadMM)}, "with the same coil"})
	case c.NoPreload != "":
		rows = append(rows, figureRow{"Or preload", shown{Absent: true, Text: absentMark, Why: c.NoPreload}, ""})
	}
	return rows
}

// settingTable lists settings with their figures; a refused one has its reason and nothing else.
func settingTable(caption string, a *spring.Answer, list []spring.Setting) table {
	air, separate := a.Kind == "air", a.Chambers != nil && a.Chambers.Negative == spring.Separate
	t := table{Caption: caption, Heads: []head{{Text: "Setting", Words: true}}}
	column := func(on bool, h head) {
		if on {
			h.Number = true
			t.Heads = append(t.Heads, h)
		}
	}
	column(air, head{Text: "Pressure", Unit: "psi"})
	column(air, head{Text: "Pressure", Unit: "bar"})
	column(separate, head{Text: "Negative", Unit: "psi"})
	column(air, head{Text: "Spacers"})
	for _, h := range []head{{Text: "Sag", Unit: "mm"}, {Text: "Sag", Unit: "%"}, {Text: "Friction lets it be", Unit: "mm"}, {Text: "Rate at sag", Unit: "N/mm"},
		{Text: "Force at half travel", Unit: "N"}, {Text: "At full travel", Unit: "N"}, {Text: "Energy to full travel", Unit: "J"}} {
		column(true, h)
	}
	for i := range list {
		t.Rows = append(t.Rows, settingRow(&list[i], air, separate, len(t.Heads)))
	}
	return t
}

func settingRow(s *spring.Setting, air, separate bool, columns int) row {
	name := text(sentence(s.Name))
	if s.Figures == nil {
		name.Note = s.Refused
		r := row{Cells: []cell{name}}
		for len(r.Cells) < columns {
			r.Cells = append(r.Cells, text(absentMark))
		}
		return r
	}
	f := s.Figures
	cells := []string{}
	if air {
		cells = append(cells, fixed(f.Pressure.PSI(), 1), fixed(f.Pressure.Bar(), 2))
	}
	if separate {
		cells = append(cells, fixed(f.Negative.PSI(), 1))
	}
	if air {
		cells = append(cells, strconv.Itoa(s.Spacers))
	}
	band := absentMark
	if f.SagLowMM != nil {
		band = fixed(*f.SagLowMM, 1) + "–" + fixed(*f.SagHighMM, 1)
	}
	cells = append(cells, fixed(f.SagMM, 1), fixed(f.SagPct, 1), band, fixed(f.RateAtSagNMM, 1), fixed(f.ForceMiddleN, 0), fixed(f.ForceEndN, 0), fixed(f.EnergyEndJ, 0))
	return row{Cells: append([]cell{name}, texts(cells...).Cells...)}
}

// remedyPart is about fewer bottom-outs.
func remedyPart(a *spring.Answer) part {
	b := a.Bottom
	t := table{Caption: "Ways to hold them", Heads: []head{{Text: "To hold", Words: true}, {Text: "By", Words: true}, {Text: "Pressure", Unit: "psi", Number: true},
		{Text: "Spacers", Number: true}, {Text: "Sag", Unit: "mm", Number: true}, {Text: "Energy taken up", Unit: "J", Number: true}, {Text: "Bottom-outs left", Number: true}}}
	for i := range b.Ways {
		w := &b.Ways[i]
		by := text(w.Setting.Name)
		if w.Setting.Figures == nil {
			by.Note = w.Setting.Refused
			t.Rows = append(t.Rows, row{Cells: append([]cell{text(w.Goal), by}, texts(absentMark, absentMark, absentMark, absentMark, absentMark).Cells...)})
			continue
		}
		f := w.Setting.Figures
		t.Rows = append(t.Rows, row{Cells: append([]cell{text(w.Goal), by}, texts(fixed(f.Pressure.PSI(), 1), strconv.Itoa(w.Setting.Spacers), fixed(f.SagMM, 1), fixed(w.HoldsJ, 0), strconv.Itoa(*w.Left)).Cells...)})
	}
	return part{ID: "bottoming", Title: "Fewer bottom-outs", Blocks: []block{{ID: "remedies", Title: "What would have held them", Wide: true, Read: b.Limits + ".", Tables: []table{t}, Figures: []figureRow{
		{"Bottom-outs", shown{Text: strconv.Itoa(b.Count)}, "with an entry speed, fastest " + mmps(b.FastestMMS)},
		{"Spring took up", shown{Text: joules(b.HoldsJ)}, "by " + mm(b.OpenMM)},
		{"Motion left then", shown{Text: joules(b.MedianJ)}, "in the middle one; " + joules(b.HardestJ) + " in the hardest; effective mass " + fixed(b.MassKg, 1) + gap + "kg"},
	}}}}
}

func joules(v float64) string { return fixed(v, 0) + gap + "J" }
func rate(v float64) string   { return fixed(v, 2) + gap + "N/mm" }

// place writes temperature and altitude.
func place(p spring.Place) string {
	return strings.Join([]string{signed(p.TemperatureC) + gap + "°C", signed(p.AltitudeM) + gap + "m"}, " and ")
}

// signed writes v with as many digits as it has and a true minus sign.
func signed(v float64) string { return strings.Replace(plainNumber(v), "-", "−", 1) }
