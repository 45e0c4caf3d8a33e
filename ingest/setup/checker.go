package setup

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// A Problem is one thing that is wrong with a setup file.
type Problem struct {
	Line   int    // 1-based, 0 where it is not known
	Field  string // such as "sensor.points[2].reading", "" where it is the file as a whole
	Reason string
}

// An Error holds all that is wrong with a setup file, in the order of its lines.
type Error struct {
	Path     string
	Problems []Problem
}

// Error returns one line per problem: "path:line: field reason".
func (e *Error) Error() string {
	var lines []string
	for _, p := range e.Problems {
		s := e.Path
		if p.Line > 0 {
			s += ":" + strconv.Itoa(p.Line)
		}
		s += ": "
		if p.Field != "" {
			s += p.Field + " "
		}
		lines = append(lines, s+p.Reason)
	}
	return strings.Join(lines, "\n")
}

// maxProblems is how many problems are reported.
const maxProblems = 50

// A checker collects problems.
type checker struct {
	lines    map[string]int
	example  string // of an entry of a list; empty: a calibration point
	problems []Problem
}

// like is an entry of a list for messages.
func (c *checker) like() string {
	if c.example == "" {
		return "{ reading = 310, travel_mm = 0.0 }"
	}
	return c.example
}

func (c *checker) add(field, format string, args ...any) {
	if len(c.problems) < maxProblems {
		c.problems = append(c.problems, Problem{c.lineOf(field), field, fmt.Sprintf(format, args...)})
	}
}

// lineOf finds the line of a field, or of the nearest table around it.
func (c *checker) lineOf(field string) int {
	for field != "" {
		if line := c.lines[field]; line > 0 {
			return line
		}
		field = field[:max(0, strings.LastIndexAny(field, ".["))]
	}
	return 0
}

func (c *checker) sorted() []Problem {
	slices.SortStableFunc(c.problems, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Field, b.Field))
	})
	return c.problems
}

// A section is one table of the file. Its methods read a key each, where it is there, and note it as known.
type section struct {
	c      *checker
	path   string // "" = the whole file
	values map[string]any
	known  *[]string
}

// asked notes a key as known and returns its value and path.
func (s *section) asked(key string) (value any, path string, ok bool) {
	if s.known == nil {
		s.known = new([]string)
	}
	*s.known = append(*s.known, key)
	value, ok = s.values[key]
	return value, join(s.path, key), ok
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

func (s *section) has(key string) bool {
	_, ok := s.values[key]
	return ok
}

// section reads a table.
func (s *section) section(key string) (section, bool) {
	v, path, ok := s.asked(key)
	if !ok {
		return section{}, false
	}
	values, ok := v.(map[string]any)
	if !ok {
		s.c.add(path, "is %s, but must be a table, [%s]", show(v), path)
	}
	return section{c: s.c, path: path, values: values}, ok
}

// sections reads an array of tables.
func (s *section) sections(key string) []section {
	v, path, ok := s.asked(key)
	if !ok {
		return nil
	}
	var out []section
	switch list := v.(type) {
	case []map[string]any:
		for i, values := range list {
			out = append(out, section{c: s.c, path: fmt.Sprintf("%s[%d]", path, i+1), values: values})
		}
	case []any:
		for i, v := range list {
			at := fmt.Sprintf("%s[%d]", path, i+1)
			values, ok := v.(map[string]any)
			if !ok {
				s.c.add(at, "is %s, but must be like %s", show(v), s.c.like())
				continue
			}
			out = append(out, section{c: s.c, path: at, values: values})
		}
	default:
		s.c.add(path, "is %s, but must be a list like [ %s, … ]", show(v), s.c.like())
	}
	return out
}

// number reads a finite number within bounds; there tells that the key is there, right or wrong.
func (s *section) number(key string, dst *float64, low, high float64) (there bool) {
	v, path, ok := s.asked(key)
	if !ok {
		return false
	}
	f := math.NaN()
	switch n := v.(type) {
	case int64:
		f = float64(n)
	case float64:
		f = n
	}
	if !(f >= low && f <= high) {
		s.c.add(path, "is %s, but must be a number from %g to %g", show(v), low, high)
		return true
	}
	*dst = f
	return true
}

func (s *section) whole(key string, dst *int, low, high int64) {
	v, path, ok := s.asked(key)
	if !ok {
		return
	}
	n, ok := v.(int64)
	if !ok || n < low || n > high {
		s.c.add(path, "is %s, but must be a whole number from %d to %d", show(v), low, high)
		return
	}
	*dst = int(n)
}

func (s *section) text(key string, dst *string) {
	v, path, ok := s.asked(key)
	if !ok {
		return
	}
	if *dst, ok = v.(string); !ok {
		s.c.add(path, "is %s, but must be text in quotes", show(v))
	}
}

// column reads the name or number of a column.
func (s *section) column(key string, dst *string) {
	if n, ok := s.values[key].(int64); ok && n > 0 {
		s.asked(key)
		*dst = strconv.FormatInt(n, 10)
		return
	}
	s.text(key, dst)
}

func (s *section) flag(key string, dst *bool) {
	v, path, ok := s.asked(key)
	if !ok {
		return
	}
	if *dst, ok = v.(bool); !ok {
		s.c.add(path, "is %s, but must be true or false", show(v))
	}
}

func (s *section) oneOf(key string, dst *string, allowed ...string) {
	v, path, ok := s.asked(key)
	if !ok {
		return
	}
	text, _ := v.(string)
	if !slices.Contains(allowed, text) {
		s.c.add(path, "is %s, but must be one of %s%s", show(v), strings.Join(allowed, ", "), meant(text, allowed))
		return
	}
	*dst = text
}

// unknown reports all keys that were not asked for.
func (s *section) unknown() {
	for key := range s.values {
		if s.known == nil || !slices.Contains(*s.known, key) {
			hint := ""
			if s.known != nil {
				hint = meant(key, *s.known)
			}
			s.c.add(join(s.path, key), "is not a known key%s", hint)
		}
	}
}

// show writes a value for a message, cut short.
func show(v any) string {
	var text string
	switch v := v.(type) {
	case string:
		text = strconv.Quote(v)
	case map[string]any, []map[string]any:
		return "a table"
	case []any:
		return "a list"
	default:
		text = fmt.Sprint(v)
	}
	if r := []rune(text); len(r) > 40 {
		text = string(r[:40]) + "…"
	}
	return text
}
