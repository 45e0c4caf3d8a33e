package trial

import (
	"cmp"
	"context"
	"runtime"
	"slices"

	"golang.org/x/sync/errgroup"

	"stanchion/analyze"
	"stanchion/analyze/advice"
	"stanchion/ingest"
	"stanchion/sampledata/ridesim/faults"
)

// An Answer is what to change and which way, or one of the two verdicts without a change.
type Answer string

// What is answered where nothing is to be changed.
const (
	Nothing   Answer = "nothing"
	NotEnough Answer = "not enough"
)

// Right is the answer to a fault: what put it in, turned back.
func Right(f faults.Fault) Answer {
	switch f {
	case faults.SoftSpring:
		return "raise pressure"
	case faults.StiffSpring:
		return "lower pressure"
	case faults.FewSpacers:
		return "add spacers"
	case faults.ManySpacers:
		return "remove spacers"
	case faults.SlowRebound:
		return "open rebound"
	case faults.FastRebound:
		return "close rebound"
	case faults.StrongHighSpeed:
		return "open hsc"
	case faults.WeakLowSpeed:
		return "close lsc"
	case faults.Friction:
		return "ask service"
	case faults.Negative:
		return "equalise pressure"
	}
	return Nothing
}

// Of is the answer of an advice.
func Of(a *advice.Advice) Answer {
	switch a.Verdict {
	case advice.ChangeOne:
		return answer(&a.First.Finding)
	case advice.Nothing:
		return Nothing
	}
	return NotEnough
}

func answer(f *advice.Finding) Answer { return Answer(f.Direction + " " + f.Setting) }

// An Outcome is one case and what was advised.
type Outcome struct {
	Fault  faults.Fault `json:"fault"`
	Bike   string       `json:"bike"`
	Course string       `json:"course"`
	Seed   uint64       `json:"seed"`
	Answer Answer       `json:"answer"`
	Rule   string       `json:"rule,omitempty"`
	Behind bool         `json:"right_behind,omitempty"` // the right answer is not first, but behind it or in doubt
}

// Judge holds a table against the figures of a case.
func Judge(c *faults.Case, res *analyze.Result, table ingest.RuleTable) (Outcome, error) {
	o := Outcome{Fault: c.Fault, Bike: c.Bike, Course: c.Course, Seed: c.Seed}
	a, err := advice.Advise(advice.Input{Table: table, Result: res})
	if err != nil {
		return o, err
	}
	o.Answer = Of(a)
	if a.First != nil {
		o.Rule = a.First.Rule
	}
	if o.Answer != Right(c.Fault) {
		for _, f := range slices.Concat(a.Behind, a.Unsure) {
			o.Behind = o.Behind || answer(&f) == Right(c.Fault)
		}
	}
	return o, nil
}

// Run rides all cases, on all cores, and judges them. progress, where not nil, is called after each with how many are done; the outcomes
// are in the order of the cases.
func Run(ctx context.Context, list []faults.Case, table ingest.RuleTable, progress func(done int)) ([]Outcome, error) {
	out := make([]Outcome, len(list))
	done := make(chan struct{}, len(list))
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	go func() {
		for i := range list {
			group.Go(func() error {
				defer func() { done <- struct{}{} }()
				if err := ctx.Err(); err != nil {
					return err
				}
				res, err := Figures(list[i])
				if err != nil {
					return err
				}
				out[i], err = Judge(&list[i], res, table)
				return err
			})
		}
	}()
	for i := range list {
		<-done
		if progress != nil {
			progress(i + 1)
		}
	}
	return out, group.Wait()
}

// A Row is what was answered to one fault.
type Row struct {
	Fault   faults.Fault   `json:"fault"`
	Want    Answer         `json:"right_answer"`
	Cases   int            `json:"cases"`
	Right   int            `json:"right_first"`
	Behind  int            `json:"right_behind"` // not first, but named behind it or in doubt
	Answers map[Answer]int `json:"answers"`
}

// A Table is what was answered to all faults.
type Table struct {
	Rules      string `json:"rules"`
	Rows       []Row  `json:"rows"` // sound forks first
	Faulty     int    `json:"faulty_cases"`
	Right      int    `json:"faulty_right_first"`
	Sound      int    `json:"sound_cases"`
	SoundRight int    `json:"sound_right"`
}

// Tabulate counts outcomes.
func Tabulate(rules string, outcomes []Outcome) Table {
	t := Table{Rules: rules}
	for _, f := range append([]faults.Fault{faults.Sound}, faults.List()...) {
		r := Row{Fault: f, Want: Right(f), Answers: map[Answer]int{}}
		for _, o := range outcomes {
			if o.Fault != f {
				continue
			}
			r.Cases++
			r.Answers[o.Answer]++
			if o.Answer == r.Want {
				r.Right++
			}
			if o.Behind {
				r.Behind++
			}
		}
		if f == faults.Sound {
			t.Sound, t.SoundRight = r.Cases, r.Right
		} else {
			t.Faulty, t.Right = t.Faulty+r.Cases, t.Right+r.Right
		}
		t.Rows = append(t.Rows, r)
	}
	return t
}

// others lists the wrong answers of a row, the most frequent first.
func (r *Row) others() []Answer {
	var out []Answer
	for a := range r.Answers {
		if a != r.Want {
			out = append(out, a)
		}
	}
	slices.SortFunc(out, func(a, b Answer) int {
		return cmp.Or(cmp.Compare(r.Answers[b], r.Answers[a]), cmp.Compare(a, b))
	})
	return out
}
