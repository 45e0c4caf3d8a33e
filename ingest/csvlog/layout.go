package csvlog

import (
	"bytes"
	"strconv"
	"strings"
)

// A layout is what the start of a log shows of its form.
type layout struct {
	dialect
	titles     []title // one per column, nil where there is no header
	headerLine int
	unitLine   bool
	skipped    int // lines of preamble, comments and blank lines left out
	bodyStart  int // offset of the first row in the block
	bodyLine   int
	min, max   int // fields that a row may have
	kinds      []kind
	suffixes   []string
	rows       [][][]byte // fields of the first rows, for looking at values
}

// maxLooked is how many rows of the block are kept to look at their values.
const maxLooked = 1000

// readLayout finds out the form of a log from its first block; line is the number of the block's first line.
func readLayout(block []byte, line int, final bool, o Options) (*layout, error) {
	if bytes.HasPrefix(block, []byte("PK\x03\x04")) {
		return nil, fail("unpack it, or save the spreadsheet as CSV", "this is a ZIP archive or a spreadsheet, not text")
	}
	found := findDialect(block, final, o)
	l := &layout{dialect: found.dialect, min: found.fields, max: found.fields}
	all := l.records(block, line, final)
	if len(all) == 0 && !final {
		return nil, fail("a log is lines of text", "the first line is longer than %d bytes", len(block))
	}
	if found.score == 0 {
		return nil, l.noRows(all)
	}
	l.look(all)
	first := l.firstData(all)
	if first < 0 || bytes.IndexByte(block[:all[first].start], 0) >= 0 {
		return nil, l.noRows(all)
	}
	body := first
	if !o.NoHeader {
		header := l.findHeader(all, first, o.HeaderLine > 0)
		if header >= 0 {
			body = l.useHeader(all, header, first)
		}
	}
	l.skipped = body
	l.bodyStart, l.bodyLine = all[body].start, all[body].line
	l.rows = l.rows[:0]
	l.look(all[body:])
	return l, l.checkHeader(o)
}

// look finds what each column holds, from the rows that have the usual number of fields. Rows with less than half of the numbers that
// others have are text, and left aside.
func (l *layout) look(all []record) {
	n := max(l.max, len(l.titles))
	var kinds [][]kind
	var suffixes [][]string
	var good []int
	most := 0
	for _, r := range all {
		if isBlank(r.text) || l.isComment(r.text) || len(l.rows) == maxLooked {
			continue
		}
		var sp splitter
		fields, problem := sp.split(l.dialect, r.text)
		if problem != "" || len(fields) < l.min || len(fields) > n {
			continue
		}
		rowKinds, rowSuffixes, numbers := make([]kind, len(fields)), make([]string, len(fields)), 0
		for i, f := range fields {
			rowKinds[i], rowSuffixes[i] = classify(f, l.decimal)
			if rowKinds[i].numeric() {
				numbers++
			}
		}
		most = max(most, numbers)
		l.rows = append(l.rows, fields)
		kinds, suffixes, good = append(kinds, rowKinds), append(suffixes, rowSuffixes), append(good, numbers)
	}
	l.kinds, l.suffixes = make([]kind, n), make([]string, n)
	for i := range n {
		var votes [kindText + 1]int
		units := map[string]int{}
		for r := range kinds {
			if 2*good[r] < most || i >= len(kinds[r]) {
				continue
			}
			votes[kinds[r][i]]++
			if s := suffixes[r][i]; s != "" {
				units[s]++
			}
		}
		for k := kindNumber; k <= kindText; k++ {
			if votes[k] > 0 && (l.kinds[i] == kindEmpty || votes[k] > votes[l.kinds[i]]) {
				l.kinds[i] = k
			}
		}
		for s, c := range units {
			if 2*c > votes[kindNumber] {
				l.suffixes[i] = s
			}
		}
	}
}

// firstData returns the first row that looks like the others, -1 where there is none.
func (l *layout) firstData(all []record) int {
	var sp splitter
	for i, r := range all {
		if isBlank(r.text) || l.isComment(r.text) {
			continue
		}
		fields, problem := sp.split(l.dialect, r.text)
		if problem != "" || len(fields) != l.min {
			continue
		}
		good, bad := 0, 0
		for c, f := range fields {
			k, _ := classify(f, l.decimal)
			switch {
			case !l.kinds[c].numeric() || k == kindEmpty:
			case k == l.kinds[c]:
				good++
			default:
				bad++
			}
		}
		if good > 0 && bad == 0 {
			return i
		}
	}
	return -1
}

// findHeader returns the row that holds the header, -1 where there is none. given says that it is the first row. Otherwise it is
// a row of text above the first row of data, best one with a known name and as many fields as the rows, next best a comment of that kind, else
// one with either; of several equally good ones the nearest.
func (l *layout) findHeader(all []record, first int, given bool) int {
	if given {
		return 0
	}
	found, top := -1, 0
	for i := first - 1; i >= 0; i-- {
		text := all[i].text
		if isBlank(text) || isRule(text) {
			continue
		}
		titles, mostlyText := l.titlesOf(text)
		known, fits, comment := anyKnown(titles), len(titles) == l.min, l.isComment(text)
		rank := 0
		switch {
		case !mostlyText:
		case known && fits && !comment:
			rank = 3
		case known && fits:
			rank = 2
		case (known || fits) && !comment:
			rank = 1
		}
		if rank > top {
			found, top = i, rank
		}
	}
	if found < 0 {
		return -1
	}
	return l.aboveUnits(all, found)
}

