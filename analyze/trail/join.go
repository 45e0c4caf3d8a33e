package trail

import (
	"cmp"
	"math"
	"slices"
)

// An event is one thing found in one run at a station.
type event struct {
	run, index int
	station    float64
}

// joinByRun groups events of different runs that mean the same place: each group has at most one of a run, and no event lies further than
// joinM from the group's median when it joins. Groups are in the order of their stations, their events in that of the runs.
func joinByRun(events []event, joinM float64) [][]event {
	events = slices.Clone(events)
	slices.SortFunc(events, func(a, b event) int {
		return cmp.Or(cmp.Compare(a.station, b.station), cmp.Compare(a.run, b.run), cmp.Compare(a.index, b.index))
	})
	var groups [][]event
	for _, e := range events {
		best, nearest := -1, math.Inf(1)
		for k := range groups {
			if d := math.Abs(e.station - medianStation(groups[k])); d <= joinM && d < nearest && !holdsRun(groups[k], e.run) {
				best, nearest = k, d
			}
		}
		if best < 0 {
			groups = append(groups, []event{e})
			continue
		}
		groups[best] = append(groups[best], e)
	}
	slices.SortStableFunc(groups, func(a, b []event) int { return cmp.Compare(medianStation(a), medianStation(b)) })
	for _, g := range groups {
		slices.SortFunc(g, func(a, b event) int { return cmp.Compare(a.run, b.run) })
	}
	return groups
}

func medianStation(group []event) float64 {
	v := make([]float64, len(group))
	for i, e := range group {
		v[i] = e.station
	}
	return middle(v)
}

func holdsRun(group []event, run int) bool {
	return slices.ContainsFunc(group, func(e event) bool { return e.run == run })
}

// passedBy counts the runs that were on a stretch, those of the group in any case.
func passedBy(grounds []*ground, group []event, fromM, toM float64) int {
	n := 0
	for k, g := range grounds {
		if holdsRun(group, k) || g.passes(fromM, toM) {
			n++
		}
	}
	return n
}
