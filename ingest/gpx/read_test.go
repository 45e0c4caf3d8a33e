package gpx

import (
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"stanchion/ingest"
)

const head = `<gpx version="1.1" creator="c" xmlns="http://www.topografix.com/GPX/1/1">`

// doc is a document of one piece with the given points.
func doc(points ...string) string {
	return head + "<trk><trkseg>\n" + strings.Join(points, "\n") + "\n</trkseg></trk></gpx>"
}

func pt(lat, lon, time string) string {
	return fmt.Sprintf(`<trkpt lat=%q lon=%q><time>%s</time></trkpt>`, lat, lon, time)
}

func readText(text string, opt Options) (*ingest.Track, error) {
	return ReadFrom(strings.NewReader(text), "run.gpx", opt)
}

// Errors say where, what and how to mend it.
func TestErrors(t *testing.T) {
	good := pt("46.5", "8.3", "2025-06-14T16:20:31Z")
	for _, c := range []struct{ name, text, want, hint string }{
		{"empty", "", "run.gpx:1: this is not a GPX file", "export"},
		{"text", "t_us,travel\n1,2\n", "this is not a GPX file", "export"},
		{"other XML", "<html><body/></html>", "run.gpx:1: this is not a GPX file", "export"},
		{"doctype", "<?xml version=\"1.0\"?>\n<!DOCTYPE gpx [<!ENTITY a \"b\">]>\n" + doc(good), "run.gpx:2: a document type declaration", "DOCTYPE"},
		{"entity", doc(`<trkpt lat="1" lon="2"><time>&lol;</time></trkpt>`), "not well-formed XML: invalid character entity &lol;", "GPX 1.1"},
		{"mismatch", doc("<trkpt lat='1' lon='2'></trkseg>"), "run.gpx:2: not well-formed XML: <trkpt> is closed by </trkseg>", "GPX 1.1"},
		{"route only", head + `<wpt lat="1" lon="2"/><rte><rtept lat="1" lon="2"/></rte></gpx>`, "run.gpx: holds 1 waypoint and 1 route, but no track", "as a track"},
		{"no points", head + `<trk><trkseg/></trk></gpx>`, "run.gpx: holds no track points", "track"},
		{"all bad", doc(`<trkpt lat="95" lon="8"/>`, `<trkpt lat="x" lon="8"/>`), "none of its 2 track points can be used\nrun.gpx:2: lat \"95\" is not between -90 and 90\nrun.gpx:3: lat \"x\" is not a number", "check"},
		{"cut early", head + "<trk><trkseg><trkpt lat=", "the file ends before its first track point", "copy it again"},
		{"deep", head + strings.Repeat("<a>", 100), "over 64 deep", "GPX 1.1"},
		{"long attribute", head + `<trk name="` + strings.Repeat("x", 1<<17) + `">`, "over 64 KiB", "GPX 1.1"},
		{"long text", head + "<metadata><name>" + strings.Repeat("x", 1<<17), "over 64 KiB", "GPX 1.1"},
		{"encoding", `<?xml version="1.0" encoding="Shift_JIS"?>` + doc(good), `text encoding "Shift_JIS" is not read`, "UTF-8"},
		{"bad gzip", "\x1f\x8b\x08rubbish", "run.gpx: gzip", "copy it again"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := readText(c.text, Options{})
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Fatalf("error %v, want %q", err, c.want)
			}
			var h ingest.Hinted
			if !errors.As(err, &h) || !strings.Contains(h.Hint, c.hint) {
				t.Errorf("hint %q, want %q", h.Hint, c.hint)
			}
		})
	}
}

