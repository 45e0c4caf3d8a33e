package report

import (
	"fmt"
	"strconv"
	"strings"

	"stanchion/analyze"
	"stanchion/analyze/trail"
)

// A coachView is the list of the harshest places.
type coachView struct {
	Words  string
	Places []coachPlace
	None   string // why there are none
}

type coachPlace struct {
	Rank                                int
	Where, Agree, Cause, Also, Evidence string
	Riding, Setup                       []string
	Link                                *link      // on the time line, nil where there is none
	Place                               *placeLink // on the map
}

// coachTries is how many things to try are listed of each sort.
const coachTries = 2

// newCoach words the coach's list; nil where the trail was not read.
func newCoach(g *Ground) *coachView {
	if g == nil || g.Reading == nil {
		return nil
	}
	r := g.Reading
	v := &coachView{
		Words: "The harshest places by what the fork went through in them. What to try is common practice, without a source: change one thing at a time, ride the place again, and keep to what the makers of fork and tyre state.",
		None:  "No part of the trail stands out as harsh from the rest.",
	}
	for i := range r.Coach {
		c := &r.Coach[i]
		p := &r.Places[c.Place]
		var also []string
		for _, k := range c.Also {
			also = append(also, alsoCause(k))
		}
		place := coachPlace{
			Rank: c.Rank, Where: stretch(p.StartM, p.EndM), Agree: agreement("rough", p.Sighting),
			Cause: placeCause(c.Cause), Also: strings.Join(also, ", "), Evidence: sentence(evidenceWords(c.Evidence)) + ".",
			Link: g.link(p.Runs, fmt.Sprintf("place %d", c.Rank)), Place: onMap((p.StartM+p.EndM)/2, fmt.Sprintf("place %d", c.Rank)),
		}
		for _, k := range c.Riding[:min(coachTries, len(c.Riding))] {
			place.Riding = append(place.Riding, tryRiding(k))
		}
		for _, k := range c.Setup[:min(coachTries, len(c.Setup))] {
			place.Setup = append(place.Setup, trySetup(k))
		}
		v.Places = append(v.Places, place)
	}
	return v
}

// link leads to the time line where there is one run.
func (g *Ground) link(runs []trail.PlaceInRun, text string) *link {
	if len(g.Runs) == 1 {
		for _, r := range runs {
			if r.Run == 0 {
				return &link{r.StartS, r.EndS, text}
			}
		}
	}
	return nil
}

// onMap leads to a station of the map.
func onMap(stationM float64, text string) *placeLink { return &placeLink{tenth(stationM), text} }

// overRuns writes a figure over the runs: its median, and its range where there are several.
func overRuns(o trail.OverRuns, write func(float64) string) cell {
	c := figureCell(show(o.Median, write))
	low, okLow := o.Low.Get()
	high, okHigh := o.High.Get()
	if okLow && okHigh && o.Median.N() > 1 && write(low) != write(high) {
		c.Note = write(low) + " to " + write(high)
	}
	return c
}

func oneDecimal(v float64) string  { return fixed(v, 1) }
func twoDecimals(v float64) string { return fixed(v, 2) }

// foundWords is in how many runs a thing was found, for a table.
func foundWords(s trail.Sighting) cell { return text(fmt.Sprintf("%d of %d", s.FoundIn, s.PassedBy)) }

func placesTable(r *trail.Reading) table {
	t := table{
		Caption: "Harsh places, the harshest first",
		Heads: []head{{Text: "Rank"}, {Text: "Where"}, {Text: "Found in", Unit: "runs"}, {Text: "Roughness, RMS", Unit: "mm/s", Number: true}, {Text: "Exposure", Unit: "m²/s", Number: true},
			{Text: "Riding speed", Unit: "m/s", Number: true}, {Text: "Deepest", Unit: "% of travel", Number: true}, {Text: "Ends differ between runs by", Unit: "m", Number: true}},
		Empty: "No part of the trail stands out as harsh from the rest.",
	}
	for i := range r.Places {
		p := &r.Places[i]
		row := row{Cells: []cell{text(strconv.Itoa(i + 1)), text(stretch(p.StartM, p.EndM)), foundWords(p.Sighting), overRuns(p.RMSMMS, whole),
			overRuns(p.Exposure, func(v float64) string { return signif(v/1e6, 3) })}, Place: onMap((p.StartM+p.EndM)/2, fmt.Sprintf("place %d", i+1))}
		for _, key := range []string{trail.KeySpeed, trail.KeyPeakPct} {
			c := text(absentMark)
			if f := p.Figure(key); f != nil {
				c = overRuns(f.Over, oneDecimal)
			}
			row.Cells = append(row.Cells, c)
		}
		ends := text(absentMark)
		if a, ok := p.StartSpreadM.Get(); ok {
			ends = text(fixed(a, 0) + " / " + fixed(p.EndSpreadM.Or(0), 0))
		}
		row.Cells = append(row.Cells, ends)
		t.Rows = append(t.Rows, row)
	}
	return clipRows(t)
}

