package trail

import "stanchion/analyze"

// A RunOnTrail is one run as the reading of a trail needs it.
type RunOnTrail struct {
	Name    string          // for people; the source of Result where empty
	Result  *analyze.Result // must not be nil
	Signals *analyze.Signals
	// Placed lays the run on the reference line. Where it is nil the distance or speed channel of the log stands in; where there is none
	// either, the run is read in time alone and takes no part in what is told by station.
	Placed *Placed
	// OffsetS is sensor time less the time of Placed, 0 where Placed is on the sensor's time axis.
	OffsetS float64
}

// What the station of a run rests on.
const (
	BasisLine     = "reference line"
	BasisDistance = "distance channel"
	BasisSpeed    = "speed channel, integrated"
	BasisNone     = "time only"
)

// A Reading is what one or several runs tell about a trail.
type Reading struct {
	Options  ReadingOptions   `json:"options"`
	Runs     []RunReading     `json:"runs"`     // in the order given; Run numbers elsewhere are places in this list, from 0
	Sections []SectionReading `json:"sections"` // between gates where at least two were given, else of equal length
	Places   []HarshPlace     `json:"harsh_places"`
	Jumps    []JumpPlace      `json:"jumps"`
	Braking  []BrakeZone      `json:"braking_zones"`
	Packing  []Cluster        `json:"packing"`
	Bottoms  []Cluster        `json:"bottom_outs"`
	Profile  Profile          `json:"profile"`
	Speed    SpeedFit         `json:"speed_fit"`
	Coach    []CoachItem      `json:"coach"`
	Notes    []string         `json:"notes,omitempty"` // for people: what could not be read, and why
}

// A RunReading is how one run was read.
type RunReading struct {
	Name      string         `json:"name"`
	Basis     string         `json:"basis"` // BasisLine, BasisDistance, BasisSpeed or BasisNone
	CrossRMSM analyze.Figure `json:"cross_rms_m"`
	StartM    analyze.Figure `json:"start_m"` // stations between which it was ridden
	EndM      analyze.Figure `json:"end_m"`
	// CalmMMS and HarshMMS are the levels of how hard the ground strikes between which the run parts; LimitMMS lies between them: ground that
	// strikes at least so hard is harsh. They are RMS values of the compression speed over its own mean over 0.25 s and so lower than RMSMMS of a place.
	// Absent where no part of the run stands out.
	CalmMMS  analyze.Figure `json:"calm_mm_s"`
	HarshMMS analyze.Figure `json:"harsh_mm_s"`
	LimitMMS analyze.Figure `json:"harsh_limit_mm_s"`
	// What was found in this run, in time order, also where it has no stations.
	Jumps   []Jump    `json:"jumps"`
	Braking []Braking `json:"braking"`
	// NoBraking says why Braking could not be looked for, "" where it was.
	NoBraking string `json:"no_braking,omitempty"`
	NoJumps   string `json:"no_jumps,omitempty"` // likewise
}

// OverRuns is one figure over several runs. N of each is the number of runs that have it.
type OverRuns struct {
	Median analyze.Figure `json:"median"`
	Low    analyze.Figure `json:"low"` // least and largest of the runs
	High   analyze.Figure `json:"high"`
}

// A SectionReading is the figures of one stretch of trail.
type SectionReading struct {
	Name    string          `json:"name"`
	StartM  float64         `json:"start_m"`
	EndM    float64         `json:"end_m"`
	Figures []SectionFigure `json:"figures"` // always the same keys in the same order
}

// Figure finds a figure by its key; nil where there is none of that key.
func (s *SectionReading) Figure(key string) *SectionFigure { return findFigure(s.Figures, key) }

// A SectionFigure is one figure of a stretch, run by run and over the runs.
type SectionFigure struct {
	Key  string           `json:"key"` // of SectionKeys
	Unit string           `json:"unit"`
	Runs []analyze.Figure `json:"runs"` // by run; absent where the run was not on the stretch
	Over OverRuns         `json:"over_runs"`
}

func findFigure(list []SectionFigure, key string) *SectionFigure {
	for i := range list {
		if list[i].Key == key {
			return &list[i]
		}
	}
	return nil
}

// How many of the runs that passed a place found it.
const (
	AgreeAll  = "every run"
	AgreeMost = "most runs" // at least half of them
	AgreeFew  = "few runs"  // under half, but more than one
	AgreeOne  = "one run of several"
	AgreeSole = "the only run" // there is but one run: nothing to agree with
)

