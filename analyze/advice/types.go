package advice

import (
	"stanchion/analyze"
	"stanchion/ingest"
)

// SchemaVersion is the version of Advice's JSON form.
const SchemaVersion = 1

// Input is all that advice rests on.
type Input struct {
	Table   ingest.RuleTable
	Result  *analyze.Result
	Now     map[string]float64 // how the fork was set: "pressure" (psi), "spacers", and the clicks of adjusters from fully closed; may be nil
	Limits  Limits
	Earlier []Earlier // other runs of the same fork and trail, the latest last
}

// Limits are what the fork allows. What is 0 or not there is not known.
type Limits struct {
	MaxPressurePSI float64
	MaxSpacers     int
	Adjusters      map[string]ingest.Adjuster
}

// An Earlier run and how the fork was set for it.
type Earlier struct {
	Name     string             // for people: "run 12"
	When     string             // for people: "2031-05-04"
	Settings map[string]float64 // as Input.Now
	Figures  map[string]float64 // by key, those that are not absent
}

// Verdict is what came of the table as a whole.
type Verdict string

// The verdicts.
const (
	ChangeOne Verdict = "change"     // Advice.First says what
	Nothing   Verdict = "nothing"    // every rule could be judged that matters, and none fires
	NotEnough Verdict = "not enough" // Advice.Missing says what would be needed
)

// Advice is what to change next, and on what evidence.
type Advice struct {
	SchemaVersion int       `json:"schema_version"`
	Table         string    `json:"table"` // of rules
	Verdict       Verdict   `json:"verdict"`
	Sentence      string    `json:"sentence"`          // the whole in a sentence or two
	First         *Proposal `json:"first,omitempty"`   // the one change to try next
	Behind        []Finding `json:"behind"`            // what else fires, in order: look again after the next run
	Tried         []Finding `json:"tried"`             // what fires and was tried before without success
	Blocked       []Finding `json:"blocked"`           // what fires, and the fork's limits leave no room for
	Unsure        []Finding `json:"unsure"`            // what may be so: it fires but for doubt about a figure
	Missing       []string  `json:"missing"`           // what would have to be there to judge more
	Judged        int       `json:"rules_judged"`      // rules of which it is known whether they fire
	Rules         int       `json:"rules"`             // in the table
	Caution       string    `json:"caution,omitempty"` // to be shown once, where there is something to do
}

// A Proposal is one change with its reasons.
type Proposal struct {
	Finding
	Change string   `json:"change"`           // in words: "one step: open rebound by 2 clicks, from 5 to 7 from fully closed"
	From   *float64 `json:"from,omitempty"`   // psi, spacers or clicks, where it is known how the fork was set
	Target *float64 `json:"target,omitempty"` // likewise
	Why    string   `json:"why"`
	Watch  string   `json:"watch"`
	Worse  string   `json:"worse"`
}

// A Finding is a rule that fires, or might.
type Finding struct {
	Rule      string     `json:"rule"`
	Symptom   string     `json:"symptom"`
	Setting   string     `json:"setting"`
	Direction string     `json:"direction"`
	Size      float64    `json:"size,omitempty"`
	Evidence  []Evidence `json:"evidence"`
	Note      string     `json:"note,omitempty"` // why it waits, or how it was tried
}

// State is whether a condition holds.
type State string

// The states.
const (
	Holds  State = "holds"
	Fails  State = "fails"
	Doubt  State = "doubt"  // beyond the limit, but its interval lies across it, or it rests on too few observations
	Absent State = "absent" // the figure is not there
)

// Evidence is one condition and what became of it.
type Evidence struct {
	Figure    string         `json:"figure"` // key, or "key / key"
	Label     string         `json:"label"`
	Unit      string         `json:"unit"`
	Value     analyze.Figure `json:"measured"`
	Low       analyze.Figure `json:"low"` // where the true value may lie
	High      analyze.Figure `json:"high"`
	Over      bool           `json:"over"`
	Limit     float64        `json:"limit"`
	State     State          `json:"state"`
	Doubt     string         `json:"doubt,omitempty"` // in words
	Exception bool           `json:"exception,omitempty"`
}
