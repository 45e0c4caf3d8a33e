package setup

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"time"

	"github.com/BurntSushi/toml"
)

// A RunList is what a file of runs says: which logs there are, and what was set and noted for each.
//
//	[adjuster.hsc]                      # may be left out where the name says it
//	kind = "high-speed compression"     # what it adjusts
//	unit = "click"                      # or "psi", "spacer", …
//
//	[[run]]
//	file = "r1.csv"                     # from the folder of this file
//	order = 1                           # place in the order ridden; or time = 10:42:00, for every run
//	clicks = { hsc = 3, rebound = 8 }   # positions, from fully closed
//	temperature_c = 14                  # anything else noted is kept by its name
//	rider = "one"
type RunList struct {
	Adjusters map[string]Adjuster
	Runs      []ListedRun
}

// An Adjuster is what a file of runs says about an adjuster.
type Adjuster struct{ Kind, Unit string }

// A ListedRun is one run of the list.
type ListedRun struct {
	File   string             // joined with the folder of the list
	Name   string             // "" = that of the file
	Order  int                // place in the order ridden, from 1; 0 = not known
	Clicks map[string]float64 // position of each adjuster
	Notes  map[string]string  // what else was noted, by name
	Line   int                // where it is in the list
	at     time.Time          // when it was ridden, zero where not given
}

// maxRuns bounds a list of runs.
const maxRuns = 500

// LoadRuns reads the file of runs at path. Errors in its contents are of type *Error.
func LoadRuns(path string) (RunList, error) {
	f, err := os.Open(path)
	if err != nil {
		return RunList{}, fmt.Errorf("list of runs: %w", err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, MaxBytes+1))
	if err != nil {
		return RunList{}, fmt.Errorf("list of runs: %w", err)
	}
	list, err := ParseRuns(path, data)
	for i := range list.Runs {
		if !filepath.IsAbs(list.Runs[i].File) {
			list.Runs[i].File = filepath.Join(filepath.Dir(path), list.Runs[i].File)
		}
	}
	return list, err
}

// ParseRuns reads the contents of a file of runs; name stands for it in errors, which are of type *Error.
func ParseRuns(name string, data []byte) (RunList, error) {
	top, err := decode(name, data)
	if err != nil {
		return RunList{}, err
	}
	c := &checker{lines: findLines(string(data))}
	list := RunList{Adjusters: map[string]Adjuster{}}
	root := section{c: c, values: top}
	if adjusters, ok := root.section("adjuster"); ok {
		for key := range adjusters.values {
			if s, ok := adjusters.section(key); ok {
				var a Adjuster
				s.text("kind", &a.Kind)
				s.text("unit", &a.Unit)
				s.unknown()
				list.Adjusters[key] = a
			}
		}
	}
	for i, s := range root.sections("run") {
		if i == maxRuns {
			c.add("run", "are more than %d", maxRuns)
			break
		}
		list.Runs = append(list.Runs, c.run(s))
	}
	root.unknown()
	orderByTime(list.Runs)
	if len(list.Runs) == 0 && len(c.problems) == 0 {
		c.add("run", "is missing: each run is a table [[run]] with file = \"…\"")
	}
	if len(c.problems) > 0 {
		return RunList{}, &Error{Path: name, Problems: c.sorted()}
	}
	return list, nil
}

// moment reads a time of day, a date with a time, or text such as "10:42".
func (s *section) moment(key string, dst *time.Time) {
	v, path, ok := s.asked(key)
	if !ok {
		return
	}
	if t, ok := v.(time.Time); ok {
		*dst = t
		return
	}
	text, _ := v.(string)
	for _, layout := range []string{"15:04", time.TimeOnly} {
		if t, err := time.Parse(layout, text); err == nil {
			*dst = t
			return
		}
	}
	s.c.add(path, "is %s, but must be a time like 10:42:00 or \"10:42\"", show(v))
}

// orderByTime numbers the runs by the times at which they were ridden, where every run has one and none has an order.
func orderByTime(runs []ListedRun) {
	byTime := make([]int, len(runs))
	for i := range runs {
		if runs[i].Order != 0 || runs[i].at.IsZero() {
			return
		}
		byTime[i] = i
	}
	slices.SortStableFunc(byTime, func(i, j int) int { return runs[i].at.Compare(runs[j].at) })
	for place, i := range byTime {
		runs[i].Order = place + 1
	}
}

// run reads one run. Keys that are not known are notes.
func (c *checker) run(s section) ListedRun {
	r := ListedRun{Clicks: map[string]float64{}, Notes: map[string]string{}, Line: c.lineOf(s.path)}
	s.text("file", &r.File)
	if r.File == "" {
		c.add(s.path+".file", "is missing: the log of the run must be named")
	}
	s.text("name", &r.Name)
	s.whole("order", &r.Order, 1, 1e6)
	s.moment("time", &r.at)
	if clicks, ok := s.section("clicks"); ok {
		for key := range clicks.values {
			v := 0.0
			clicks.number(key, &v, -1e6, 1e6)
			r.Clicks[key] = v
		}
	}
	for key, v := range s.values {
		switch key {
		case "file", "name", "order", "time", "clicks":
			continue
		}
		switch v := v.(type) {
		case string:
			r.Notes[key] = v
		case int64:
			r.Notes[key] = strconv.FormatInt(v, 10)
		case float64:
			r.Notes[key] = strconv.FormatFloat(v, 'f', -1, 64)
		case bool:
			r.Notes[key] = strconv.FormatBool(v)
		case time.Time:
			r.Notes[key] = v.Format(time.DateOnly)
		default:
			c.add(join(s.path, key), "is %s, but a note must be text or a number", show(v))
		}
		if _, twice := r.Clicks[key]; twice {
			c.add(join(s.path, key), "is noted, and a position of an adjuster under clicks too: leave one out")
		}
	}
	return r
}

// decode reads TOML.
func decode(name string, data []byte) (map[string]any, error) {
	if len(data) > MaxBytes {
		return nil, &Error{Path: name, Problems: []Problem{{Reason: fmt.Sprintf("the file is larger than %d bytes", MaxBytes)}}}
	}
	var top map[string]any
	if _, err := toml.Decode(string(data), &top); err != nil {
		problem := Problem{Reason: err.Error()}
		var perr toml.ParseError
		if errors.As(err, &perr) {
			problem = Problem{Line: perr.Position.Line, Reason: perr.Message}
		}
		return nil, &Error{Path: name, Problems: []Problem{problem}}
	}
	return top, nil
}
