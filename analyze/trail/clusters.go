package trail

import (
	"cmp"
	"slices"

	"stanchion/analyze"
)

// bottomEvents and packingEvents are the events of a run that have a station.
func bottomEvents(run int, r *RunOnTrail, g *ground) (out []ClusterEvent) {
	for _, b := range r.Result.Travel.Bottoms {
		if m, ok := g.station(b.TimeS); ok {
			out = append(out, ClusterEvent{Run: run, TimeS: b.TimeS, StationM: m, DepthMM: b.PeakMM, Hard: b.Hard})
		}
	}
	return out
}

func packingEvents(run int, r *RunOnTrail, g *ground) (out []ClusterEvent) {
	for _, p := range r.Result.Packing.Runs {
		if m, ok := g.station(p.StartS); ok {
			out = append(out, ClusterEvent{Run: run, TimeS: p.StartS, StationM: m, DepthMM: p.DeepestMM})
		}
	}
	return out
}

// clusters groups events of all runs that follow on one another within joinM, and puts first those that most runs share, then those with most events.
func clusters(events []ClusterEvent, grounds []*ground, joinM float64) []Cluster {
	slices.SortFunc(events, func(a, b ClusterEvent) int {
		return cmp.Or(cmp.Compare(a.StationM, b.StationM), cmp.Compare(a.Run, b.Run), cmp.Compare(a.TimeS, b.TimeS))
	})
	out := []Cluster{}
	for lo := 0; lo < len(events); {
		hi := lo + 1
		for hi < len(events) && events[hi].StationM-events[hi-1].StationM <= joinM {
			hi++
		}
		out = append(out, newCluster(events[lo:hi], grounds))
		lo = hi
	}
	slices.SortStableFunc(out, func(a, b Cluster) int {
		return cmp.Or(cmp.Compare(b.FoundIn, a.FoundIn), cmp.Compare(len(b.Events), len(a.Events)))
	})
	return out
}

func newCluster(events []ClusterEvent, grounds []*ground) Cluster {
	c := Cluster{StartM: events[0].StationM, EndM: events[len(events)-1].StationM, Events: slices.Clone(events)}
	deepest := map[int]float64{}
	for _, e := range events {
		if d, ok := deepest[e.Run]; !ok || e.DepthMM > d {
			deepest[e.Run] = e.DepthMM
		}
		if e.Hard {
			c.Hard++
		}
	}
	var depths []analyze.Figure
	var in []event
	for k := range grounds {
		if d, ok := deepest[k]; ok {
			depths, in = append(depths, analyze.Value(d, 1)), append(in, event{run: k})
		}
	}
	c.DeepestMM = over(depths)
	c.Sighting = sighting(len(in), passedBy(grounds, in, c.StartM, c.EndM))
	return c
}
