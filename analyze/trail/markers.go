package trail

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// A Mark is a marker of a run: when the rider dropped it, and its label.
type Mark struct {
	TimeS float64
	Label string
}

// MatchMarks makes gates of the markers of runs. Where every marker has a label of its own within its run, gates are the labels, and a run may lack some;
// else the markers are taken in order, and every run must have as many. times has a list for each run with one time a gate, NaN where it has
// none. Gates come in the order of the run that has the most.
func MatchMarks(names []string, runs [][]Mark) (gates []Gate, times [][]float64, err error) {
	most := 0
	labelled := true
	for i, marks := range runs {
		if len(marks) > len(runs[most]) {
			most = i
		}
		labelled = labelled && distinct(marks)
	}
	if len(runs) == 0 || len(runs[most]) < 2 {
		return nil, nil, errors.New("markers: no run has two: a start and a finish are needed")
	}
	for k, m := range runs[most] {
		name := m.Label
		if !labelled || name == "" {
			name = fmt.Sprintf("marker %d", k+1)
		}
		gates = append(gates, Gate{Name: name})
	}
	for i, marks := range runs {
		list := make([]float64, len(gates))
		for k := range gates {
			at := k
			if labelled {
				at = slices.IndexFunc(marks, func(m Mark) bool { return m.Label == runs[most][k].Label })
			} else if len(marks) != len(gates) {
				return nil, nil, fmt.Errorf("markers: %s has %d and %s has %d, and without labels it is not known which belong together", names[i], len(marks), names[most], len(gates))
			}
			list[k] = math.NaN()
			if at >= 0 {
				list[k] = marks[at].TimeS
			}
		}
		times = append(times, list)
	}
	return gates, times, nil
}

// distinct says whether every marker has a label that no other of the run has.
func distinct(marks []Mark) bool {
	seen := map[string]bool{"": true}
	for _, m := range marks {
		if seen[m.Label] {
			return false
		}
		seen[m.Label] = true
	}
	return true
}
