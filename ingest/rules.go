package ingest

// A RuleTable is what is advised on which symptoms. The order of its rules is the order of preference.
type RuleTable struct {
	Source string          `json:"source"`         // the file it came from, for people
	Need   []RuleCondition `json:"need,omitempty"` // what must hold before anything is advised
	Rules  []Rule          `json:"rules"`
}

// A Rule is a symptom, told by figures of a run, and the one change that is advised on it.
type Rule struct {
	Name    string          `json:"name"` // each once
	Symptom string          `json:"symptom"`
	When    []RuleCondition `json:"when"`             // all must hold
	Unless  []RuleCondition `json:"unless,omitempty"` // none may hold

	Setting   string  `json:"setting"`        // RulePressure, RuleSpacers, RuleService, or the name of an adjuster with clicks
	Direction string  `json:"direction"`      // see RuleDirections
	Size      float64 `json:"size,omitempty"` // of one step: percent of the pressure, spacers or clicks; 0 for RuleService
	Why       string  `json:"why"`
	Watch     string  `json:"watch"` // what to look at in the next run
	Worse     string  `json:"worse"` // what the change would make worse
	Line      int     `json:"-"`     // in the file
}

// The settings that are not adjusters.
const (
	RulePressure = "pressure"
	RuleSpacers  = "spacers"
	RuleService  = "service"
)

// RuleDirections are the directions that go with a setting. Opening an adjuster is more clicks from fully closed.
func RuleDirections(setting string) []string {
	switch setting {
	case RulePressure:
		return []string{"raise", "lower", "equalise"}
	case RuleSpacers:
		return []string{"add", "remove"}
	case RuleService:
		return []string{"ask"}
	}
	return []string{"open", "close"}
}

// A RuleCondition holds one figure, or the ratio of two, against a limit. It holds only where the figure's uncertainty leaves no doubt.
type RuleCondition struct {
	Figure      string  `json:"figure"`               // key of a figure
	DividedBy   string  `json:"divided_by,omitempty"` // key of another, for a ratio
	Over        bool    `json:"over"`                 // else: under
	Limit       float64 `json:"limit"`
	Margin      float64 `json:"margin,omitempty"`        // this near to the limit there is doubt
	MinN        int     `json:"min_n,omitempty"`         // fewer observations are not enough
	PctOfTravel bool    `json:"pct_of_travel,omitempty"` // the figure is in mm and is taken as a share of travel
	Count       bool    `json:"count,omitempty"`         // the figure is a count of events: its interval is that of a Poisson count
	PerMin      bool    `json:"per_min,omitempty"`       // a count, as a rate per minute of riding
	Low         string  `json:"low,omitempty"`           // keys of the figure's own interval
	High        string  `json:"high,omitempty"`
	Line        int     `json:"-"`
}

// An Adjuster is what a fork file says about an adjuster with clicks, counted from fully closed. What is 0 was not said.
type Adjuster struct {
	Clicks     float64 `json:"clicks,omitempty"`      // from fully closed to fully open
	UsableFrom float64 `json:"usable_from,omitempty"` // the range in which it does something, as a sweep showed
	UsableTo   float64 `json:"usable_to,omitempty"`
}
