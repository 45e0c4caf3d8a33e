package trail

import (
	"math"

	"stanchion/analyze"
)

// A Gap is the time that a run has lost on another since the first gate, along the line. It is positive where the run is behind. Places that one of the two
// did not pass are left out. At the last gate it is the difference of their times.
type Gap struct {
	Run      int       `json:"run"`
	Against  int       `json:"against"`
	StationM []float64 `json:"station_m"`
	GapS     []float64 `json:"gap_s"`
	SigmaS   []float64 `json:"sigma_s"` // its standard uncertainty
	// Why says why there is none, "" where there is one.
	Why string `json:"why,omitempty"`
}

// gaps finds the gap of every run on the one that all are held against.
func (t *Timing) gaps(line *Line, gates []Gate, laps []TimedLap) {
	stations := []float64{gates[0].StationM} // every gate is among them
	for i := 1; i < len(gates); i++ {
		from, to := gates[i-1].StationM, gates[i].StationM
		n := max(1, math.Ceil((to-from)/t.Options.GapStepM))
		for k := 1.0; k <= n; k++ {
			stations = append(stations, from+(to-from)*(k/n))
		}
	}
	o := laps[t.Against].Placed.since(line, stations, t.PositionError)
	for i := range laps {
		if i == t.Against {
			continue
		}
		g := Gap{Run: i, Against: t.Against, StationM: []float64{}, GapS: []float64{}, SigmaS: []float64{}}
		r := laps[i].Placed.since(line, stations, t.PositionError)
		for k := range stations {
			a, okA := r[k].time.Get()
			b, okB := o[k].time.Get()
			if okA && okB {
				g.StationM, g.GapS = append(g.StationM, stations[k]), append(g.GapS, a-b)
				g.SigmaS = append(g.SigmaS, math.Hypot(r[k].ownS, o[k].ownS))
			}
		}
		if len(g.StationM) == 0 {
			g.Why = "one of the two runs has no time at gate " + gates[0].Name
		}
		t.Gaps = append(t.Gaps, g)
	}
}

type elapsed struct {
	time analyze.Figure
	ownS float64 // standard uncertainty without what is common to all runs
}

// since is the time of a run since the first of the stations.
func (q *Placed) since(line *Line, stations []float64, w *PositionError) []elapsed {
	out := make([]elapsed, len(stations))
	first := q.passage(line, stations[0], w)
	for k, s := range stations {
		p := q.passage(line, s, w)
		out[k].time, _, out[k].ownS = elapsedBetween(&first, &p, "", "", w)
		if k == 0 {
			out[0].ownS = 0
		}
	}
	return out
}
