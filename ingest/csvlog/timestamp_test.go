package csvlog

import (
	"regexp"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// TestStampRFC3339 holds the examples of RFC 3339 section 5.8, their ns since 1970 as computed with Go's package time, and
// what section 5.6 allows and package time does not.
func TestStampRFC3339(t *testing.T) {
	for text, want := range map[string]stamp{
		"1985-04-12T23:20:50.52Z":         {ns: 482196050520000000, zoned: true},
		"1996-12-19T16:39:57-08:00":       {ns: 851042397000000000, zoned: true},
		"1937-01-01T12:00:27.87+00:20":    {ns: -1041337172130000000, zoned: true},
		"1990-12-31T23:59:60Z":            {ns: 662688000000000000, zoned: true, leap: true},
		"1990-12-31T15:59:60-08:00":       {ns: 662688000000000000, zoned: true, leap: true},
		"1985-04-12t23:20:50.52z":         {ns: 482196050520000000, zoned: true},
		"1985-04-12 23:20:50,52Z":         {ns: 482196050520000000, zoned: true},
		"1985/04/12_23:20:50.520":         {ns: 482196050520000000},
		"12.04.1985 23:20:50,52":          {ns: 482196050520000000},
		"12.4.1985 23:20:50.52":           {ns: 482196050520000000},
		"1985-04-12T23:20:50.52":          {ns: 482196050520000000},
		"1996-12-19 16:39:57 -0800":       {ns: 851042397000000000, zoned: true},
		"1996-12-19T16:39:57-08":          {ns: 851042397000000000, zoned: true},
		"2000-02-29T00:00:00.1234567899Z": {ns: 951782400123456789, zoned: true},
	} {
		if got, ok := parseStamp([]byte(text)); !ok || got != want {
			t.Errorf("%s: %+v %v, want %+v", text, got, ok, want)
		}
	}
	for _, text := range []string{"", "1985-04-12", "2023-02-30T00:00:00Z", "2023-02-29T00:00:00Z", "1900-02-29T00:00:00Z", "2023-13-01T00:00:00Z", "2023-00-01T00:00:00Z", "2023-01-00T00:00:00Z",
		"2023-01-01T24:00:00Z", "2023-01-01T23:60:00Z", "2023-01-01T23:59:61Z", "2023-01-01T23:58:60Z", "2023-01-15T23:59:60Z", "2023-01-01T23:59Z", "2023-01-01T23:59:59.Z",
		"2023-01-01T23:59:59+24:00", "2023-01-01T23:59:59+1:00", "2023-01-01T23:59:59ZZ", "0001-01-01T00:00:00Z", "9999-01-01T00:00:00Z", "2023-01/01T00:00:00Z", "1.1.19", "12.04.198", "99.99.9999 00:00:00"} {
		if got, ok := parseStamp([]byte(text)); ok {
			t.Errorf("%s is read as %+v", text, got)
		}
	}
}

func TestStampIsTimeParse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ns := rapid.Int64Range(-9.2e18, 9.2e18).Draw(t, "ns")
		zone := time.FixedZone("", 60*rapid.IntRange(-14*60, 14*60).Draw(t, "zone"))
		text := time.Unix(0, ns).In(zone).Format(time.RFC3339Nano)
		got, ok := parseStamp([]byte(text))
		if !ok || got != (stamp{ns: ns, zoned: true}) {
			t.Fatalf("%s: %+v %v, want %d", text, got, ok, ns)
		}
	})
}

func TestClock(t *testing.T) {
	for text, want := range map[string]int64{"00:00:00": 0, "0:00:01": 1e9, "23:59:59.999999999": 86399999999999, "12:34:56,5": 45296500000000, "25:00:00": 90000000000000, "12:34.5": 754500000000} {
		if got, ok := parseClock([]byte(text)); !ok || got != want {
			t.Errorf("%s: %d %v, want %d", text, got, ok, want)
		}
	}
	for _, text := range []string{"", ":", "12:34", "12:60:00", "12:00:60", "1:2:3", "123:00:00", "12:00:00.", "12:00:00Z", "12:0", "60:00.5", "1:60.5", "12:00:5"} {
		if got, ok := parseClock([]byte(text)); ok {
			t.Errorf("%s is read as %d", text, got)
		}
	}
}

// strictStamp is the shape of RFC 3339 section 5.6; package time also takes one-digit hours and zones of 60 minutes.
var strictStamp = regexp.MustCompile(`^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]([01]\d|2[0-3]):[0-5]\d)$`)

// FuzzTimestamp checks that nothing panics, and that what package time accepts as strict RFC 3339 is read as the same moment.
func FuzzTimestamp(f *testing.F) {
	for _, text := range []string{"1985-04-12T23:20:50.52Z", "1990-12-31T15:59:60-08:00", "12.4.1985 23:20:50,52", "23:59:59.9", "12:34.5", "1-1", "12.34.", "2023-01-01T00:00:00+"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got, ok := parseStamp([]byte(text))
		parseClock([]byte(text))
		if !strictStamp.MatchString(text) {
			return
		}
		want, err := time.Parse(time.RFC3339Nano, text)
		if err != nil || want.Year() < 1678 || want.Year() > 2261 || want.UTC().Year() < 1678 || want.UTC().Year() > 2261 {
			return
		}
		if !ok || got.ns != want.UnixNano() {
			t.Fatalf("%q: %+v %v, want %d", text, got, ok, want.UnixNano())
		}
	})
}