func TestBounds(t *testing.T) {
	points := make([]string, 100)
	for i := range points {
		points[i] = pt("46.5", "8.3", fmt.Sprintf("2025-06-14T16:20:%02dZ", i%60))
	}
	text := doc(points...)
	if _, err := readText(text, Options{MaxPoints: 99}); err == nil || !strings.Contains(err.Error(), "over 99 track points") {
		t.Errorf("points: %v", err)
	}
	if _, err := readText(text, Options{MaxPoints: 100}); err != nil {
		t.Errorf("points: %v", err)
	}
	var zipped bytes.Buffer
	w := gzip.NewWriter(&zipped)
	fmt.Fprint(w, head, strings.Repeat(" <!-- -->", 1<<18))
	w.Close()
	if _, err := ReadFrom(&zipped, "bomb.gpx.gz", Options{MaxBytes: 1 << 20}); err == nil || !strings.Contains(err.Error(), "bomb.gpx.gz:1: over 1 MB of text") {
		t.Errorf("a small file that unpacks to a large one: %v", err)
	}
}

// What cannot be used is left out, counted and named.
func TestLeftOut(t *testing.T) {
	const at = "2025-06-14T16:20:%sZ"
	s := func(sec string) string { return fmt.Sprintf(at, sec) }
	good := func(sec string) string { return pt("46.5", "8.3", s(sec)) }
	for _, c := range []struct {
		name   string
		points []string
		times  []float64
		reason string
		line   int
	}{
		{"latitude", []string{good("01"), pt("-90.5", "8", s("02")), good("03")}, []float64{0, 2}, `lat "-90.5" is not between -90 and 90`, 3},
		{"longitude", []string{good("01"), pt("46", "181", s("02")), good("03")}, []float64{0, 2}, `lon "181" is not between -180 and 180`, 3},
		{"not a number", []string{good("01"), pt("46", "NaN", s("02")), good("03")}, []float64{0, 2}, `lon "NaN" is not a number`, 3},
		{"none", []string{good("01"), `<trkpt lat="46"/>`, good("03")}, []float64{0, 2}, "without lat and lon", 3},
		{"no fix", []string{pt("0", "0.0", s("01")), good("02")}, []float64{0}, "had no fix", 2},
		{"repeated", []string{good("01"), good("02"), good("02"), good("03")}, []float64{0, 1, 2}, "same time", 3},
		{"backward", []string{good("01"), good("02"), good("00"), good("03")}, []float64{0, 1, 2}, "out of order", 4},
		{"one stamp far ahead", []string{good("01"), good("59"), good("02"), good("03")}, []float64{0, 1, 2}, "out of order", 3},
	} {
		t.Run(c.name, func(t *testing.T) {
			track, err := readText(doc(c.points...), Options{})
			if err != nil {
				t.Fatal(err)
			}
			if len(track.Fixes) != len(c.times) || track.Rows.Bad != 1 || track.Rows.Data != len(c.points) {
				t.Fatalf("%+v", track)
			}
			for i, f := range track.Fixes {
				if f.TimeS != c.times[i] {
					t.Errorf("fix %d at %v s, want %v", i, f.TimeS, c.times[i])
				}
			}
			if b := track.Rows.First[0]; b.Line != c.line || !strings.Contains(b.Reason, c.reason) {
				t.Errorf("%+v", b)
			}
		})
	}
}

// A file that was not closed keeps what it has.
func TestCutFile(t *testing.T) {
	text := doc(pt("46.5", "8.3", "2025-06-14T16:20:31Z"), pt("46.5", "8.4", "2025-06-14T16:20:32Z"))
	whole, err := readText(text, Options{})
	if err != nil || len(whole.Cautions) != 0 {
		t.Fatal(whole, err)
	}
	cut, err := readText(text[:strings.LastIndex(text, "<time>")], Options{})
	if err != nil || len(cut.Fixes) != 1 || !strings.Contains(strings.Join(cut.Cautions, ""), "tail is missing") {
		t.Fatalf("%+v, %v", cut, err)
	}
}

