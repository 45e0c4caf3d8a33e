package report

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"

	"stanchion/analyze"
)

// maxRows is how many rows of a list of events are printed; the JSON output holds all.
const maxRows = 200

// clipRows cuts a table that is too long and says so.
func clipRows(t table) table {
	if n := len(t.Rows); n > maxRows {
		t.Rows = t.Rows[:maxRows]
		t.Caption += fmt.Sprintf(" (the first %d of %d; the JSON output holds all)", maxRows, n)
	}
	return t
}

func bottomTable(r *analyze.Result) table {
	t := table{
		Caption: "Bottom-outs",
		Heads:   []head{{Text: "When"}, {Text: "Kind"}, {Text: "Deepest", Unit: "mm", Number: true}, {Text: "Arrived at", Unit: "mm/s", Number: true}, {Text: "Time at the end", Unit: "ms", Number: true}},
		Empty:   emptyWords(r.Travel.BottomOuts, "The fork never came within the last of its travel."),
	}
	for _, b := range r.Travel.Bottoms {
		kind := "soft"
		if b.Hard {
			kind = "hard"
		}
		row := texts(clock(b.TimeS), kind, fixed(b.PeakMM, 0), fixed(b.EntryMMS, 0), fixed(1000*b.TimeAtEndS, 0))
		row.Link = around(b.TimeS, "bottom-out at "+clock(b.TimeS))
		t.Rows = append(t.Rows, row)
	}
	return clipRows(t)
}

// emptyWords is what an empty list says: that there was nothing, or why it is not known.
func emptyWords(f analyze.Figure, nothing string) string {
	if !f.OK() {
		return absentMark + " " + sentence(f.Reason()) + "."
	}
	return nothing
}

func jumpTable(r *analyze.Result) table {
	t := table{
		Caption: "Extended spells and landings",
		Heads:   []head{{Text: "When"}, {Text: "Kind"}, {Text: "Extended for", Unit: "s", Number: true}, {Text: "Landing: peak speed", Unit: "mm/s", Number: true}, {Text: "Landing: travel", Unit: "mm", Number: true}, {Text: "of travel", Unit: "%", Number: true}},
		Empty:   emptyWords(r.Air.SpellsN, "The fork never stayed extended for long."),
	}
	for _, a := range r.Air.Spells {
		kind := "extended"
		if a.Jump {
			kind = "likely jump"
		}
		row := texts(clock(a.StartS), kind, fixed(a.DurationS, 2), fixed(a.LandingPeakMMS, 0), fixed(a.LandingTravelMM, 0), fixed(a.LandingTravelPct, 0))
		row.Link = &link{max(0, a.StartS-0.7), a.EndS + 1.2, "landing at " + clock(a.EndS)}
		t.Rows = append(t.Rows, row)
	}
	return clipRows(t)
}

// landingTable is the table of jumps, the fastest landing first.
func landingTable(r *analyze.Result) table {
	sorted := *r
	sorted.Air.Spells = slices.Clone(r.Air.Spells)
	slices.SortStableFunc(sorted.Air.Spells, func(a, b analyze.ExtendedSpell) int {
		return cmp.Compare(b.LandingPeakMMS, a.LandingPeakMMS)
	})
	return jumpTable(&sorted)
}

// roughestTable is the short form of the harsh sections: where, how long, why.
func roughestTable(r *analyze.Result) table {
	t := table{
		Caption: "The harshest stretches",
		Heads:   []head{{Text: "Where"}, {Text: "Lasted", Unit: "s", Number: true}, {Text: "Peak travel", Unit: "mm", Number: true}, {Text: "Why", Words: true}},
		Empty:   emptyWords(r.Rough.ThresholdMMS, "No stretch was rough for long enough to count."),
	}
	for i, h := range r.Rough.Sections[:min(5, len(r.Rough.Sections))] {
		row := texts(clock(h.StartS)+"–"+clock(h.EndS), fixed(h.EndS-h.StartS, 1), fixed(h.PeakMM, 0), causes(h.Causes[:min(1, len(h.Causes))]))
		row.Link = &link{h.StartS, h.EndS, fmt.Sprintf("section %d", i+1)}
		t.Rows = append(t.Rows, row)
	}
	return t
}