// aboveUnits returns the header above row i where that is a line of units, else i.
func (l *layout) aboveUnits(all []record, i int) int {
	if i == 0 || !l.isUnits(all[i].text) {
		return i
	}
	if titles, text := l.titlesOf(all[i-1].text); text && len(titles) >= l.min {
		return i - 1
	}
	return i
}

// useHeader takes the titles and units and returns the first row of the body.
func (l *layout) useHeader(all []record, header, first int) int {
	l.titles, _ = l.titlesOf(all[header].text)
	l.headerLine = all[header].line
	l.max = max(l.max, len(l.titles))
	body := header + 1
	for body < first && (isBlank(all[body].text) || isRule(all[body].text) || l.isUnits(all[body].text)) {
		if l.isUnits(all[body].text) && !isBlank(all[body].text) {
			units, _ := l.titlesOf(all[body].text)
			for i := range min(len(units), len(l.titles)) {
				if unit, _ := readUnit(units[i].text); unit != "" && unit != "-" {
					l.titles[i].unit = unit
				}
			}
			l.unitLine = true
		}
		body++
	}
	return min(body, len(all)-1)
}

// titlesOf reads a row as a header. A comment loses its sign.
func (l *layout) titlesOf(row []byte) (titles []title, mostlyText bool) {
	if l.isComment(row) {
		row = bytes.TrimLeft(row, "#%/; \t")
	}
	var sp splitter
	fields, problem := sp.split(l.dialect, row)
	if problem != "" {
		return nil, false
	}
	texts, values := 0, 0
	for _, f := range fields {
		switch k, _ := classify(f, l.decimal); {
		case k == kindText:
			texts++
		case k != kindEmpty:
			values++
		}
		titles = append(titles, readTitle(toUTF8(f)))
	}
	return titles, texts > values
}

// isUnits tells whether all fields of a row are units.
func (l *layout) isUnits(row []byte) bool {
	titles, _ := l.titlesOf(row)
	some := false
	for _, t := range titles {
		unit, ok := readUnit(t.text)
		if !ok {
			return false
		}
		some = some || unit != ""
	}
	return some
}

func anyKnown(titles []title) bool {
	for _, t := range titles {
		if t.known() {
			return true
		}
	}
	return false
}

// isHeader tells whether titles are surely those of a log: time and travel, or a single column of travel.
func isHeader(titles []title) bool {
	time, travel := len(titles) == 1, false
	for _, t := range titles {
		time = time || t.timeRank() > 0
		travel = travel || t.travelRank() > 0
	}
	return time && travel
}

// isRule tells whether a line is drawn, such as "-----+-----".
func isRule(line []byte) bool {
	return bytes.IndexByte(line, '-') >= 0 && len(bytes.Trim(line, "-=+| \t\r\n,;:")) == 0 ||
		bytes.IndexByte(line, '=') >= 0 && len(bytes.Trim(line, "=+| \t\r\n,;:")) == 0
}

// noRows says why there is no data.
func (l *layout) noRows(all []record) error {
	for _, r := range all {
		if titles, text := l.titlesOf(r.text); text && isHeader(titles) && !l.isComment(r.text) {
			return &Error{Line: r.line, Reason: "there is a header and no row of numbers after it", Hint: "check that the logger was recording"}
		}
	}
	if len(bytes.TrimSpace(joined(all))) == 0 {
		return fail("check that the logger was recording", "the log is empty")
	}
	if bytes.IndexByte(joined(all), 0) >= 0 {
		return fail("a log is text: CSV, or the like", "this is binary data, not text")
	}
	return fail("set --delimiter, --decimal-comma or --skip-lines if the log holds any", "no row of numbers found")
}

func joined(all []record) []byte {
	var out []byte
	for _, r := range all {
		out = append(out, bytes.Trim(r.text, "\x00")...)
	}
	return out
}

// checkHeader stops where header and rows contradict each other in a way that points to a wrong decimal mark.
func (l *layout) checkHeader(o Options) error {
	if o.Delimiter == "" && l.delim == ',' && len(l.titles) > 0 && l.min >= 2*len(l.titles) {
		return &Error{Line: l.bodyLine, Reason: "rows have twice as many fields as the header",
			Hint: "decimal commas between commas cannot be told apart: write the log with semicolons; with a single column set --delimiter=';' and --decimal-comma"}
	}
	if l.decimal == ',' && !o.DecimalComma {
		for i := range l.kinds {
			if l.hasGroups(i) {
				return &Error{Line: l.bodyLine, Reason: "the commas in column " + l.ref(i) + " could group thousands or be decimal commas",
					Hint: "set --decimal-comma if they are decimal commas, else write the log without grouping"}
			}
		}
	}
	return nil
}

// hasGroups tells whether the numbers in a column look like groups of thousands: whole numbers below 1000, and above with a
// comma before the last three digits.
func (l *layout) hasGroups(col int) bool {
	plain, grouped := 0, 0
	for _, r := range l.rows {
		if col >= len(r) || len(r[col]) == 0 {
			continue
		}
		f := bytes.TrimLeft(r[col], "+-")
		i := bytes.IndexByte(f, ',')
		switch {
		case i < 0 && len(f) <= 3:
			plain++
		case i >= 1 && i <= 3 && len(f) == i+4 && f[0] != '0':
			grouped++
		default:
			return false
		}
	}
	return plain > 0 && grouped > 0
}

// ref names a column for people: 3 "travel [mm]".
func (l *layout) ref(i int) string {
	s := strconv.Itoa(i + 1)
	if i < len(l.titles) && l.titles[i].text != "" {
		s += ` "` + strings.ReplaceAll(l.titles[i].text, "\n", " ") + `"`
	}
	return s
}
