package csvlog

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"stanchion/ingest"
)

// equalRecordings compares all of two recordings, NaN being equal to NaN.
func equalRecordings(a, b *ingest.Recording) bool {
	if !same(a.Stamps, b.Stamps) || !same(a.Travel, b.Travel) || len(a.Extra) != len(b.Extra) {
		return false
	}
	for i := range a.Extra {
		if a.Extra[i].Name != b.Extra[i].Name || !same(a.Extra[i].Values, b.Extra[i].Values) {
			return false
		}
	}
	x, y := *a, *b
	x.Stamps, x.Travel, x.Extra, y.Stamps, y.Travel, y.Extra = nil, nil, nil, nil, nil, nil
	return reflect.DeepEqual(x, y)
}

// roughLog is a long log with all that a chunk's edge could hurt: quoted fields over several lines, stray quotes, comments, blank
// and bad rows, markers.
func roughLog(rows int) string {
	var b strings.Builder
	b.WriteString("t_us,fork [counts],note,lap\r\n")
	for i := range rows {
		switch i % 97 {
		case 13:
			fmt.Fprintf(&b, "%d,%d,\"two\r\nlines, \"\"quoted\"\"\",0\r\n", i*1000, i)
		case 29:
			b.WriteString("# a comment, with \"one quote\r\n\r\n")
		case 41:
			fmt.Fprintf(&b, "%d,x%d,,0\r\n", i*1000, i)
		case 53:
			fmt.Fprintf(&b, "\"%d\",\"%d\",5\" wide,1\r\n", i*1000, i)
		case 67:
			fmt.Fprintf(&b, " %d , %d.50,,1\r\n", i*1000, i)
		default:
			fmt.Fprintf(&b, "%d,%d,,0\r\n", i*1000, i)
		}
	}
	b.WriteString("999999")
	return b.String()
}

func TestChunksDoNotMatter(t *testing.T) {
	text := roughLog(9000) // well over what is sniffed
	want, err := readString(text, Options{chunkSize: 1 << 24})
	if err != nil {
		t.Fatal(err)
	}
	if want.Rows.Bad != 93+1 || len(want.Markers) < 90 || len(want.Travel) != 9000-93-93 {
		t.Fatalf("%d bad, %d markers, %d samples", want.Rows.Bad, len(want.Markers), len(want.Travel))
	}
	for _, size := range []int{1, 7, 64, 1000, 4096, 65536} {
		got, err := readString(text, Options{chunkSize: size})
		if err != nil {
			t.Fatal(err)
		}
		if !equalRecordings(got, want) {
			t.Errorf("chunks of %d bytes: another result", size)
		}
	}
}

// TestStrayQuote puts a quote that is never closed at the start of a field, with more than maxQuoted bytes behind it.
func TestStrayQuote(t *testing.T) {
	var b strings.Builder
	b.WriteString("t_us,fork [counts]\n")
	for i := range 20000 {
		if i == 6000 || i == 19990 {
			fmt.Fprintf(&b, "%d,\"%d\n", i*1000, i)
			continue
		}
		fmt.Fprintf(&b, "%d,%d\n", i*1000, i)
	}
	for _, size := range []int{50, 5000, 1 << 24} {
		r, err := readString(b.String(), Options{chunkSize: size})
		if err != nil {
			t.Fatal(err)
		}
		want := []ingest.BadRow{{Line: 6002, Reason: "a quote is opened and not closed"}, {Line: 19992, Reason: "a quote is opened and not closed"}}
		if r.Rows.Bad != 2 || len(r.Travel) != 19998 || !slices.Equal(r.Rows.First, want) {
			t.Errorf("chunks of %d: %d samples, %+v", size, len(r.Travel), r.Rows)
		}
	}
}

