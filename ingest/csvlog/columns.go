package csvlog

import (
	"fmt"
	"strconv"
	"strings"
)

// columns says which column is what, by 0-based number; -1 = there is none.
type columns struct {
	time, travel, marker int
	extra                []int
	tick                 float64 // s per unit of the time column where known, else 0
	left                 []string
	cautions             []string
	indexed              bool // the time column holds sample numbers
}

// title returns the title of column i, an empty one where it has none.
func (l *layout) title(i int) title {
	if i < len(l.titles) {
		return l.titles[i]
	}
	return title{}
}

// findColumn finds a column that the user named or numbered.
func (l *layout) findColumn(what, flag, want string) (int, error) {
	for i, t := range l.titles {
		if fold(t.text) == fold(want) {
			return i, nil
		}
	}
	for i, t := range l.titles {
		if fold(t.name) == fold(want) {
			return i, nil
		}
	}
	n, err := strconv.Atoi(strings.TrimSpace(want))
	if err == nil && n >= 1 && n <= len(l.kinds) {
		return n - 1, nil
	}
	return 0, fail("set "+flag+" to one of "+l.list(nil), "there is no %s column %q", what, want)
}

// list names the columns for people, all of them or those that ok says.
func (l *layout) list(ok func(i int) bool) string {
	var names []string
	for i := range l.kinds {
		if ok == nil || ok(i) {
			names = append(names, l.ref(i))
		}
		if len(names) == 20 {
			names = append(names, "…")
			break
		}
	}
	return strings.Join(names, ", ")
}

// choose decides what each column is.
func (l *layout) choose(o Options) (*columns, error) {
	c := &columns{time: -1, travel: -1, marker: -1}
	var err error
	if o.TravelColumn != "" { // known first, so that it is not taken for the time
		if c.travel, err = l.findColumn("travel", "--travel-column", o.TravelColumn); err != nil {
			return nil, err
		}
		if k := l.kinds[c.travel]; k != kindNumber && k != kindEmpty {
			return nil, fail("set --travel-column to one of "+l.list(l.isNumber)+"; check --decimal-comma", "travel column %s does not hold numbers", l.ref(c.travel))
		}
	}
	if err = l.chooseTime(c, o); err != nil {
		return nil, err
	}
	if c.travel < 0 {
		if err = l.chooseTravel(c, o); err != nil {
			return nil, err
		}
	}
	if err = l.chooseMarker(c, o); err != nil {
		return nil, err
	}
	l.chooseExtra(c, o)
	return c, nil
}

func (l *layout) isNumber(i int) bool { return l.kinds[i] == kindNumber }

func (l *layout) chooseTime(c *columns, o Options) error {
	switch {
	case fold(o.TimeColumn) == noColumn:
	case o.TimeColumn != "":
		i, err := l.findColumn("time", "--time-column", o.TimeColumn)
		if err != nil {
			return err
		}
		if !l.kinds[i].numeric() {
			return fail("set --time-column to another column, or to none together with --rate", "time column %s holds neither numbers nor times", l.ref(i))
		}
		c.time = i
	default:
		c.time = l.bestTime(c.travel)
		if c.time < 0 {
			if err := l.firstAsTime(c, o); err != nil {
				return err
			}
		}
	}
	if c.time < 0 {
		if o.RateHz == 0 {
			return fail("set --time-column, or --rate for a log without stamps", "no time column found among columns %s", l.list(nil))
		}
		return nil
	}
	if c.time == c.travel {
		return fail("set --time-column and --travel-column", "column %s cannot be both time and travel", l.ref(c.time))
	}
	if !c.indexed && o.RateHz > 0 && l.title(c.time).indexRank() > 0 && l.title(c.time).timeRank() == 0 {
		c.indexed = true
	}
	if c.indexed {
		c.tick = 1 / o.RateHz
		return nil
	}
	return l.timeUnit(c, o)
}

// bestTime returns the column best named as time, not taking the one at skip.
func (l *layout) bestTime(skip int) int {
	found, top := -1, 0
	for i, k := range l.kinds {
		rank := l.title(i).timeRank()
		switch k {
		case kindStamp:
			rank = max(rank, 4)
		case kindClock:
			rank = max(rank, 3)
		case kindNumber:
		default:
			continue
		}
		if i != skip && rank > top {
			found, top = i, rank
		}
	}
	return found
}

