package report

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"

	"stanchion/analyze/trail"
)

// mapMarks are all marks of the map in the order of the trail.
func mapMarks(g *Ground) []mapMark {
	out := []mapMark{}
	for _, gate := range g.Gates {
		out = append(out, mapMark{"gate", gate.StationM, gate.StationM, clip(gate.Name, 16), "gate " + gate.Name})
	}
	if r := g.Reading; r != nil {
		for _, k := range shownPlaces(r) {
			p := &r.Places[k]
			out = append(out, mapMark{"harsh", p.StartM, p.EndM, strconv.Itoa(k + 1), fmt.Sprintf("harsh place %d, %s", k+1, agreement("rough", p.Sighting))})
		}
		for i := range r.Jumps {
			j := &r.Jumps[i]
			if at, ok := j.TakeOffM.Median.Get(); ok {
				out = append(out, mapMark{"jump", at, at, "J", "jump, " + jumpWords(j)})
			}
		}
		for i := range r.Bottoms {
			c := &r.Bottoms[i]
			kind, text := "bottom", counted(len(c.Events), "bottom-out", "bottom-outs")
			if c.Hard > 0 {
				kind, text = "bottom-hard", counted(len(c.Events), "bottom-out", "bottom-outs")+fmt.Sprintf(", %d of them hard", c.Hard)
			}
			out = append(out, mapMark{kind, c.StartM, c.EndM, "", text})
		}
		for i := range r.Braking {
			z := &r.Braking[i]
			from, okA := z.StartM.Median.Get()
			to, okB := z.EndM.Median.Get()
			if okA && okB && mostRuns(z.Sighting) {
				out = append(out, mapMark{"braking", from, to, "", "braking"})
			}
		}
	}
	for i := range out {
		out[i].FromM, out[i].ToM = tenth(out[i].FromM), tenth(out[i].ToM)
	}
	slices.SortStableFunc(out, func(a, b mapMark) int { return cmp.Compare(a.FromM, b.FromM) })
	return out
}

// mapPlaces is how many harsh places the map numbers.
const mapPlaces = 12

// shownPlaces are the indices of the harsh places that are drawn: found by most runs, the first of them.
func shownPlaces(r *trail.Reading) []int {
	var out []int
	for i := range r.Places {
		if mostRuns(r.Places[i].Sighting) && len(out) < mapPlaces {
			out = append(out, i)
		}
	}
	return out
}

// mostRuns tells whether at least half of the runs that passed saw it.
func mostRuns(s trail.Sighting) bool { return 2*s.FoundIn >= s.PassedBy }

// mapLegend says what the marks mean, for those that occur.
func mapLegend(d *mapData) []legendEntry {
	var out []legendEntry
	for _, e := range []legendEntry{
		{"harsh", "harsh place, numbered by rank"}, {"on-map-jump", "jump"}, {"bottom", "bottom-out"},
		{"bottom-hard", "hard bottom-out"}, {"braking", "braking"}, {"gate", "gate"},
	} {
		kind := e.Kind
		if kind == "on-map-jump" {
			kind = "jump"
		}
		if slices.ContainsFunc(d.Marks, func(m mapMark) bool { return m.Kind == kind }) {
			out = append(out, e)
		}
	}
	return out
}

// mapWords says how to read the map.
func mapWords(g *Ground) string {
	s := "Drawn from the track itself, in true proportion; no map is loaded. "
	if len(g.Runs) > 1 {
		s = fmt.Sprintf("The reference line of %d runs, in true proportion; no map is loaded. Colours are medians over the runs. ", len(g.Runs))
	}
	return s + "Point at it, or give it the focus: arrow keys move along the trail, with Shift ten times as far, Page Up and Page Down go from mark to mark."
}