func jumpPlacesTable(r *trail.Reading) table {
	t := table{
		Caption: "Jumps",
		Heads: []head{{Text: "Take-off", Unit: "m", Number: true}, {Text: "Found in", Unit: "runs"}, {Text: "In the air", Unit: "s", Number: true}, {Text: "Speed", Unit: "m/s", Number: true},
			{Text: "Landing", Unit: "% of travel", Number: true}, {Text: "Landing speed of the fork", Unit: "mm/s", Number: true}, {Text: "Verdict", Words: true}},
		Empty: "No flight was found.",
	}
	for i := range r.Jumps {
		j := &r.Jumps[i]
		at := j.TakeOffM.Median.Or(0)
		t.Rows = append(t.Rows, row{Cells: []cell{overRuns(j.TakeOffM, whole), foundWords(j.Sighting), overRuns(j.AirS, twoDecimals), overRuns(j.SpeedMS, oneDecimal),
			overRuns(j.LandingPct, whole), overRuns(j.LandingMMS, whole), text(sentence(landingWords(j.Verdicts, len(j.Jumps))))}, Place: onMap(at, "the jump at "+metres(at))})
	}
	return clipRows(t)
}

func brakeTable(r *trail.Reading) table {
	t := table{
		Caption: "Braking zones",
		Heads: []head{{Text: "From", Unit: "m", Number: true}, {Text: "To", Unit: "m", Number: true}, {Text: "Found in", Unit: "runs"}, {Text: "Speed before", Unit: "m/s", Number: true}, {Text: "after", Unit: "m/s", Number: true},
			{Text: "Mean deceleration", Unit: "m/s²", Number: true}, {Text: "The fork stood deeper by", Unit: "% of travel", Number: true}, {Text: "Deepest", Unit: "mm", Number: true}},
		Empty: "No braking was found.",
	}
	for i := range r.Braking {
		z := &r.Braking[i]
		at := (z.StartM.Median.Or(0) + z.EndM.Median.Or(0)) / 2
		t.Rows = append(t.Rows, row{Cells: []cell{overRuns(z.StartM, whole), overRuns(z.EndM, whole), foundWords(z.Sighting), overRuns(z.FromMS, oneDecimal), overRuns(z.ToMS, oneDecimal),
			overRuns(z.MeanMS2, oneDecimal), overRuns(z.DivePct, oneDecimal), overRuns(z.PeakMM, whole)}, Place: onMap(at, "the braking zone at "+metres(at))})
	}
	return clipRows(t)
}

// clusterTable lists where events of one sort lie; hard is the heading of the hard ones, "" for events that have none.
func clusterTable(caption, empty, deepest, hard string, list []trail.Cluster) table {
	t := table{Caption: caption, Empty: empty,
		Heads: []head{{Text: "Where"}, {Text: "Found in", Unit: "runs"}, {Text: "Times", Number: true}, {Text: deepest, Unit: "mm", Number: true}}}
	if hard != "" {
		t.Heads = append(t.Heads, head{Text: hard, Number: true})
	}
	for i := range list {
		c := &list[i]
		where := metres(c.StartM)
		if c.EndM-c.StartM >= 1 {
			where = stretch(c.StartM, c.EndM)
		}
		row := row{Cells: []cell{text(where), foundWords(c.Sighting), text(strconv.Itoa(len(c.Events))), overRuns(c.DeepestMM, whole)}, Place: onMap((c.StartM+c.EndM)/2, where)}
		if hard != "" {
			row.Cells = append(row.Cells, text(strconv.Itoa(c.Hard)))
		}
		t.Rows = append(t.Rows, row)
	}
	return clipRows(t)
}

// sectionsTable is the figures of every section.
func sectionsTable(r *trail.Reading) table {
	t := table{Caption: "Sections of the trail", Empty: "The trail has no sections: no run has positions.", Heads: []head{{Text: "Section"}, {Text: "Where"}}}
	columns := []struct {
		key, text, unit string
		write           func(float64) string
	}{
		{trail.KeyTime, "Time", "s", oneDecimal}, {trail.KeySpeed, "Speed", "m/s", oneDecimal}, {trail.KeyRMS, "Roughness, RMS", "mm/s", whole},
		{trail.KeyFast, "Fast compression", "% of its time", func(v float64) string { return fixed(100*v, 0) }}, {trail.KeyMean, "Mean travel", "mm", whole}, {trail.KeyPeak, "Deepest", "mm", whole},
		{trail.KeyBottoms, "Bottom-outs", "", whole}, {trail.KeyPacking, "Packing runs", "", whole},
	}
	for _, c := range columns {
		t.Heads = append(t.Heads, head{Text: c.text, Unit: c.unit, Number: true})
	}
	for i := range r.Sections {
		s := &r.Sections[i]
		row := row{Cells: []cell{text(s.Name), text(stretch(s.StartM, s.EndM))}, Place: onMap((s.StartM+s.EndM)/2, s.Name)}
		for _, c := range columns {
			cell := text(absentMark)
			if f := s.Figure(c.key); f != nil {
				cell = overRuns(f.Over, c.write)
			}
			row.Cells = append(row.Cells, cell)
		}
		t.Rows = append(t.Rows, row)
	}
	return clipRows(t)
}