// firstAsTime looks at a column without a known name: it is the time, or a row number, where its first rows never fall.
func (l *layout) firstAsTime(c *columns, o Options) error {
	at := -1
	for i := range l.kinds {
		t := l.title(i)
		index := t.indexRank() >= 8
		unknown := i == 0 && t.travelRank() == 0 && t.markerRank() == 0 && best(t.name, notTravelWords) == 0
		if l.isNumber(i) && i != c.travel && (index || unknown) && l.rises(i) {
			at = i
			break
		}
	}
	if at < 0 || at == 0 && len(l.kinds) == 1 {
		return nil
	}
	steps := l.stepsOfOne(at)
	named := l.title(at).indexRank() >= 8
	switch {
	case o.RateHz > 0 && (named || steps && o.TimeUnit == "" && o.TickS == 0):
		c.time, c.indexed = at, true
	case named && o.TimeUnit == "" && o.TickS == 0:
		return fail("set --rate to the sample rate", "column %s numbers the samples, and nothing tells how far they are apart", l.ref(at))
	case steps && o.TimeUnit == "" && o.TickS == 0:
		return fail("set --time-unit if it is time, or --rate if it numbers the samples", "column %s counts in steps of 1: it could be time or a row number", l.ref(at))
	default:
		c.time = at
		c.cautions = append(c.cautions, fmt.Sprintf("column %s was taken as the time, since it never falls; if it is not, set the time column", l.ref(at)))
	}
	return nil
}

// rises tells whether the numbers of a column never fall in the first rows, and rise in most.
func (l *layout) rises(col int) bool {
	last, have, up, n := 0.0, false, 0, 0
	for _, r := range l.rows {
		if col >= len(r) {
			continue
		}
		v, _, ok := parseNumber(r[col], l.decimal)
		if !ok {
			continue
		}
		if have {
			if v < last {
				return false
			}
			if v > last {
				up++
			}
		}
		last, have = v, true
		n++
	}
	return n > 2 && 2*up > n-1
}

// stepsOfOne tells whether most steps in a column are exactly 1.
func (l *layout) stepsOfOne(col int) bool {
	last, ones, n := 0.0, 0, 0
	for _, r := range l.rows {
		if col >= len(r) {
			continue
		}
		v, _, ok := parseNumber(r[col], l.decimal)
		if !ok {
			continue
		}
		if n > 0 && v-last == 1 {
			ones++
		}
		last = v
		n++
	}
	return 2*ones > n
}

// timeUnit finds the tick of the time column, from the options, the header or the values' suffix.
func (l *layout) timeUnit(c *columns, o Options) error {
	kind := l.kinds[c.time]
	date, clock := isDateUnit(o.TimeUnit), isClockUnit(o.TimeUnit)
	if date && kind != kindStamp || clock && kind != kindClock || kind != kindNumber && o.TimeUnit != "" && !date && !clock {
		return fail("leave --time-unit away, or set --time-column to another column", "time column %s does not hold what --time-unit=%s says", l.ref(c.time), o.TimeUnit)
	}
	t := l.title(c.time)
	named := ""
	for _, w := range words(t.name) {
		if _, ok := timeUnits[fold(w)]; ok && len(w) > 1 {
			named = w
		}
	}
	unit, known := timeUnits[fold(t.unit)]
	switch {
	case kind != kindNumber:
	case o.TickS > 0:
		c.tick = o.TickS
	case o.TimeUnit != "":
		c.tick = timeUnits[fold(o.TimeUnit)]
		if known && unit != c.tick {
			c.cautions = append(c.cautions, fmt.Sprintf("time is read in %s as set, though the header says %s", o.TimeUnit, t.unit))
		}
	case known:
		c.tick = unit
	case t.unit != "":
		return fail("set --time-unit, or --tick to the seconds per tick", "time column %s is in a unit that is not known", l.ref(c.time))
	case l.suffixes[c.time] != "":
		c.tick = timeUnits[fold(l.suffixes[c.time])]
	case named != "":
		c.tick = timeUnits[fold(named)]
	}
	return nil
}