// Tracks that stand in the file the newest first come out in order of time.
func TestNewestFirst(t *testing.T) {
	text := head + "<trk><trkseg>" + pt("46", "8", "2025-06-14T16:30:00Z") + pt("46.1", "8", "2025-06-14T16:30:01Z") + "</trkseg></trk>" +
		"<trk><trkseg>" + pt("47", "8", "2025-06-14T16:20:00Z") + "</trkseg></trk></gpx>"
	track, err := readText(text, Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := []ingest.Fix{{LatDeg: 47}, {LatDeg: 46, TimeS: 600, Piece: 1}, {LatDeg: 46.1, TimeS: 601, Piece: 1}}
	for i, f := range track.Fixes {
		if f.LatDeg != want[i].LatDeg || f.TimeS != want[i].TimeS || f.Piece != want[i].Piece {
			t.Errorf("fix %d: %+v", i, f)
		}
	}
	if track.Rows.Bad != 0 {
		t.Errorf("%+v", track.Rows)
	}
}

func TestParseTime(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		// RFC 3339 section 5.8
		{"1985-04-12T23:20:50.52Z", "1985-04-12T23:20:50.52Z"},
		{"1996-12-19T16:39:57-08:00", "1996-12-20T00:39:57Z"},
		{"1990-12-31T23:59:60Z", "1991-01-01T00:00:00Z"},
		{"1990-12-31T15:59:60-08:00", "1991-01-01T00:00:00Z"},
		{"1937-01-01T12:00:27.87+00:20", "1937-01-01T11:40:27.87Z"},
		// XML Schema part 2, section 3.2.7: no zone, and 24:00:00
		{"2002-10-10T12:00:00", "2002-10-10T12:00:00Z"},
		{"2002-10-10T24:00:00Z", "2002-10-11T00:00:00Z"},
		{"2025-06-14 16:20:31z", "2025-06-14T16:20:31Z"},
		{"2025-06-14T16:20:31.123456789987+0530", "2025-06-14T10:50:31.123456789Z"},
	} {
		m, ok := parseTime([]byte(c.text))
		if !ok || !m.at.Equal(date(c.want)) {
			t.Errorf("%s: %v %v, want %s", c.text, m.at, ok, c.want)
		}
	}
	for _, text := range []string{"", "2025-06-14", "2025-02-30T00:00:00Z", "2025-13-01T00:00:00Z", "2025-06-14T24:00:01Z", "2025-06-14T16:20:60Z", "2025-06-14T16:20:31.Z",
		"2025-06-14T16:20:31+1", "2025-06-14T16:20:31+15:00", "2025-06-14T16:20:3xZ", "2025-06-14T16:20:31ZZ", "0000-01-01T00:00:00Z"} {
		if m, ok := parseTime([]byte(text)); ok {
			t.Errorf("%q was read as %v", text, m.at)
		}
	}
}

// big is a document of n points as recorders write them.
func big(n int) []byte {
	var b bytes.Buffer
	b.WriteString(`<?xml version="1.0" encoding="UTF-8"?>` + "\n" + head + "\n<trk>\n<trkseg>\n")
	at := date("2025-06-14T08:00:00Z")
	for i := range n {
		a := float64(i) / 500
		fmt.Fprintf(&b, "   <trkpt lat=\"%.7f\" lon=\"%.7f\">\n    <ele>%.1f</ele>\n    <time>%s</time>\n   </trkpt>\n", 46.5+0.01*math.Sin(a), 8.3+0.01*math.Cos(a), 1800+10*math.Sin(3*a),
			at.Add(time.Duration(i)*200*time.Millisecond).Format("2006-01-02T15:04:05.000Z"))
	}
	b.WriteString("</trkseg>\n</trk>\n</gpx>\n")
	return b.Bytes()
}

// A file of 10 MB: to be read in under 1 s.
func BenchmarkRead10MB(b *testing.B) {
	one := len(big(1001)) - len(big(1))
	data := big(10_000_000 * 1000 / one)
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := ReadFrom(bytes.NewReader(data), "run.gpx", Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