// speedFigures says how roughness depends on speed.
func speedFigures(r *trail.Reading) []figureRow {
	f := &r.Speed
	k := show(f.K, ratio)
	if lo, ok := f.KLow.Get(); ok && !k.Absent {
		k.Text += fmt.Sprintf(" (%s to %s)", ratio(lo), ratio(f.KHigh.Or(0)))
	}
	return []figureRow{
		{"Roughness grows with speed to the power of", k, "with its 95 % interval; 0 = not at all"},
		{"Speed that it is brought to", show(f.RefMS, mps), ""},
		{"Runs differ at one place by a factor of", show(f.RawRatio, ratio), "as measured"},
		{"and at one speed by", show(f.NormalRatio, ratio), ""},
	}
}

// groundParts are what was met on the trail, beyond the coach's list.
func groundParts(g *Ground) []fold {
	r := g.Reading
	blocks := func(list ...block) []block { return list }
	folds := []fold{
		{"Jumps: " + count(len(r.Jumps), "jump", "jumps"), blocks(block{ID: "ground-jumps", Title: "Jumps and their landings", Wide: true, Tables: []table{jumpPlacesTable(r)},
			Read: fmt.Sprintf("Told by smooth travel that a landing ends, for %s or longer. That needs no full extension, so there can be more of these than of the likely jumps of the whole run, which count how often the fork stood extended. A landing is deep from %s of travel. Take-off is where the fork is let go; a fork that is pushed out late, by slow rebound, shows it late.", ms(r.Options.JumpMinS), percent(r.Options.DeepPct))})},
		{"Braking: " + count(len(r.Braking), "zone", "zones"), blocks(block{ID: "ground-braking", Title: "Where the brakes are on, and how far the fork dives", Wide: true, Tables: []table{brakeTable(r)},
			Read: fmt.Sprintf("Slowing down by at least %s"+gap+"m/s² for %s. Climbs slow down as well.", plainNumber(r.Options.BrakeMS2), length(r.Options.BrakeMinS))})},
		{"Packing and bottom-outs: " + count(len(r.Packing), "place", "places") + " and " + count(len(r.Bottoms), "place", "places"), blocks(block{ID: "ground-clusters", Title: "Where the fork stays down, and where it comes to the end", Wide: true, Tables: []table{
			clusterTable("Packing", "The fork never stayed down over several hits.", "Deepest valley", "", r.Packing),
			clusterTable("Bottom-outs", "The fork never came within the last of its travel.", "Deepest", "Hard ones", r.Bottoms)}})},
		{"Every harsh place, and every section", blocks(
			block{ID: "ground-places", Title: "Every harsh place", Wide: true, Tables: []table{placesTable(r)}},
			block{ID: "ground-sections", Title: "Every section", Wide: true, Tables: []table{sectionsTable(r)}},
			block{ID: "ground-speed", Title: "Roughness and speed", Wide: true, Figures: speedFigures(r), Read: "A faster run feels the same ground rougher. Roughness at one speed takes that out, as far as the runs show it."})},
	}
	return folds
}

// groundNotes are what could not be read, and why.
func groundNotes(g *Ground) []analyze.Caveat {
	var out []analyze.Caveat
	if g != nil && g.Reading != nil {
		for _, n := range g.Reading.Notes {
			out = append(out, analyze.Caveat{Severity: analyze.Note, Text: n})
		}
	}
	return out
}

// mapPart and placesPart are the map, and the harshest places with what else was met, as parts of a study; none where they are not known.
func mapPart(g *Ground) []part {
	m := newMap(g)
	if m == nil {
		return nil
	}
	return []part{{ID: "map", Title: "The trail", OnePage: true, Map: m}}
}

func placesPart(g *Ground) []part {
	coach := newCoach(g)
	if coach == nil {
		return nil
	}
	return []part{{ID: "places", Title: "The harshest places, and what to try", OnePage: true, Coach: coach, Folds: groundParts(g)}}
}
