package ridesim

import (
	"bytes"
	"encoding/xml"
	"errors"
	"math"
	"strings"
	"testing"
	"time"
)

// gpxFile is the part of the GPX 1.1 schema that is written.
type gpxFile struct {
	XMLName xml.Name `xml:"http://www.topografix.com/GPX/1/1 gpx"`
	Version string   `xml:"version,attr"`
	Creator string   `xml:"creator,attr"`
	Tracks  []struct {
		Name     string `xml:"name"`
		Segments []struct {
			Points []struct {
				Lat   float64    `xml:"lat,attr"`
				Lon   float64    `xml:"lon,attr"`
				Inner string     `xml:",innerxml"`
				Time  *time.Time `xml:"time"`
			} `xml:"trkpt"`
		} `xml:"trkseg"`
	} `xml:"trk"`
}

// What is written reads back: every fix, its piece as a segment, its time to the ms, elements in the schema's order.
func TestGPXReadsBack(t *testing.T) {
	r := OpenGround(5)
	r.Dropouts, r.DropoutS = 2, 3
	r.Start = time.Date(2023, 12, 31, 23, 59, 50, 250_000_000, time.UTC)
	want := track(t, r, steady(t, 6, 30))
	want.Source = `a <"run"> & more`
	var b bytes.Buffer
	if err := WriteGPX(&b, want); err != nil {
		t.Fatal(err)
	}
	var got gpxFile
	if err := xml.Unmarshal(b.Bytes(), &got); err != nil {
		t.Fatal(err)
	}
	if got.Version != "1.1" || got.Creator != "stanchion simulator" || len(got.Tracks) != 1 || got.Tracks[0].Name != want.Source {
		t.Fatalf("head: %+v", got)
	}
	i := 0
	for piece, s := range got.Tracks[0].Segments {
		for _, p := range s.Points {
			f := want.Fixes[i]
			at := want.Start.Add(time.Duration(math.Round(f.TimeS*1000)) * time.Millisecond)
			if p.Lat != f.LatDeg || p.Lon != f.LonDeg || f.Piece != piece || !p.Time.Equal(at) {
				t.Fatalf("fix %d: %+v in segment %d, want %+v at %v", i, p, piece, f, at)
			}
			if e, m, x := strings.Index(p.Inner, "<ele>"), strings.Index(p.Inner, "<time>"), strings.Index(p.Inner, "<extensions>"); e != 0 || m <= e || x <= m {
				t.Fatalf("fix %d: elements out of order: %s", i, p.Inner)
			}
			i++
		}
	}
	if i != len(want.Fixes) || len(got.Tracks[0].Segments) != 3 {
		t.Errorf("%d fixes in %d segments, want %d in 3", i, len(got.Tracks[0].Segments), len(want.Fixes))
	}
}

func TestGPXWithoutTimeOrElevation(t *testing.T) {
	r := CleanReceiver(1)
	r.NoEle = true
	tr := track(t, r, steady(t, 6, 3))
	tr.Fixes[1].TimeS, tr.Fixes[2].SpeedMS = math.NaN(), math.NaN()
	var b bytes.Buffer
	if err := WriteGPX(&b, tr); err != nil {
		t.Fatal(err)
	}
	if s := b.String(); strings.Contains(s, "<ele>") || strings.Count(s, "<time>") != 3 || strings.Count(s, "</extensions>") != 3 || strings.Contains(s, "NaN") {
		t.Errorf("written:\n%s", s)
	}
	tr.Fixes = nil
	b.Reset()
	if err := WriteGPX(&b, tr); err != nil || xml.Unmarshal(b.Bytes(), new(gpxFile)) != nil {
		t.Errorf("an empty track is not well-formed: %v\n%s", err, b.String())
	}
}

type fullWriter struct{}

var errFull = errors.New("full")

func (fullWriter) Write([]byte) (int, error) { return 0, errFull }

func TestGPXReportsWriteErrors(t *testing.T) {
	if err := WriteGPX(fullWriter{}, track(t, CleanReceiver(5), steady(t, 6, 30))); !errors.Is(err, errFull) {
		t.Errorf("a full disk gives %v", err)
	}
}
