package csvlog

import (
	"bytes"
	"unicode/utf8"
)

// A kind is what a field holds.
type kind byte

const (
	kindEmpty kind = iota
	kindNumber
	kindStamp // date and time
	kindClock // hh:mm:ss
	kindText
)

// numeric tells whether the kind can be made a number.
func (k kind) numeric() bool { return k == kindNumber || k == kindStamp || k == kindClock }

// isMissing tells whether a field says that there is no value.
func isMissing(b []byte) bool {
	if len(b) > 9 || len(b) > 0 && b[len(b)-1]-'0' <= 9 {
		return false
	}
	switch string(bytes.ToLower(b)) {
	case "", "-", "--", "---", "nan", "+nan", "-nan", "na", "n/a", "#n/a", "null", "none", "nil", "inf", "+inf", "-inf", "infinity", "+infinity", "-infinity", "?":
		return true
	}
	return false
}

// classify tells what a field holds, and the unit that follows the number in it.
func classify(b []byte, decimal byte) (k kind, suffix string) {
	if isMissing(b) {
		return kindEmpty, ""
	}
	if c := b[0]; c > '9' || c < '+' {
		return kindText, ""
	}
	if _, _, ok := parseNumber(b, decimal); ok {
		return kindNumber, ""
	}
	if _, ok := parseClock(b); ok {
		return kindClock, ""
	}
	if _, ok := parseStamp(b); ok {
		return kindStamp, ""
	}
	_, n, _ := scanPlain(b, decimal)
	if n > 0 {
		if unit := string(bytes.TrimSpace(b[n:])); len(unit) < 12 && unit != "-" && isUnit(unit) {
			return kindNumber, unit
		}
	}
	return kindText, ""
}

// A record is one row of the sniffed block, with all that may be quoted in it.
type record struct {
	line  int // of its start
	text  []byte
	start int // offset in the block
}

// records cuts block into rows. A last row that is not complete is left out, unless final.
func (d dialect) records(block []byte, line int, final bool) []record {
	var out []record
	for at := 0; at < len(block); {
		n := d.nextRecord(block[at:], final)
		if n == 0 {
			break
		}
		out = append(out, record{line, block[at : at+n], at})
		line += bytes.Count(block[at:at+n], []byte{d.eol})
		at += n
	}
	return out
}

// scored is how well a dialect fits.
type scored struct {
	dialect
	fields int     // in most rows
	score  float64 // rows that it explains
}

// maxScored is how many rows, from the end of the block, are looked at to tell dialects apart.
const maxScored = 400

// findDialect returns the dialect under which most fields are numbers or times, in rows of equal length.
func findDialect(block []byte, final bool, o Options) scored {
	eol := byte('\n')
	if bytes.IndexByte(block, '\n') < 0 && bytes.IndexByte(block, '\r') >= 0 {
		eol = '\r'
	}
	delims := []byte{'\t', ';', '|', ',', ' '} // in order of preference where several fit as well
	if b, ok := delimiterByte(o.Delimiter); ok {
		delims = []byte{b}
	}
	decimals := []byte{'.', ','}
	if o.DecimalComma {
		decimals = decimals[1:]
	} else if o.DecimalPoint {
		decimals = decimals[:1]
	}
	var top scored
	for _, delim := range delims {
		for _, decimal := range decimals {
			s := scored{dialect: dialect{delim, decimal, eol}}
			s.rate(block, final)
			if s.score > top.score*1.03 || top.delim == 0 {
				top = s
			}
		}
	}
	return top
}

// rate fills in fields and score.
func (s *scored) rate(block []byte, final bool) {
	rows := s.records(block, 1, final)
	if len(rows) > maxScored {
		rows = rows[len(rows)-maxScored:]
	}
	shares := map[int]float64{}
	var sp splitter
	for _, r := range rows {
		if isBlank(r.text) || s.isComment(r.text) {
			continue
		}
		fields, problem := sp.split(s.dialect, r.text)
		if problem != "" {
			continue
		}
		good, all := 0, 0
		for _, f := range fields {
			k, _ := classify(f, s.decimal)
			if k != kindEmpty {
				all++
			}
			if k.numeric() {
				good++
			}
		}
		if good > 0 {
			share := float64(good) / float64(all)
			shares[len(fields)] += share * share // squared, so that text with some numbers in it counts little
		}
	}
	for n, share := range shares {
		if n == 1 {
			share /= 2 // any delimiter that is not there gives one field
		}
		if share > s.score || share == s.score && n > s.fields {
			s.fields, s.score = n, share
		}
	}
}

// toUTF8 makes text of old Western encodings readable: where b is not UTF-8 each byte is taken as ISO 8859-1.
func toUTF8(b []byte) string {
	if utf8.Valid(b) {
		return string(b)
	}
	out := make([]rune, len(b))
	for i, c := range b {
		out[i] = rune(c)
	}
	return string(out)
}
