package gpx

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"stanchion/ingest"
)

func read(t *testing.T, path string) *ingest.Track {
	t.Helper()
	track, err := Read(path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return track
}

func date(s string) time.Time {
	t, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		panic(err)
	}
	return t
}

// What each file of the corpus must give. Times are s from start.
func TestCorpus(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		file    string
		start   string
		times   []float64
		pieces  []int
		ele     []float64
		speed   []float64
		caution string // part of one that must be there; none may be where it is ""
	}{
		{file: "valid/plain.gpx", start: "2025-06-14T16:20:31Z", times: []float64{0, 1, 2}, ele: []float64{1810.2, 1809.6, 1809}},
		{file: "valid/fractions_5hz.gpx", start: "2025-06-14T16:20:31.2Z", times: []float64{0, .2, .4, .6, .8}},
		{file: "valid/segments_zones.gpx", start: "2025-06-14T16:20:31Z", times: []float64{0, 1, 9, 10, 29}, pieces: []int{0, 0, 1, 1, 2}, caution: "2 tracks"},
		{file: "valid/missing_times.gpx", start: "2025-06-14T16:20:31Z", times: []float64{0, nan, 2}, ele: []float64{1810, nan, nan}, caution: "1 of 3 points have no time"},
		{file: "valid/no_times.gpx", times: []float64{nan, nan}, caution: "no point has a time"},
		{file: "valid/no_zone.gpx", start: "2025-06-14T18:20:31.5Z", times: []float64{0, 1}, caution: "name no zone"},
		{file: "valid/extensions.gpx", start: "2025-06-14T16:20:31Z", times: []float64{0, 1}, ele: []float64{1810, 1809}, speed: []float64{4.25, 4.5}},
		{file: "valid/prefixed.gpx", start: "2025-06-14T16:20:31Z", times: []float64{0, 1}},
		// 23:59:60.5 is counted as 00:00:00.5 of the next day.
		{file: "valid/south_east.gpx", start: "2016-12-31T23:59:59Z", times: []float64{0, 1.5, 2}, ele: []float64{-3.5, -3, -2.5}, caution: "leap second"},
		{file: "valid/antimeridian.gpx", start: "2025-06-14T16:20:31Z", times: []float64{0, 1, 2}},
		{file: "version_1_0.gpx", start: "2025-06-14T16:20:31Z", times: []float64{0, 1}, ele: []float64{1810, 1809}, speed: []float64{4.1, 4.3}},
	} {
		t.Run(c.file, func(t *testing.T) {
			track := read(t, filepath.Join("testdata", c.file))
			if c.start == "" != track.Start.IsZero() || c.start != "" && !track.Start.Equal(date(c.start)) {
				t.Errorf("starts at %v, want %s", track.Start, c.start)
			}
			if len(track.Fixes) != len(c.times) {
				t.Fatalf("%d fixes, want %d", len(track.Fixes), len(c.times))
			}
			if track.Rows.Data != len(c.times) || track.Rows.Bad != 0 {
				t.Errorf("rows %+v", track.Rows)
			}
			at := func(v []float64, i int) float64 {
				if v == nil {
					return nan
				}
				return v[i]
			}
			for i, f := range track.Fixes {
				if !near(f.TimeS, c.times[i], 1e-6) {
					t.Errorf("fix %d at %v s, want %v", i, f.TimeS, c.times[i])
				}
				if c.ele != nil && !near(f.EleM, c.ele[i], 0) {
					t.Errorf("fix %d at %v m, want %v", i, f.EleM, c.ele[i])
				}
				if !near(f.SpeedMS, at(c.speed, i), 0) {
					t.Errorf("fix %d at %v m/s, want %v", i, f.SpeedMS, at(c.speed, i))
				}
				if c.pieces != nil && f.Piece != c.pieces[i] || c.pieces == nil && f.Piece != 0 {
					t.Errorf("fix %d is in piece %d", i, f.Piece)
				}
			}
			all := strings.Join(track.Cautions, "\n")
			if c.caution == "" && all != "" || !strings.Contains(all, c.caution) {
				t.Errorf("cautions %q, want %q", all, c.caution)
			}
		})
	}
}

// near takes two NaN as equal.
func near(a, b, tolerance float64) bool {
	return math.IsNaN(a) && math.IsNaN(b) || math.Abs(a-b) <= tolerance
}

