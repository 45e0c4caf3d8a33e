package csvlog

import (
	"strings"
	"unicode"
)

// A title is what a header says of a column.
type title struct {
	text string // as in the header
	name string // without its unit
	unit string // as in the header, "" where none is given
}

// otherUnits are units of extra columns, known so that they are told from names.
var otherUnits = map[string]bool{
	"-": true, "km/h": true, "kmh": true, "kph": true, "mph": true, "m/s": true, "mm/s": true, "m/s2": true, "m/s^2": true, "m/s²": true, "g": true,
	"deg": true, "°": true, "°c": true, "degc": true, "c": true, "f": true, "hz": true, "bar": true, "psi": true, "kpa": true, "hpa": true, "pa": true,
	"n": true, "kn": true, "rpm": true, "km": true, "rad": true, "rad/s": true, "deg/s": true, "dps": true, "°/s": true, "a": true, "ma": true,
	"ticks": true, "tick": true, "iso8601": true, "rfc3339": true, "hh:mm:ss": true, "hh:mm:ss.fff": true,
}

// isUnit tells whether s is a unit that may stand in a header.
func isUnit(s string) bool {
	s = fold(s)
	_, time := timeUnits[s]
	_, travel := travelUnits[s]
	return time || travel || otherUnits[s]
}

// readTitle splits the header of a column into name and unit: "travel [mm]", "time (ms)", "t_us", "fork/counts", "Time, s",
// "speed m/s". In brackets anything is a unit, elsewhere only known units are.
func readTitle(text string) title {
	text = strings.TrimSpace(text)
	t := title{text: text, name: text}
	if n := len(text); n > 2 {
		open := strings.IndexByte("])}>", text[n-1])
		if open >= 0 {
			if i := strings.LastIndexByte(text, "[({<"[open]); i >= 0 {
				t.unit = strings.TrimSpace(text[i+1 : n-1])
				t.name = strings.TrimRight(text[:i], " /_,")
				if t.name == "" {
					t.name = t.unit
				}
				return t
			}
		}
	}
	for i := 1; i < len(text)-1; i++ { // the longest unit: the first separator after which one follows
		if strings.IndexByte(" _/,-.", text[i]) >= 0 && isUnit(text[i+1:]) && fold(text[i+1:]) != "-" {
			t.name, t.unit = strings.TrimRight(text[:i], " _/,-."), strings.TrimSpace(text[i+1:])
			if t.name == "" {
				t.name = text
			}
			return t
		}
	}
	if isUnit(text) && text != "-" { // "ms", "counts": the name is the unit
		t.unit = text
	}
	return t
}

// readUnit reads a field of a line of units, with or without brackets.
func readUnit(text string) (unit string, ok bool) {
	text = strings.TrimSpace(text)
	if n := len(text); n >= 2 && strings.IndexByte("[({<", text[0]) >= 0 && strings.IndexByte("])}>", text[n-1]) >= 0 {
		return strings.TrimSpace(text[1 : n-1]), true
	}
	return text, text == "" || isUnit(text)
}

// words cuts a name into lower-case words: at everything that is no letter, and where a capital follows a small letter.
func words(name string) []string {
	var out []string
	var word []rune
	flush := func() {
		if len(word) > 0 {
			out = append(out, strings.ToLower(string(word)))
			word = nil
		}
	}
	small := false
	for _, r := range name {
		if r == 'μ' {
			r = 'µ'
		}
		if !unicode.IsLetter(r) {
			flush()
			small = false
			continue
		}
		if unicode.IsUpper(r) && small {
			flush()
		}
		small = unicode.IsLower(r)
		word = append(word, r)
	}
	flush()
	return out
}

// timeWords say how well a word names the time.
var timeWords = map[string]int{
	"time": 10, "timestamp": 10, "elapsed": 10, "t": 9, "stamp": 8, "ts": 8, "micros": 8, "millis": 8, "ms": 7, "us": 7, "µs": 7, "sec": 7, "seconds": 7,
	"milliseconds": 7, "microseconds": 7, "s": 6, "datetime": 8, "clock": 6, "utc": 6, "ticks": 5, "tick": 5, "date": 2,
}

// travelWords say how well a word names the fork's travel.
var travelWords = map[string]int{
	"travel": 10, "fork": 9, "stanchion": 9, "suspension": 8, "front": 7, "displacement": 7, "position": 6, "pos": 6, "stroke": 6, "potentiometer": 5,
	"pot": 5, "depth": 4, "sensor": 4, "adc": 4, "reading": 3, "counts": 3, "raw": 3, "ain": 3, "voltage": 3, "value": 2,
}

// notTravelWords take a column out of the search, or put it behind.
var notTravelWords = map[string]int{
	"speed": -100, "velocity": -100, "temperature": -100, "temp": -100, "acceleration": -100, "accel": -100, "acc": -100, "gyro": -100, "gps": -100,
	"lat": -100, "lon": -100, "latitude": -100, "longitude": -100, "altitude": -100, "elevation": -100, "heart": -100, "battery": -100,
	"pressure": -100, "error": -100, "status": -100, "index": -100, "distance": -100, "rear": -8, "shock": -8,
}

var markerWords = map[string]int{
	"marker": 10, "mark": 10, "markers": 10, "event": 8, "lap": 7, "button": 7, "flag": 5, "trigger": 5, "label": 4, "note": 3, "comment": 2,
}

var indexWords = map[string]int{
	"sample": 10, "samples": 10, "index": 10, "idx": 10, "row": 10, "n": 8, "nr": 8, "no": 8, "number": 6, "count": 4, "seq": 8, "sequence": 8, "i": 6,
}

// best returns the highest rank of a name's words in the table, plus all negative ones.
func best(name string, tables ...map[string]int) int {
	top, less := 0, 0
	for _, w := range words(name) {
		for _, table := range tables {
			if r := table[w]; r < 0 {
				less += r
			} else if r > top {
				top = r
			}
		}
	}
	return top + less
}

// timeRank says how well a title names the time, 0 = not at all.
func (t title) timeRank() int {
	r := best(t.name, timeWords)
	if _, known := timeUnits[fold(t.unit)]; known && r > 0 {
		r += 2
	} else if known && t.unit != "" {
		r = 1 // a name in a language we do not know
	}
	switch {
	case best(t.name, travelWords) >= 9: // "travel time" is nothing we know
		return 0
	case best(t.name, markerWords) > 0: // "lap time" is not the log's time where there is another
		return max(r-9, 0)
	case r > 1 && len(words(t.name)) == 1: // "time" before "gps time"
		r++
	}
	return r
}

// travelRank says how well a title names the fork's travel, 0 = not at all, 1 = by its unit only.
func (t title) travelRank() int {
	r := best(t.name, travelWords, notTravelWords)
	_, known := travelUnits[fold(t.unit)]
	switch {
	case t.timeRank() > 0:
		return 0
	case known && r > 0:
		r += 2
	case known && r == 0:
		r = 1 // "left [mm]"
	case t.unit != "" && r > 0: // "fork [bar]"
		r = 0
	}
	return max(r, 0)
}

// markerRank says how well a title names marks. With a unit, as in "lap time [s]", it names a quantity.
func (t title) markerRank() int {
	if t.unit != "" || best(t.name, timeWords) > 0 {
		return 0
	}
	return best(t.name, markerWords)
}

// indexRank says how well a title names sample numbers.
func (t title) indexRank() int { return best(t.name, indexWords) }

// known tells whether a header's column is one that the reader looks for.
func (t title) known() bool {
	return t.timeRank() > 1 || t.travelRank() > 1 || t.markerRank() > 3 || t.indexRank() >= 8
}