// A Sighting says in how many of the runs that passed a place something was found.
type Sighting struct {
	FoundIn   int    `json:"found_in"`  // runs
	PassedBy  int    `json:"passed_by"` // runs whose log and position cover the place
	Agreement string `json:"agreement"` // AgreeAll, AgreeMost, …
}

// A HarshPlace is a stretch of trail that was harsh in at least one run. Places are ranked by the median exposure over all runs
// that passed, those found in at least half of them first.
type HarshPlace struct {
	Rank   int     `json:"rank"` // from 1
	StartM float64 `json:"start_m"`
	EndM   float64 `json:"end_m"` // medians of the runs that found it
	// StartSpreadM and EndSpreadM are the range of the runs' boundaries, absent with one run.
	StartSpreadM analyze.Figure `json:"start_spread_m"`
	EndSpreadM   analyze.Figure `json:"end_spread_m"`
	Sighting
	RMSMMS   OverRuns        `json:"rms_mm_s"`       // of all runs that passed, found or not
	Exposure OverRuns        `json:"exposure_mm2_s"` // ∫v²dt over the place, mm²/s, likewise
	Causes   []Vote          `json:"causes"`         // causes of analyze.HarshSection, most runs first
	Runs     []PlaceInRun    `json:"runs"`           // those that passed
	Figures  []SectionFigure `json:"figures"`        // as of a section
}

// Figure finds a figure by its key; nil where there is none of that key.
func (p *HarshPlace) Figure(key string) *SectionFigure { return findFigure(p.Figures, key) }

// A Vote is how many runs say a thing.
type Vote struct {
	Key  string `json:"key"`
	Runs int    `json:"runs"`
}

// A PlaceInRun is a harsh place as one run met it.
type PlaceInRun struct {
	Run    int     `json:"run"`
	Found  bool    `json:"found"`
	StartM float64 `json:"start_m"` // as found in this run; those of the place where it was not found
	EndM   float64 `json:"end_m"`
	StartS float64 `json:"start_s"` // of the place in the time of the run
	EndS   float64 `json:"end_s"`
}

// Landing verdicts. A clean landing has none of the others.
const (
	LandingClean    = "clean"
	LandingDeep     = "deep"           // used at least ReadingOptions.DeepPct of travel
	LandingBottomed = "bottomed"       // bottom-out
	LandingHard     = "hard bottomed"  // and over the speed that analyze calls a hard bottom-out
	TakeOffHarsh    = "harsh top-out"  // hard top-out where the fork extended at take-off
	LandingUnknown  = "landing unseen" // the log ends or has a gap before the landing's peak
)

// A Jump is one flight of one run.
type Jump struct {
	Run        int            `json:"run"`
	TakeOffS   float64        `json:"take_off_s"`
	LandingS   float64        `json:"landing_s"`
	AirS       float64        `json:"air_s"`
	TakeOffM   analyze.Figure `json:"take_off_m"` // stations
	LandingM   analyze.Figure `json:"landing_m"`
	SpeedMS    analyze.Figure `json:"speed_m_s"`          // over ground at take-off
	FlownM     analyze.Figure `json:"flown_m"`            // speed × air time
	TopOutMMS  analyze.Figure `json:"top_out_mm_s"`       // rebound speed as the fork reached extension, positive; absent where it did not
	LandingMM  analyze.Figure `json:"landing_mm"`         // deepest travel of the landing
	LandingPct analyze.Figure `json:"landing_pct"`        // of the fork's travel
	LandingMMS analyze.Figure `json:"landing_speed_mm_s"` // largest compression speed of the landing
	Verdicts   []string       `json:"verdicts"`           // all that hold
}

// A JumpPlace is a jump of the trail over the runs.
type JumpPlace struct {
	TakeOffM OverRuns `json:"take_off_m"`
	Sighting
	AirS       OverRuns `json:"air_s"`
	SpeedMS    OverRuns `json:"speed_m_s"`
	LandingPct OverRuns `json:"landing_pct"`
	LandingMMS OverRuns `json:"landing_speed_mm_s"`
	Verdicts   []Vote   `json:"verdicts"`
	Jumps      []Jump   `json:"jumps"` // by run
}

