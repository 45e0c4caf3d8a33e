package compare

import "stanchion/analyze"

// SchemaVersion is the version of the JSON form of Comparison and SweepResult.
const SchemaVersion = 1

// Verdicts on a difference.
const (
	Higher     = "B higher"
	Lower      = "B lower"
	NoClear    = "no clear difference"
	HigherPair = "B higher in these two runs" // one run a side: nothing is known about the next run
	LowerPair  = "B lower in these two runs"
	NotJudged  = "not judged"
)

// Methods of an interval.
const (
	// WelchT is Welch's t, with its degrees of freedom held to 2·(runs of the smaller set − 1), what they are for equal sets at
	// the most: of eight runs against three with twice their spread, Welch's own gave false verdicts in 15 % of trials, not 5 %.
	WelchT    = "Welch t on run values"
	SingleT   = "one run against a set" // t with the spread of the set
	Bootstrap = "paired moving-block bootstrap"
)

// WithinRun is the scope of intervals from one run a side. They never claim more.
const WithinRun = "within-run only: run-to-run variation unknown"

// Sizes of a difference against the smallest change worth feeling.
const (
	SizeWorth   = "worth feeling"          // the whole interval is beyond it
	SizeSmall   = "too small to feel"      // the whole interval is within it
	SizeMaybe   = "may be worth feeling"   // the difference is beyond it, the interval is not
	SizeMaybeNo = "likely too small"       // the difference is within it, the interval is not
	SizeUnknown = "size not settled"       // no interval, or another trail
	SizeNone    = "no smallest change set" // no step in Options.Steps
)

// An Estimate is a difference B − A with what is known about it. All figures are in the unit of the figure compared.
type Estimate struct {
	Method     string         `json:"method,omitempty"`
	RunsA      int            `json:"runs_a"` // that have the figure
	RunsB      int            `json:"runs_b"`
	A          analyze.Figure `json:"a"` // mean of the run values
	B          analyze.Figure `json:"b"`
	SpreadA    analyze.Figure `json:"spread_a"` // run-to-run standard deviation
	SpreadB    analyze.Figure `json:"spread_b"`
	Difference analyze.Figure `json:"difference"`
	Low        analyze.Figure `json:"low"` // 95 % interval, for this figure alone
	High       analyze.Figure `json:"high"`
	P          analyze.Figure `json:"p"`
	HolmP      analyze.Figure `json:"holm_p"` // adjusted for the figures judged together
	Verdict    string         `json:"verdict"`
	// Why says why there is no verdict, where it is NotJudged.
	Why string `json:"why,omitempty"`
}

// A Difference is one scalar figure compared.
type Difference struct {
	Key    string `json:"key"`
	Group  string `json:"group"`
	Label  string `json:"label"`
	Unit   string `json:"unit"`
	Family Family `json:"family"`
	Estimate
	ValuesA []analyze.Figure `json:"values_a"` // by run, in the order given
	ValuesB []analyze.Figure `json:"values_b"`
	// RankP is the two-sided p of the Mann–Whitney test, a second opinion that no single run can sway far.
	RankP analyze.Figure `json:"rank_p"`
	// Step is the smallest change worth feeling; Size compares the difference with it.
	Step analyze.Figure `json:"smallest_change"`
	Size string         `json:"size"`
	// RunsNeeded a side find a difference of the size seen, at this run-to-run spread and with the correction for the
	// family, in Options.Power of all such tests.
	RunsNeeded analyze.Figure `json:"runs_needed_a_side"`
	Caveats    []string       `json:"caveats,omitempty"`
}

// A SectionDifference is one figure of one section of the trail compared.
type SectionDifference struct {
	Key   string `json:"key"`
	Label string `json:"label"`
	Unit  string `json:"unit"`
	Estimate
}

// A Section is a part of the shared ground. The correction for many tests is over the sections, figure by figure.
type Section struct {
	StartS  float64             `json:"start_s"` // in the reference's time
	EndS    float64             `json:"end_s"`
	StartM  analyze.Figure      `json:"start_m"` // along the trail, absent without a distance channel
	EndM    analyze.Figure      `json:"end_m"`
	Figures []SectionDifference `json:"figures"`
}

// A SetRun is what the results keep about a run.
type SetRun struct {
	Name     string            `json:"name"`
	Hash     string            `json:"hash,omitempty"`
	Order    int               `json:"order,omitempty"`
	Settings map[string]string `json:"settings,omitempty"`
	// RidingS is the riding time on the shared ground, of the whole run where the runs were not aligned.
	RidingS   analyze.Figure `json:"riding_s"`
	StaticMM  analyze.Figure `json:"static_sag_mm"`
	Recording string         `json:"recording,omitempty"`
}

// A LeftOut run was given, is doubtful, and counts for nothing.
type LeftOut struct {
	SetRun
	Set   string      `json:"set,omitempty"` // A or B; empty in a sweep
	Place int         `json:"place"`         // among the runs of the set as given, from 1
	Doubt DoubtfulRun `json:"doubt"`
}

// Comparison is everything about the difference of two sets of runs. A and B hold the runs that were judged; all lists by run follow
// them. Runs that were given and left out are in LeftOut.
type Comparison struct {
	SchemaVersion int              `json:"schema_version"`
	Options       Options          `json:"options"`
	Seed          uint64           `json:"seed"`            // of the bootstrap
	Scope         string           `json:"scope,omitempty"` // WithinRun, or empty
	A             []SetRun         `json:"a"`
	B             []SetRun         `json:"b"`
	LeftOut       []LeftOut        `json:"left_out,omitempty"`
	Alignment     Alignment        `json:"alignment"`
	Differences   []Difference     `json:"differences"` // in the order of analyze.Result.Scalars
	Sections      []Section        `json:"sections"`
	NoSections    string           `json:"no_sections,omitempty"` // why Sections is empty
	Caveats       []analyze.Caveat `json:"caveats"`
}
