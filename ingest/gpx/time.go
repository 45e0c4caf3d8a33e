package gpx

import "time"

// A moment is a time as a recorder wrote it.
type moment struct {
	at    time.Time
	zoned bool // the text named its zone; without one it is taken as UTC
	leap  bool // within a leap second, which is counted as the second after it
}

// parseTime reads an xsd:dateTime (XML Schema part 2, section 3.2.7): yyyy-mm-ddThh:mm:ss, decimals of a second and a zone being
// optional. Beyond it, a space for the T, small letters, a zone without its colon and a leap second (:60, as in RFC 3339) are
// accepted. Digits beyond ns are cut off. Years 1 to 9999.
func parseTime(b []byte) (m moment, ok bool) {
	if len(b) < 19 || b[4] != '-' || b[7] != '-' || b[10]|0x20 != 't' && b[10] != ' ' || b[13] != ':' || b[16] != ':' {
		return m, false
	}
	year, ok0 := digits(b[0:4])
	month, ok1 := digits(b[5:7])
	day, ok2 := digits(b[8:10])
	hour, ok3 := digits(b[11:13])
	minute, ok4 := digits(b[14:16])
	sec, ok5 := digits(b[17:19])
	if !(ok0 && ok1 && ok2 && ok3 && ok4 && ok5) {
		return m, false
	}
	ns, rest, okNS := fraction(b[19:])
	endOfDay := hour == 24 && minute == 0 && sec == 0 && ns == 0 // allowed by xsd:dateTime: the first instant of the next day
	if !okNS || year < 1 || month < 1 || month > 12 || day < 1 || hour > 23 && !endOfDay || minute > 59 || sec > 60 {
		return m, false
	}
	if time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC).Day() != day {
		return m, false
	}
	east, zoned, okZone := zone(rest)
	if !okZone {
		return m, false
	}
	m = moment{time.Date(year, time.Month(month), day, hour, minute, sec-east, ns, time.UTC), zoned, sec == 60}
	if m.leap && (m.at.Day() != 1 || m.at.Hour() != 0 || m.at.Minute() != 0) { // leap seconds end a month in UTC
		return m, false
	}
	return m, true
}

// fraction reads .fff or ,fff where b starts with one.
func fraction(b []byte) (ns int, rest []byte, ok bool) {
	if len(b) == 0 || b[0] != '.' && b[0] != ',' {
		return 0, b, true
	}
	i, unit := 1, 100_000_000
	for ; i < len(b) && b[i]-'0' <= 9; i++ {
		ns += int(b[i]-'0') * unit
		unit /= 10
	}
	return ns, b[i:], i > 1
}

// zone reads all of b as Z, ±hh:mm, ±hhmm or nothing, in s east of UTC.
func zone(b []byte) (eastS int, zoned, ok bool) {
	switch {
	case len(b) == 0:
		return 0, false, true
	case len(b) == 1 && b[0]|0x20 == 'z':
		return 0, true, true
	case len(b) == 6 && b[3] == ':':
		b = []byte{b[0], b[1], b[2], b[4], b[5]}
	}
	if len(b) != 5 || b[0] != '+' && b[0] != '-' {
		return 0, false, false
	}
	hour, ok1 := digits(b[1:3])
	minute, ok2 := digits(b[3:5])
	if !ok1 || !ok2 || hour > 14 || minute > 59 {
		return 0, false, false
	}
	eastS = hour*3600 + minute*60
	if b[0] == '-' {
		eastS = -eastS
	}
	return eastS, true, true
}

func digits(b []byte) (v int, ok bool) {
	for _, c := range b {
		if c-'0' > 9 {
			return 0, false
		}
		v = v*10 + int(c-'0')
	}
	return v, true
}