// A Braking is one span of deceleration of one run.
type Braking struct {
	Run     int            `json:"run"`
	StartS  float64        `json:"start_s"`
	EndS    float64        `json:"end_s"`
	StartM  analyze.Figure `json:"start_m"`
	EndM    analyze.Figure `json:"end_m"`
	FromMS  float64        `json:"from_m_s"` // speed over ground at its start and end
	ToMS    float64        `json:"to_m_s"`
	MeanMS2 float64        `json:"mean_deceleration_m_s2"`
	PeakMS2 float64        `json:"peak_deceleration_m_s2"` // of the smoothed speed
	MeanMM  analyze.Figure `json:"mean_travel_mm"`         // of the fork in it
	PeakMM  analyze.Figure `json:"peak_travel_mm"`
	DiveMM  analyze.Figure `json:"dive_mm"`  // median travel in it less the median while riding: how far the fork stands deeper
	DivePct analyze.Figure `json:"dive_pct"` // of the fork's travel
}

// A BrakeZone is a stretch of trail where runs braked.
type BrakeZone struct {
	StartM OverRuns `json:"start_m"`
	EndM   OverRuns `json:"end_m"`
	Sighting
	MeanMS2 OverRuns  `json:"mean_deceleration_m_s2"`
	FromMS  OverRuns  `json:"from_m_s"`
	ToMS    OverRuns  `json:"to_m_s"`
	DivePct OverRuns  `json:"dive_pct"`
	PeakMM  OverRuns  `json:"peak_travel_mm"`
	Runs    []Braking `json:"runs"`
}

// A Cluster is a stretch of trail where events of one sort lie close together.
type Cluster struct {
	StartM float64 `json:"start_m"` // first and last event
	EndM   float64 `json:"end_m"`
	Sighting
	DeepestMM OverRuns       `json:"deepest_mm"` // peak travel of bottom-outs, deepest valley of packing, by run
	Hard      int            `json:"hard"`       // of bottom-outs
	Events    []ClusterEvent `json:"events"`
}

// A ClusterEvent is one event of a cluster.
type ClusterEvent struct {
	Run      int     `json:"run"`
	TimeS    float64 `json:"time_s"`
	StationM float64 `json:"station_m"`
	DepthMM  float64 `json:"depth_mm"`
	Hard     bool    `json:"hard,omitempty"`
}

// A Profile is figures in equal steps along the trail, medians over the runs, for drawing. Step i is from FromM + i·StepM on. All
// lists have the same length.
type Profile struct {
	FromM     float64            `json:"from_m"`
	StepM     float64            `json:"step_m"`
	RMSMMS    []analyze.Figure   `json:"rms_mm_s"`
	NormalMMS []analyze.Figure   `json:"rms_at_reference_speed_mm_s"` // absent where SpeedFit.K is
	SpeedMS   []analyze.Figure   `json:"speed_m_s"`
	TravelPct []analyze.Figure   `json:"mean_travel_pct"`
	RunRMSMMS [][]analyze.Figure `json:"run_rms_mm_s"` // by run, then step
}

// A SpeedFit is how roughness grows with speed on this trail: ln RMS = (effect of the station) + K·ln speed.
type SpeedFit struct {
	K     analyze.Figure `json:"k"` // n is the number of steps of trail that it rests on
	KLow  analyze.Figure `json:"k_low"`
	KHigh analyze.Figure `json:"k_high"` // 95 % interval
	RefMS analyze.Figure `json:"reference_speed_m_s"`
	// RawRatio and NormalRatio are how far two runs differ in roughness as a factor at the same place (median over places and
	// pairs of runs, 1 = the same), as measured and at the reference speed.
	RawRatio    analyze.Figure `json:"run_to_run_ratio"`
	NormalRatio analyze.Figure `json:"run_to_run_ratio_at_reference_speed"`
	// Runs has, by run, the factor of its whole roughness against the median run, as measured and at the reference speed.
	Runs []RunFactor `json:"runs"`
}

// A RunFactor is how rough one run reads against the median of the runs.
type RunFactor struct {
	Raw    analyze.Figure `json:"factor"`
	Normal analyze.Figure `json:"factor_at_reference_speed"`
}

// A CoachItem is one of the harshest places with what to look at. It holds keys and figures; the words are the report's.
type CoachItem struct {
	Rank     int        `json:"rank"`           // from 1
	Place    int        `json:"place"`          // in Reading.Places
	Cause    string     `json:"cause"`          // Coach…
	Also     []string   `json:"also,omitempty"` // further causes that hold
	Evidence []Evidence `json:"evidence"`
	Riding   []string   `json:"riding"` // keys of what to try riding-wise, the first first
	Setup    []string   `json:"setup"`  // keys of what to try setup-wise
}

// Evidence is a figure that a cause rests on.
type Evidence struct {
	Key   string         `json:"key"`
	Unit  string         `json:"unit"`
	Value analyze.Figure `json:"value"`
}
