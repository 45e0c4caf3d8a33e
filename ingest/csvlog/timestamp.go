package csvlog

const (
	nsPerS   = int64(1e9)
	sPerDay  = 86400
	nsPerDay = sPerDay * nsPerS
)

// A stamp is a date with a time of day.
type stamp struct {
	ns    int64 // since 1970-01-01T00:00:00Z, leap seconds not counted
	zoned bool  // the text named its zone; without one the time is taken as UTC
	leap  bool  // within a leap second, whose ns equal those of the second after it
}

// parseStamp reads a date and time of day as in RFC 3339 section 5.6, and these kin of it: a space or underscore between date and time,
// capitals or not, a decimal comma, a zone without its colon or minutes or no zone at all, slashes in the date, and the
// date as day.month.year. Years from 1678 to 2261, which is what fits int64 ns. A leap second (:60) is accepted in the last minute
// of a month in UTC. Digits beyond ns are cut off.
func parseStamp(b []byte) (stamp, bool) {
	year, month, day, b, ok := scanDate(b)
	if !ok || len(b) == 0 {
		return stamp{}, false
	}
	switch b[0] {
	case 'T', 't', ' ', '_':
	default:
		return stamp{}, false
	}
	t, b, ok := scanTimeOfDay(b[1:])
	if !ok || t.hour > 23 {
		return stamp{}, false
	}
	offset, zoned, ok := parseZone(b)
	if !ok {
		return stamp{}, false
	}
	s := stamp{zoned: zoned, leap: t.sec == 60}
	at := daysFromCivil(year, month, day)*sPerDay + int64(t.hour)*3600 + int64(t.min)*60 + int64(t.sec) - offset
	if s.leap && !isMonthStart(at) {
		return stamp{}, false
	}
	s.ns = at*nsPerS + t.ns
	return s, true
}

// parseClock reads hh:mm:ss with optional decimals and returns ns since midnight. Hours may be one digit and go up to 99, since some
// logs count on past midnight; mm:ss needs decimals, to tell it from hh:mm.
func parseClock(b []byte) (ns int64, ok bool) {
	t, rest, ok := scanTimeOfDay(b)
	if ok && len(rest) == 0 && t.sec < 60 {
		return (int64(t.hour)*3600+int64(t.min)*60+int64(t.sec))*nsPerS + t.ns, true
	}
	min, i, ok := twoDigits(b, 1)
	if !ok || i >= len(b) || b[i] != ':' || min > 59 {
		return 0, false
	}
	b = b[i+1:]
	sec, i, ok := twoDigits(b, 2)
	if !ok || sec > 59 || i == len(b) {
		return 0, false
	}
	frac, i, ok := scanFraction(b, i)
	if !ok || i != len(b) {
		return 0, false
	}
	return int64(min*60+sec)*nsPerS + frac, true
}

// timeOfDay holds the parts of hh:mm:ss.fff.
type timeOfDay struct {
	hour, min, sec int
	ns             int64
}

func scanTimeOfDay(b []byte) (t timeOfDay, rest []byte, ok bool) {
	var i int
	if t.hour, i, ok = twoDigits(b, 1); !ok {
		return t, nil, false
	}
	b = b[i:]
	if len(b) < 6 || b[0] != ':' || b[3] != ':' {
		return t, nil, false
	}
	if t.min, _, ok = twoDigits(b[1:3], 2); !ok || t.min > 59 {
		return t, nil, false
	}
	if t.sec, _, ok = twoDigits(b[4:6], 2); !ok || t.sec > 60 {
		return t, nil, false
	}
	t.ns, i, ok = scanFraction(b, 6)
	return t, b[min(i, len(b)):], ok
}

// scanFraction reads .fff or ,fff at b[i:] where there is one.
func scanFraction(b []byte, i int) (ns int64, end int, ok bool) {
	if i >= len(b) || b[i] != '.' && b[i] != ',' {
		return 0, i, true
	}
	end = skipDigits(b, i+1)
	if end == i+1 {
		return 0, i, false
	}
	for k := i + 1; k < i+10; k++ {
		ns *= 10
		if k < end {
			ns += int64(b[k] - '0')
		}
	}
	return ns, end, true
}