func harshTable(r *analyze.Result) table {
	t := table{
		Caption: "Harsh sections, the harshest first",
		Heads: []head{
			{Text: "Rank"}, {Text: "Where"}, {Text: "Why", Words: true}, {Text: "Exposure", Unit: "m²/s", Number: true}, {Text: "Roughness, RMS", Unit: "mm/s", Number: true}, {Text: "Peak compression", Unit: "mm/s", Number: true},
			{Text: "Fast compression", Unit: "% of its time", Number: true}, {Text: "Travel, mean / peak", Unit: "mm", Number: true}, {Text: "Bottom-outs", Number: true},
			{Text: "Packing runs", Number: true}, {Text: "Main frequency", Unit: "Hz", Number: true}, {Text: "Wheel and chatter", Unit: "% of power", Number: true},
		},
		Empty: emptyWords(r.Rough.ThresholdMMS, "No stretch was rough for long enough to count."),
	}
	largest := 0.0
	for _, h := range r.Rough.Sections {
		largest = max(largest, h.Exposure)
	}
	for i, h := range r.Rough.Sections {
		where := clock(h.StartS) + "–" + clock(h.EndS)
		if from, ok := h.StartM.Get(); ok {
			if to, ok := h.EndM.Get(); ok {
				where += fmt.Sprintf(", %s–%s", fixed(from, 0), metres(to))
			}
		}
		row := texts(strconv.Itoa(i+1), where, causes(h.Causes))
		bar := 0.0
		if largest > 0 {
			bar = round(100*h.Exposure/largest, 3)
		}
		row.Cells = append(row.Cells, cell{Text: signif(h.Exposure/1e6, 3), Bar: bar})
		row.Cells = append(row.Cells, texts(fixed(h.RMSMMS, 0), fixed(h.PeakMMS, 0), fixed(100*h.FastShare, 0),
			fixed(h.MeanMM, 0)+" / "+fixed(h.PeakMM, 0), strconv.Itoa(h.BottomOuts), strconv.Itoa(h.PackingRuns)).Cells...)
		row.Cells = append(row.Cells, figureCell(show(h.BandHz, func(v float64) string { return fixed(v, 1) })))
		row.Cells = append(row.Cells, figureCell(show(h.FastBands, func(v float64) string { return fixed(100*v, 0) })))
		row.Link = &link{h.StartS, h.EndS, fmt.Sprintf("section %d", i+1)}
		t.Rows = append(t.Rows, row)
	}
	return clipRows(t)
}

func packingTable(r *analyze.Result) table {
	t := table{
		Caption: "Packing runs",
		Heads:   []head{{Text: "When"}, {Text: "Lasted", Unit: "s", Number: true}, {Text: "Valleys", Number: true}, {Text: "Deepest valley", Unit: "mm", Number: true}},
		Empty:   emptyWords(r.Packing.Count, "The fork never stayed down over several hits."),
	}
	for _, p := range r.Packing.Runs {
		row := texts(clock(p.StartS), fixed(p.EndS-p.StartS, 2), strconv.Itoa(p.Valleys), fixed(p.DeepestMM, 0))
		row.Link = &link{max(0, p.StartS-0.5), p.EndS + 0.5, "packing run at " + clock(p.StartS)}
		t.Rows = append(t.Rows, row)
	}
	return clipRows(t)
}

func diveTable(r *analyze.Result) table {
	t := table{
		Caption: "Times in which the fork stood deep",
		Heads:   []head{{Text: "When"}, {Text: "Lasted", Unit: "s", Number: true}, {Text: "Deepest (slow part)", Unit: "mm", Number: true}, {Text: "Braking", Words: true}},
		Empty:   emptyWords(r.BrakeDive.Count, "The fork never stood deep for long."),
	}
	for _, d := range r.BrakeDive.Dives {
		braking := "not known: no speed channel"
		if d.Confirmed {
			braking = "yes, the speed dropped"
		} else if r.BrakeDive.Confirmed.OK() {
			braking = "not confirmed by the speed"
		}
		row := texts(clock(d.StartS), fixed(d.EndS-d.StartS, 1), fixed(d.DeepestMM, 0), braking)
		row.Link = &link{max(0, d.StartS-1), d.EndS + 1, "deep time at " + clock(d.StartS)}
		t.Rows = append(t.Rows, row)
	}
	return clipRows(t)
}

func topTable(r *analyze.Result) table {
	t := table{
		Caption: "Hard top-outs",
		Heads:   []head{{Text: "When"}, {Text: "Rebound speed at the end", Unit: "mm/s", Number: true}},
		Empty:   emptyWords(r.Travel.TopOutHard, "None."),
	}
	for _, o := range r.Travel.Tops {
		if o.Hard {
			row := texts(clock(o.TimeS), fixed(o.SpeedMMS, 0))
			row.Link = around(o.TimeS, "top-out at "+clock(o.TimeS))
			t.Rows = append(t.Rows, row)
		}
	}
	return clipRows(t)
}

func markerTable(r *analyze.Result) table {
	t := table{Caption: "Rider's markers", Heads: []head{{Text: "When"}, {Text: "Label"}}, Empty: "The recording holds no markers."}
	for _, k := range r.Markers {
		row := texts(clock(k.TimeS), k.Label)
		row.Link = around(k.TimeS, "marker at "+clock(k.TimeS))
		t.Rows = append(t.Rows, row)
	}
	return clipRows(t)
}