// TestSplitIsEncodingCSV compares with package encoding/csv, which reads RFC 4180. That package keeps spaces around fields,
// so the fields here have none.
func TestSplitIsEncodingCSV(t *testing.T) {
	field := rapid.OneOf(rapid.StringMatching(`[a-z0-9."]{0,6}`), rapid.StringMatching(`[a-z,;"\n]{1,8}`), rapid.Just(""))
	rapid.Check(t, func(t *rapid.T) {
		comma := rapid.SampledFrom([]rune{',', ';', '\t', '|'}).Draw(t, "delimiter")
		rows := rapid.SliceOfN(rapid.SliceOfN(field, 2, 5), 1, 6).Draw(t, "rows")
		for i := range rows { // a first field that makes no comment and no blank row
			rows[i][0] = "a" + rows[i][0]
		}
		var b bytes.Buffer
		w := csv.NewWriter(&b)
		w.Comma = comma
		w.UseCRLF = rapid.Bool().Draw(t, "CRLF")
		if err := w.WriteAll(rows); err != nil {
			t.Fatal(err)
		}
		r := csv.NewReader(bytes.NewReader(b.Bytes()))
		r.Comma, r.FieldsPerRecord = comma, -1
		want, err := r.ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		d := dialect{delim: byte(comma), decimal: '.', eol: '\n'}
		var got [][]string
		var sp splitter
		for _, rec := range d.records(b.Bytes(), 1, true) {
			fields, problem := sp.split(d, rec.text)
			if problem != "" {
				t.Fatalf("%q: %s", rec.text, problem)
			}
			var row []string
			for _, f := range fields {
				row = append(row, strings.ReplaceAll(string(f), "\r\n", "\n"))
			}
			got = append(got, row)
		}
		for _, row := range want { // line ends at the edges of a field are spaces, which we cut off
			for i := range row {
				row[i] = strings.TrimSpace(row[i])
			}
		}
		if !reflect.DeepEqual(got, want) {
			t.Fatalf("%q:\ngot  %q\nwant %q", b.String(), got, want)
		}
	})
}

// A writing is a way to write a log.
type writing struct {
	delim, decimal, eol, header string
	quoted, padded, mark        bool
}

func drawWriting(t *rapid.T) writing {
	w := writing{
		delim: rapid.SampledFrom([]string{",", ";", "\t", "|", "   "}).Draw(t, "delimiter"), decimal: ".",
		eol:    rapid.SampledFrom([]string{"\n", "\r\n", "\r"}).Draw(t, "end of line"),
		quoted: rapid.Bool().Draw(t, "quoted"), padded: rapid.Bool().Draw(t, "padded"), mark: rapid.Bool().Draw(t, "mark"),
	}
	if w.delim != "," && rapid.Bool().Draw(t, "comma") {
		w.decimal = ","
	}
	w.header = rapid.SampledFrom([]string{"", "# a comment\n", "A logger\nIts number: 5\n\n"}).Draw(t, "preamble")
	return w
}

func (w writing) text(stamps, travel, speed []float64) string {
	var b strings.Builder
	if w.mark {
		b.WriteString("\ufeff")
	}
	b.WriteString(strings.ReplaceAll(w.header, "\n", w.eol))
	b.WriteString(strings.Join([]string{"time_s", "travel_mm", "speed_kmh"}, w.delim) + w.eol)
	for i := range stamps {
		for k, v := range []float64{stamps[i], travel[i], speed[i]} {
			field := strings.Replace(strconv.FormatFloat(v, 'f', -1, 64), ".", w.decimal, 1)
			if w.quoted {
				field = `"` + field + `"`
			}
			if w.padded && w.delim != "\t" {
				field = " " + field + " "
			}
			if k > 0 {
				b.WriteString(w.delim)
			}
			b.WriteString(field)
		}
		b.WriteString(w.eol)
	}
	return b.String()
}

func TestWrittenReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 40).Draw(t, "rows")
		value := rapid.Float64Range(-20, 200)
		values := func(name string) []float64 { return rapid.SliceOfN(value, n, n).Draw(t, name) }
		stamps, travel, speed := values("stamps"), values("travel"), values("speed")
		for i := range stamps { // some decimals, so that the decimal mark is seen, and no two alike
			stamps[i] = float64(i) + 0.5
			travel[i] = math.Floor(travel[i]) + 0.25
		}
		text := drawWriting(t).text(stamps, travel, speed)
		r, err := readString(text, Options{chunkSize: rapid.IntRange(1, 300).Draw(t, "chunk")})
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		if !same(r.Stamps, stamps) || !same(r.Travel, travel) || r.Unit != ingest.UnitMM || len(r.Extra) != 1 || !same(r.Extra[0].Values, speed) || r.Rows.Bad != 0 {
			t.Fatalf("%+v\n%s", r, text)
		}
	})
}
