package trail

import (
	"fmt"
	"math"

	"stanchion/analyze"
)

// TimingSchemaVersion numbers the form of a Timing.
const TimingSchemaVersion = 1

// TimingOptions steer timing.
type TimingOptions struct {
	GateMS       float64 `json:"gate_m_s"`      // start and finish of even splits lie where every run rides as fast
	GateAwayM    float64 `json:"gate_away_m"`   // a gate on the ground may lie so far from the line
	WanderS      float64 `json:"wander_s"`      // time over which the error of a position changes, where it cannot be seen from several runs (common practice, no source)
	StatedWeight float64 `json:"stated_weight"` // how many independent observations the uncertainty that smoothing states counts for
	FloorM       float64 `json:"floor_m"`       // least standard uncertainty of a position along the line: the receiver is somewhere on bike or rider, and between fixes it is a guess (common practice, no source)
	MarkerS      float64 `json:"marker_s"`      // standard uncertainty of a marker that a rider drops by hand (common practice, no source)
	Coverage     float64 `json:"coverage"`      // differences over so many standard uncertainties are told; 2 covers about 95 % (JCGM 100:2008, 6.3.3, from memory)
	GapStepM     float64 `json:"gap_step_m"`    // between the points of the gap over distance
	DoubtCrossM  float64 `json:"doubt_cross_m"` // cross-track error over which a run gets a warning
	Against      int     `json:"against"`       // the run, from 1, that the others are held against; 0 = the fastest
}

// DefaultTimingOptions are those of the timing command.
func DefaultTimingOptions() TimingOptions {
	return TimingOptions{GateMS: 2, GateAwayM: 30, WanderS: 60, StatedWeight: 2, FloorM: 0.3, MarkerS: 0.2, Coverage: 2, GapStepM: 5, DoubtCrossM: 5}
}

// A TimedLap is a run to be timed: laid on the reference line, or with the times of its markers.
type TimedLap struct {
	Name   string
	Source string  // path of the file
	Path   *Path   // nil where there are only markers
	Placed *Placed // on the line
	// Marks are the times of the markers, one a gate, NaN where the run has none there. They are used where there is no line.
	Marks []float64
}

// A Timing is what gates say about runs of one trail.
type Timing struct {
	SchemaVersion int            `json:"schema_version"`
	By            string         `json:"by"` // "positions" or "markers"
	LineM         analyze.Figure `json:"line_m"`
	LineRuns      int            `json:"line_runs"`
	SpreadM       analyze.Figure `json:"spread_m"`                 // of the runs across the line, the median along it
	PositionError *PositionError `json:"position_error,omitempty"` // nil where gates are markers
	Gates         []TimedGate    `json:"gates"`
	Runs          []TimedRun     `json:"runs"`
	Best          []BestSplit    `json:"best_splits"`
	// IdealS is the sum of the best splits. The best of several uncertain times is more often too short than too long, so it is somewhat too short.
	IdealS      analyze.Figure   `json:"ideal_s"`
	IdealSigmaS analyze.Figure   `json:"ideal_sigma_s"`
	Against     int              `json:"against"` // index of the run that the others are held against
	Versus      []Versus         `json:"versus"`
	Gaps        []Gap            `json:"gaps"`
	Caveats     []analyze.Caveat `json:"caveats"`
	Options     TimingOptions    `json:"options"`
}

// A TimedGate is a gate and where it is.
type TimedGate struct {
	Name     string         `json:"name"`
	StationM analyze.Figure `json:"station_m"` // absent where gates are markers
}

// A TimedRun is one run with its times. Uncertainties are standard ones.
type TimedRun struct {
	Name        string         `json:"name"`
	Source      string         `json:"source"`
	RateHz      analyze.Figure `json:"rate_hz"`  // of its positions
	NoiseM      analyze.Figure `json:"noise_m"`  // of one position before smoothing
	CrossRMSM   analyze.Figure `json:"cross_m"`  // root mean square distance from the line
	OffLine     [][2]float64   `json:"off_line"` // spans of time between first and last gate, s of the track, in which it was off the line
	Passages    []Passage      `json:"passages"` // of each gate
	Splits      []Split        `json:"splits"`   // between neighbouring gates
	TotalS      analyze.Figure `json:"total_s"`  // from the first gate to the last
	SigmaS      analyze.Figure `json:"sigma_s"`  // of it
	ownS        float64        // part of it that is not common to all runs
	LossToIdeal analyze.Figure `json:"loss_to_ideal_s"`
}