// Positions are read as they are written, on all sides of the equator and of the meridians.
func TestPositions(t *testing.T) {
	for file, want := range map[string][2]float64{
		"valid/plain.gpx": {46.5, 8.3}, "valid/south_east.gpx": {-41.27, 173.28}, "valid/antimeridian.gpx": {-16.8, 179.9999},
	} {
		f := read(t, filepath.Join("testdata", file)).Fixes[0]
		if f.LatDeg != want[0] || f.LonDeg != want[1] {
			t.Errorf("%s: %v, %v, want %v", file, f.LatDeg, f.LonDeg, want)
		}
	}
	last := read(t, "testdata/valid/antimeridian.gpx").Fixes[2]
	if last.LonDeg != -179.99998 {
		t.Errorf("behind the antimeridian: %v", last.LonDeg)
	}
}

// schema is the order of children of the elements of the GPX 1.1 schema that the corpus uses (xsd:sequence throughout), and the
// attributes that must be there. From the schema's published documentation.
func schema() map[string]struct{ children, required []string } {
	point := []string{"ele", "time", "magvar", "geoidheight", "name", "cmt", "desc", "src", "link", "sym", "type", "fix", "sat", "hdop", "vdop", "pdop",
		"ageofdgpsdata", "dgpsid", "extensions"}
	place := []string{"lat", "lon"}
	return map[string]struct{ children, required []string }{
		"gpx":      {[]string{"metadata", "wpt", "rte", "trk", "extensions"}, []string{"version", "creator"}},
		"metadata": {[]string{"name", "desc", "author", "copyright", "link", "time", "keywords", "bounds", "extensions"}, nil},
		"rte":      {[]string{"name", "cmt", "desc", "src", "link", "number", "type", "extensions", "rtept"}, nil},
		"trk":      {[]string{"name", "cmt", "desc", "src", "link", "number", "type", "extensions", "trkseg"}, nil},
		"trkseg":   {[]string{"trkpt", "extensions"}, nil},
		"trkpt":    {point, place},
		"wpt":      {point, place},
		"rtept":    {point, place},
		"bounds":   {nil, []string{"minlat", "minlon", "maxlat", "maxlon"}},
	}
}

// The corpus itself keeps to the order of elements and the required attributes of GPX 1.1.
func TestCorpusFollowsTheSchema(t *testing.T) {
	files, _ := filepath.Glob("testdata/valid/*.gpx")
	if len(files) < 10 {
		t.Fatalf("only %d files", len(files))
	}
	for _, path := range files {
		f, err := os.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		if why := breach(f); why != "" {
			t.Errorf("%s: %s", path, why)
		}
		f.Close()
	}
	wrong := `<gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1" creator="c"><trk><trkseg><trkpt lat="1" lon="2"><time/><ele/></trkpt></trkseg></trk></gpx>`
	if breach(strings.NewReader(wrong)) == "" {
		t.Error("the check does not notice elements in the wrong order")
	}
}

// breach says where a document leaves the schema, "" where it does not.
func breach(r io.Reader) string {
	const space = "http://www.topografix.com/GPX/1/1"
	dec := xml.NewDecoder(r)
	type level struct {
		name string
		at   int // in the list of its children
		free bool
	}
	var open []level
	table := schema()
	for {
		token, err := dec.Token()
		if errors.Is(err, io.EOF) {
			return ""
		}
		if err != nil {
			return err.Error()
		}
		switch e := token.(type) {
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.StartElement:
			free := len(open) > 0 && open[len(open)-1].free
			if !free {
				if e.Name.Space != space {
					return "foreign element " + e.Name.Local
				}
				if len(open) > 0 {
					up := &open[len(open)-1]
					k := slices.Index(table[up.name].children, e.Name.Local)
					if k < up.at {
						return e.Name.Local + " is out of order in " + up.name
					}
					up.at = k
				} else if e.Name.Local != "gpx" {
					return "root " + e.Name.Local
				}
				for _, need := range table[e.Name.Local].required {
					if !slices.ContainsFunc(e.Attr, func(a xml.Attr) bool { return a.Name.Local == need }) {
						return e.Name.Local + " without " + need
					}
				}
			}
			open = append(open, level{name: e.Name.Local, free: free || e.Name.Local == "extensions"})
		}
	}
}