// travelWorth ranks column i as travel: a named column of numbers comes first, then a named one without any value so far, then
// one that has a unit of travel only. A unit that the user gave lifts the columns that have it.
func (l *layout) travelWorth(i int, o Options) int {
	t := l.title(i)
	rank := t.travelRank()
	switch {
	case rank == 0:
		return 0
	case l.kinds[i] == kindNumber && rank > 1:
		rank = 10 * rank
		if unit, ok := travelUnits[fold(t.unit)]; ok && o.wantedUnit() != "" && unit.Unit == travelUnits[fold(o.wantedUnit())].Unit {
			rank += 5
		}
		return rank
	case l.kinds[i] == kindEmpty && rank > 1:
		return 2
	case l.kinds[i] == kindNumber:
		return 1
	}
	return 0
}

func (l *layout) chooseTravel(c *columns, o Options) error {
	top, second, worth, next := -1, -1, 0, 0
	for i := range l.kinds {
		switch w := l.travelWorth(i, o); {
		case i == c.time:
		case w > worth:
			top, second, worth, next = i, top, w, worth
		case w > next:
			second, next = i, w
		}
	}
	if top >= 0 {
		c.travel = top
		if next > 2 || next == worth {
			c.cautions = append(c.cautions, fmt.Sprintf("column %s was taken as travel and not column %s; if that is wrong, set the travel column", l.ref(top), l.ref(second)))
		}
		return nil
	}
	var left []int
	for i := range l.kinds {
		t := l.title(i)
		if i != c.time && t.travelRank() > 1 {
			return fail("set --travel-column to one of "+l.list(l.isNumber)+"; check --delimiter and --decimal-comma", "travel column %s does not hold numbers", l.ref(i))
		}
		if l.isNumber(i) && i != c.time && t.markerRank() == 0 && t.indexRank() < 8 && t.timeRank() == 0 && best(t.name, notTravelWords) == 0 {
			left = append(left, i)
		}
	}
	switch len(left) {
	case 0:
		return fail("set --travel-column, and check --delimiter and --decimal-comma", "no travel column found among columns %s", l.list(nil))
	case 1:
		c.travel = left[0]
		if l.title(left[0]).text != "" {
			c.cautions = append(c.cautions, fmt.Sprintf("column %s was taken as travel, since no other can be; if that is wrong, set the travel column", l.ref(left[0])))
		}
		return nil
	}
	return fail("set --travel-column", "several columns could be travel: %s", l.list(func(i int) bool { return l.isNumber(i) && i != c.time }))
}

func (l *layout) chooseMarker(c *columns, o Options) error {
	switch {
	case fold(o.MarkerColumn) == noColumn:
	case o.MarkerColumn != "":
		i, err := l.findColumn("marker", "--marker-column", o.MarkerColumn)
		if err != nil {
			return err
		}
		if i == c.time || i == c.travel {
			return fail("set --marker-column to another column", "column %s is in use as time or travel, it cannot hold markers", l.ref(i))
		}
		c.marker = i
	default:
		for i := range l.titles {
			rank := l.titles[i].markerRank()
			if i != c.time && i != c.travel && rank > 2 && (c.marker < 0 || rank > l.titles[c.marker].markerRank()) {
				c.marker = i
			}
		}
	}
	return nil
}

func (l *layout) chooseExtra(c *columns, o Options) {
	for i, k := range l.kinds {
		switch {
		case i == c.time || i == c.travel || i == c.marker || k == kindEmpty && l.title(i).text == "":
		case o.NoExtra:
		case k == kindNumber || k == kindEmpty:
			if len(c.extra) == maxExtra {
				c.left = append(c.left, fmt.Sprintf("left out: column %s, more than %d extra columns", l.ref(i), maxExtra))
				continue
			}
			c.extra = append(c.extra, i)
		case k == kindText:
			c.left = append(c.left, fmt.Sprintf("left out: column %s, text", l.ref(i)))
		default:
			c.left = append(c.left, fmt.Sprintf("left out: column %s, a second time", l.ref(i)))
		}
	}
	if len(c.left) > 10 {
		c.left = append(c.left[:9], fmt.Sprintf("left out: %d more columns", len(c.left)-9))
	}
}