// A Passage is one run at one gate.
type Passage struct {
	TimeS   analyze.Figure `json:"time_s"` // on the clock of the track or log
	SigmaS  analyze.Figure `json:"sigma_s"`
	SpeedMS analyze.Figure `json:"speed_m_s"`
	floorS  float64        // part of the uncertainty that is new at each gate
	// What the uncertainty of the time to another gate is made of; placed is nil where gates are markers.
	placed      *Placed
	at          int // index in placed
	speedMS     float64
	dirE, dirN  float64   // direction of the line
	covariances []float64 // of the station there with later ones
}

// A Split is one run between two gates.
type Split struct {
	TimeS  analyze.Figure `json:"time_s"`
	SigmaS analyze.Figure `json:"sigma_s"`
	LossS  analyze.Figure `json:"loss_s"` // to the best run in this split
	ownS   float64        // part of the uncertainty that is not common to all runs
	Best   bool           `json:"best"`
}

// A BestSplit is the shortest time between two gates.
type BestSplit struct {
	From   string         `json:"from"`
	To     string         `json:"to"`
	Run    int            `json:"run"` // index, −1 where no run has the split
	TimeS  analyze.Figure `json:"time_s"`
	SigmaS analyze.Figure `json:"sigma_s"`
	// Verdict says whether the best run is faster than the next one: Faster, TooClose or NotJudged.
	Verdict string `json:"verdict"`
}

// Verdicts on a difference of two times.
const (
	Faster    = "faster"
	Slower    = "slower"
	TooClose  = "too close to call"
	NotJudged = "not judged"
)

// Versus holds one run against another.
type Versus struct {
	Run     int          `json:"run"`
	Against int          `json:"against"`
	Splits  []Difference `json:"splits"`
	Total   Difference   `json:"total"`
}

// A Difference of two times, positive where the run is slower than the other.
type Difference struct {
	DifferenceS analyze.Figure `json:"difference_s"`
	SigmaS      analyze.Figure `json:"sigma_s"`
	Verdict     string         `json:"verdict"`
}

// Time takes the times of runs at gates. line is nil where gates are the runs' markers. All runs must be placed on the line.
func Time(line *Line, gates []Gate, laps []TimedLap, opt TimingOptions) (*Timing, error) {
	if len(laps) == 0 {
		return nil, fmt.Errorf("timing: no runs given")
	}
	if len(gates) < 2 {
		return nil, fmt.Errorf("timing: %d gates given, two are needed", len(gates))
	}
	if opt.Against < 0 || opt.Against > len(laps) {
		return nil, fmt.Errorf("timing: run %d to hold the others against is not among the %d given", opt.Against, len(laps))
	}
	t := &Timing{SchemaVersion: TimingSchemaVersion, By: "markers", Options: opt, Gaps: []Gap{}, Versus: []Versus{},
		LineM: analyze.Absent("gates are the markers of the runs"), SpreadM: analyze.Absent("gates are the markers of the runs")}
	w := PositionError{Quick: 1, TauS: 1} // one marker says nothing of the next
	if line != nil {
		t.onLine(line, laps)
		w = *t.PositionError
	}
	for i, g := range gates {
		station := analyze.Value(g.StationM, 1)
		if line == nil {
			station = analyze.Absent("gates are the markers of the runs")
		} else if i > 0 && g.StationM <= gates[i-1].StationM {
			return nil, fmt.Errorf("timing: gate %s is not after gate %s", g.Name, gates[i-1].Name)
		}
		t.Gates = append(t.Gates, TimedGate{g.Name, station})
	}
	for i := range laps {
		t.Runs = append(t.Runs, timed(line, gates, &laps[i], &w, &opt))
	}
	t.best(&w)
	t.hold()
	if line != nil {
		t.gaps(line, gates, laps)
	}
	t.caveats()
	return t, nil
}

// onLine notes what is known of the line.
func (t *Timing) onLine(line *Line, laps []TimedLap) {
	var placed []*Placed
	for i := range laps {
		placed = append(placed, laps[i].Placed)
	}
	w := positionError(line, placed, &t.Options)
	t.By, t.PositionError, t.LineM, t.LineRuns = "positions", &w, analyze.Value(line.LengthM(), line.Runs), line.Runs
	t.SpreadM = analyze.Absent("the line was made from one run")
	if line.Runs > 1 {
		t.SpreadM = analyze.Value(medianOf(line.SpreadM), line.Runs)
	}
}