// scanDate reads yyyy-mm-dd, yyyy/mm/dd or dd.mm.yyyy.
func scanDate(b []byte) (year, month, day int, rest []byte, ok bool) {
	if len(b) >= 8 && (b[1] == '.' || b[2] == '.') {
		var i, n int
		day, i, ok = twoDigits(b, 1)
		if !ok || b[i] != '.' {
			return 0, 0, 0, nil, false
		}
		b = b[i+1:]
		month, n, ok = twoDigits(b, 1)
		if !ok || n >= len(b) || b[n] != '.' || len(b) < n+5 {
			return 0, 0, 0, nil, false
		}
		b = b[n+1:]
		year, ok = fourDigits(b)
		rest = b[4:]
	} else {
		if len(b) < 10 || b[4] != '-' && b[4] != '/' || b[7] != b[4] {
			return 0, 0, 0, nil, false
		}
		var yearOK, monthOK, dayOK bool
		year, yearOK = fourDigits(b)
		month, _, monthOK = twoDigits(b[5:7], 2)
		day, _, dayOK = twoDigits(b[8:10], 2)
		ok = yearOK && monthOK && dayOK
		rest = b[10:]
	}
	ok = ok && year >= 1678 && year <= 2261 && month >= 1 && month <= 12 && day >= 1 && day <= daysIn(year, month)
	return year, month, day, rest, ok
}

// parseZone reads all of b as a zone: Z, +hh:mm, +hhmm, +hh or nothing. The offset is in s east of UTC.
func parseZone(b []byte) (offset int64, zoned, ok bool) {
	if len(b) > 1 && b[0] == ' ' { // as in "12:00:00 +02:00"
		b = b[1:]
	}
	switch {
	case len(b) == 0:
		return 0, false, true
	case len(b) == 1 && b[0]|0x20 == 'z':
		return 0, true, true
	case b[0] != '+' && b[0] != '-':
		return 0, false, false
	}
	sign := int64(1)
	if b[0] == '-' {
		sign = -1
	}
	b = b[1:]
	if len(b) == 5 && b[2] == ':' {
		b = []byte{b[0], b[1], b[3], b[4]}
	}
	if len(b) != 2 && len(b) != 4 {
		return 0, false, false
	}
	hour, _, ok := twoDigits(b[:2], 2)
	minute := 0
	if ok && len(b) == 4 {
		minute, _, ok = twoDigits(b[2:], 2)
	}
	if !ok || hour > 23 || minute > 59 {
		return 0, false, false
	}
	return sign * int64(hour*3600+minute*60), true, true
}

// twoDigits reads one or two digits, at least least of them.
func twoDigits(b []byte, least int) (v, n int, ok bool) {
	for n < 2 && n < len(b) && b[n]-'0' <= 9 {
		v = v*10 + int(b[n]-'0')
		n++
	}
	return v, n, n >= least
}

func fourDigits(b []byte) (v int, ok bool) {
	if skipDigits(b[:4], 0) != 4 {
		return 0, false
	}
	return int(b[0]-'0')*1000 + int(b[1]-'0')*100 + int(b[2]-'0')*10 + int(b[3]-'0'), true
}

func daysIn(year, month int) int {
	switch month {
	case 2:
		if year%4 == 0 && (year%100 != 0 || year%400 == 0) {
			return 29
		}
		return 28
	case 4, 6, 9, 11:
		return 30
	}
	return 31
}

// daysFromCivil counts days from 1970-01-01 in the Gregorian calendar, for years after 0. Years run from March, so
// that the leap day is the last of its year.
func daysFromCivil(year, month, day int) int64 {
	if month <= 2 {
		year--
		month += 12
	}
	dayOfYear := (153*(month-3)+2)/5 + day - 1
	return int64(year*365+year/4-year/100+year/400+dayOfYear) - 719468
}

// isMonthStart tells whether at, in s from 1970, is the first moment of a month in UTC.
func isMonthStart(at int64) bool {
	return at%sPerDay == 0 && dayOfMonth(at/sPerDay) == 1
}

// dayOfMonth is the inverse of daysFromCivil, as far as it is needed.
func dayOfMonth(days int64) int {
	year := int(days/366) + 1970 - 2
	for daysFromCivil(year+1, 1, 1) <= days {
		year++
	}
	month := 1
	for month < 12 && daysFromCivil(year, month+1, 1) <= days {
		month++
	}
	return int(days-daysFromCivil(year, month, 1)) + 1
}