// timed takes the times of one run.
func timed(line *Line, gates []Gate, lap *TimedLap, w *PositionError, opt *TimingOptions) TimedRun {
	const noLine = "gates are the markers of the runs"
	r := TimedRun{Name: lap.Name, Source: lap.Source, OffLine: [][2]float64{}, RateHz: analyze.Absent(noLine), NoiseM: analyze.Absent(noLine), CrossRMSM: analyze.Absent(noLine)}
	if lap.Path != nil {
		n := len(lap.Path.TimeS)
		r.RateHz, r.NoiseM = analyze.Value(lap.Path.RateHz, n), analyze.Value(lap.Path.NoiseM, n)
	}
	for i, g := range gates {
		if line == nil {
			r.Passages = append(r.Passages, marked(lap.Marks[i], opt.MarkerS))
			continue
		}
		r.Passages = append(r.Passages, lap.Placed.passage(line, g.StationM, w))
	}
	if line != nil {
		r.CrossRMSM = analyze.Value(lap.Placed.CrossRMSM, len(lap.Placed.TimeS))
		a, okA := r.Passages[0].TimeS.Get()
		b, okB := r.Passages[len(gates)-1].TimeS.Get()
		for _, s := range lap.Placed.OffLine {
			if (!okA || s[1] > a) && (!okB || s[0] < b) && s[0] > lap.Placed.TimeS[0] && s[1] < lap.Placed.TimeS[len(lap.Placed.TimeS)-1] {
				r.OffLine = append(r.OffLine, s)
			}
		}
	}
	for i := 1; i < len(gates); i++ {
		time, sigma, own := elapsedBetween(&r.Passages[i-1], &r.Passages[i], gates[i-1].Name, gates[i].Name, w)
		r.Splits = append(r.Splits, Split{TimeS: time, SigmaS: sigma, ownS: own})
	}
	last := len(gates) - 1
	r.TotalS, r.SigmaS, r.ownS = elapsedBetween(&r.Passages[0], &r.Passages[last], gates[0].Name, gates[last].Name, w)
	return r
}

// passage is when a run passed a station.
func (q *Placed) passage(line *Line, stationM float64, w *PositionError) Passage {
	c, ok := q.crossing(stationM)
	if !ok {
		why := q.missed(stationM)
		return Passage{TimeS: why, SigmaS: why, SpeedMS: why}
	}
	p := Passage{TimeS: analyze.Value(c.timeS, 1), SpeedMS: analyze.Value(c.speedMS, 1), placed: q, at: c.at, speedMS: c.speedMS}
	_, _, p.dirE, p.dirN = line.at(stationM)
	sigma, floor := w.passage(q, &c)
	p.SigmaS, p.floorS = analyze.Value(sigma, 1), floor
	return p
}

// missed says why a run has no time at a station.
func (q *Placed) missed(stationM float64) analyze.Figure {
	first, last := q.ends()
	switch {
	case stationM < first:
		return analyze.Absent("the run comes to the line after this gate, at %.0f m", first)
	case stationM > last:
		return analyze.Absent("the run leaves the line before this gate, at %.0f m", last)
	}
	return analyze.Absent("the run was off the line at this gate, or reception was lost")
}

// marked is the passage of a marker.
func marked(timeS, sigmaS float64) Passage {
	if math.IsNaN(timeS) {
		why := analyze.Absent("the run has no such marker")
		return Passage{TimeS: why, SigmaS: why, SpeedMS: why}
	}
	return Passage{TimeS: analyze.Value(timeS, 1), SigmaS: analyze.Value(sigmaS, 1), SpeedMS: analyze.Absent("gates are the markers of the runs")}
}

// elapsedBetween is the time between two passages with its standard uncertainty, and the part of that which is the run's own.
func elapsedBetween(a, b *Passage, from, to string, w *PositionError) (time, sigma analyze.Figure, own float64) {
	ta, okA := a.TimeS.Get()
	tb, okB := b.TimeS.Get()
	switch {
	case !okA:
		time = analyze.Absent("no time at gate %s: %s", from, a.TimeS.Reason())
	case !okB:
		time = analyze.Absent("no time at gate %s: %s", to, b.TimeS.Reason())
	case tb < ta:
		time = analyze.Absent("gate %s was passed before gate %s", to, from)
	default:
		all, own := w.split(a, b, tb-ta)
		return analyze.Value(tb-ta, 2), analyze.Value(all, 2), own
	}
	return time, time, 0
}
