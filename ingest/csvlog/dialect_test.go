package csvlog

import (
	"bytes"
	"compress/gzip"
	"context"
	"math"
	"slices"
	"strings"
	"testing"
	"unicode/utf16"

	"stanchion/ingest"
)

// A want is what a log must be read as.
type want struct {
	stamps     []float64
	travel     []float64
	unit       ingest.Unit
	kind       ingest.ClockKind
	tick       float64
	understood []string // each must be one of Recording.Understood
	cautions   int
	bad        int
}

var nan = math.NaN()

// same compares bit by bit, all NaN being equal.
func same(a, b []float64) bool {
	return slices.EqualFunc(a, b, func(x, y float64) bool {
		return math.Float64bits(x) == math.Float64bits(y) || x != x && y != y
	})
}

func readString(text string, o Options) (*ingest.Recording, error) {
	return ReadFrom(context.Background(), strings.NewReader(text), "log.csv", o)
}

func (w want) check(t *testing.T, text string, o Options) *ingest.Recording {
	t.Helper()
	r, err := readString(text, o)
	if err != nil {
		t.Fatal(err)
	}
	if !same(r.Stamps, w.stamps) {
		t.Errorf("stamps %v, want %v", r.Stamps, w.stamps)
	}
	if !same(r.Travel, w.travel) {
		t.Errorf("travel %v, want %v", r.Travel, w.travel)
	}
	if r.Unit != w.unit {
		t.Errorf("unit %q, want %q", r.Unit, w.unit)
	}
	if r.Clock.Kind != w.kind || r.Clock.TickS != w.tick {
		t.Errorf("clock %+v, want %s with tick %g", r.Clock, w.kind, w.tick)
	}
	for _, u := range w.understood {
		if !slices.Contains(r.Understood, u) {
			t.Errorf("%q is missing from what was understood: %q", u, r.Understood)
		}
	}
	if len(r.Cautions) != w.cautions {
		t.Errorf("cautions %q, want %d", r.Cautions, w.cautions)
	}
	if r.Rows.Bad != w.bad {
		t.Errorf("%d bad rows %v, want %d", r.Rows.Bad, r.Rows.First, w.bad)
	}
	return r
}

func TestDialects(t *testing.T) {
	counter := want{stamps: []float64{0, 1000, 2000, 3000}, travel: []float64{310, 311, 402, 1500}, unit: ingest.UnitCounts, kind: ingest.ClockCounter, tick: 1e-6}
	seconds := want{stamps: []float64{0, 0.001, 0.002, 0.003}, travel: []float64{0, 1.5, 2.25, 120}, unit: ingest.UnitMM, kind: ingest.ClockElapsed, tick: 1}
	with := func(w want, understood ...string) want {
		w.understood = understood
		return w
	}
	cautious := func(w want, n int) want {
		w.cautions = n
		return w
	}
	cases := []struct {
		name, text string
		o          Options
		want       want
	}{
		{name: "plain", text: "t_us,fork [counts]\n0,310\n1000,311\n2000,402\n3000,1500\n",
			want: with(counter, "delimiter: ,", "header: line 1", `time: column 1 "t_us", µs counter`, `travel: column 2 "fork [counts]", counts`)},
		{name: "semicolon and decimal comma", text: "time (s);travel (mm)\n0,000;0,00\n0,001;1,50\n0,002;2,25\n0,003;120,00\n",
			want: with(seconds, "delimiter: ;, decimal comma", `time: column 1 "time (s)", s`)},
		{name: "tab and decimal comma", text: "time [s]\ttravel [mm]\n0,000\t0\n0,001\t1,5\n0,002\t2,25\n0,003\t120\n",
			want: with(seconds, "delimiter: tab, decimal comma")},
		{name: "quoted decimal comma between commas", text: "time [s],travel [mm]\n\"0,000\",\"0,0\"\n\"0,001\",\"1,5\"\n\"0,002\",\"2,25\"\n\"0,003\",\"120,0\"\n",
			want: with(seconds, "delimiter: ,, decimal comma")},
		{name: "bars with frames", text: "| time_s | travel_mm |\n|--------|-----------|\n| 0.000 | 0.00 |\n| 0.001 | 1.50 |\n| 0.002 | 2.25 |\n| 0.003 | 120.0 |\n",
			want: with(seconds, "delimiter: |", `travel: column 3 "travel_mm", mm`)},
		{name: "runs of spaces", text: "  time_us   counts\n     0   310\n  1000   311\n  2000   402\n  3000  1500\n",
			want: with(counter, "delimiter: space")},
		{name: "spaces, no header", text: "0.000   0.00\n0.001   1.50\n0.002   2.25\n0.003 120.00\n", o: Options{TimeUnit: "s"},
			want: cautious(seconds, 2)},
		{name: "CRLF and BOM", text: "\ufefft_us,fork [counts]\r\n0,310\r\n1000,311\r\n2000,402\r\n3000,1500\r\n",
			want: with(counter, "encoding: UTF-8 with byte-order mark")},
		{name: "CR only", text: "t_us,fork [counts]\r0,310\r1000,311\r2000,402\r3000,1500\r", want: counter},
		{name: "no end of the last line", text: "t_us,fork [counts]\n0,310\n1000,311\n2000,402\n3000,1500", want: counter},
		{name: "blank lines", text: "\n\nt_us,fork [counts]\n\n0,310\n1000,311\n\n  \n2000,402\n3000,1500\n\n", want: with(counter, "header: line 3")},
		{name: "comments of all kinds", text: "# device 12\n// firmware 3\n% a note\n; old style\nt_us,fork [counts]\n0,310\n# lap 1, 2\n1000,311\n2000,402\n; end, of run\n3000,1500\n",
			want: with(counter, "header: line 5")},
		{name: "preamble", text: "Logger,A\nFirmware 1.2\nStarted: 2026-05-03 10:00:00, rate 1000\n\nt_us,fork [counts]\n0,310\n1000,311\n2000,402\n3000,1500\n",
			want: with(counter, "header: line 5")},
		{name: "header in a comment", text: "# t_us fork_counts\n0 310\n1000 311\n2000 402\n3000 1500\n", want: with(counter, "header: line 1", `travel: column 2 "fork_counts", counts`)},
		{name: "comment between header and data", text: "Start time,5 pm\nt_us,fork [counts]\n# a note, on travel\n0,310\n1000,311\n2000,402\n3000,1500\n", want: with(counter, "header: line 2")},
		{name: "header in a comment below a preamble", text: "Start time: 10 h\n# t_us,fork [counts]\n0,310\n1000,311\n2000,402\n3000,1500\n", want: with(counter, "header: line 2")},
		{name: "line of units", text: "Time,Fork\n[us],[counts]\n0,310\n1000,311\n2000,402\n3000,1500\n", want: with(counter, "header: line 1, units in the line after")},
		{name: "line of bare units", text: "Time;Fork;Note\nus;counts;\n0;310;a\n1000;311;\n2000;402;\n3000;1500;b\n", want: with(counter, "header: line 1, units in the line after", `markers: column 3 "Note", 2 found`)},
		{name: "unit behind a comma", text: "\"Time, us\",\"Fork, counts\"\n0,310\n1000,311\n2000,402\n3000,1500\n", want: counter},
		{name: "unit behind a slash", text: "time/us,fork/counts\n0,310\n1000,311\n2000,402\n3000,1500\n", want: counter},
		{name: "micro sign in an old encoding", text: "time (\xb5s);fork (counts)\n0;310\n1000;311\n2000;402\n3000;1500\n", want: with(counter, `time: column 1 "time (µs)", µs counter`)},
		{name: "counter named by its unit", text: "micros,adc\n0,310\n1000,311\n2000,402\n3000,1500\n", want: counter},
		{name: "units in the cells", text: "time,travel\n0 us,310 counts\n1000 us,311 counts\n2000 us,402 counts\n3000 us,1500 counts\n", want: counter},
		{name: "guessed units", text: "time,travel\n0,310\n1000,311\n2000,402\n3000,1500\n",
			want: cautious(with(counter, `time: column 1 "time", µs counter (a guess)`), 2)},
		{name: "no header", text: "0,310\n1000,311\n2000,402\n3000,1500\n", want: cautious(with(counter, "header: none"), 3)},
		{name: "columns by number", text: "310,0,7\n311,1000,9\n402,2000,2\n1500,3000,1\n",
			o: Options{TimeColumn: "2", TravelColumn: "1", TimeUnit: "us", TravelUnit: "counts"}, want: with(counter, "kept: column 3")},
		{name: "columns by name", text: "a,b,c [counts]\n7,0,310\n7,1000,311\n7,2000,402\n7,3000,1500\n", o: Options{TimeColumn: "B", TravelColumn: "c", TimeUnit: "µs"}, want: counter},
		{name: "rows with a last delimiter", text: "t_us,fork [counts]\n0,310,\n1000,311,\n2000,402,\n3000,1500,\n", want: counter},
		{name: "spaces around fields", text: "t_us , fork [counts]\n 0 , 310 \n 1000 , 311\n 2000,402 \n3000 ,1500\n", want: counter},
		{name: "exponents", text: "time [s],travel [mm]\n0e0,0\n1e-3,1.5E0\n2.0e-3,225e-2\n+3e-03,+1.2e2\n", want: seconds},
		{name: "given header line", text: "a,b\n1,2\nx,y\n0,310\n1000,311\n2000,402\n3000,1500\n",
			o:    Options{HeaderLine: 3, TimeColumn: "x", TravelColumn: "y", TimeUnit: "us", TravelUnit: "counts"},
			want: with(counter, "header: line 3")},
		{name: "lines to skip", text: "1,2\n3,4\n0,310\n1000,311\n2000,402\n3000,1500\n", o: Options{SkipLines: 2, NoHeader: true, TimeColumn: "1", TimeUnit: "us", TravelUnit: "counts"}, want: counter},
		{name: "millivolts", text: "t_us,fork [mV]\n0,310\n1000,500\n2000,402\n3000,1500\n",
			want: want{stamps: counter.stamps, travel: []float64{310 * 1e-3, 0.5, 402 * 1e-3, 1.5}, unit: ingest.UnitVolts, kind: ingest.ClockCounter, tick: 1e-6}},
		{name: "percent", text: "t_us,fork travel [%]\n0,3.5\n1000,50\n2000,40\n3000,15\n",
			want: want{stamps: counter.stamps, travel: []float64{3.5, 50, 40, 15}, unit: ingest.UnitPercent, kind: ingest.ClockCounter, tick: 1e-6}},
		{name: "names in another language", text: "sep=;\nZeit [ms];Federweg [mm];Rundenzeit [s]\n0;0,0;1\n1;1,5;1\n2;2,25;1\n3;120,0;1\n",
			want: want{stamps: []float64{0, 1, 2, 3}, travel: seconds.travel, unit: ingest.UnitMM, kind: ingest.ClockCounter, tick: 1e-3, understood: []string{"header: line 2", "kept: Rundenzeit [s]"}}},
		{name: "several times", text: "lap time [s],gps time [s],time [us],fork [counts]\n1,1,0,310\n1,2,1000,311\n1,3,2000,402\n1,4,3000,1500\n",
			want: with(counter, "kept: lap time [s], gps time [s]")},
		{name: "epoch", text: "timestamp,travel_mm\n1700000000.000,0\n1700000000.001,1.5\n1700000000.002,2.25\n1700000000.003,120\n",
			want: want{stamps: []float64{1700000000, 1700000000.001, 1700000000.002, 1700000000.003}, travel: seconds.travel, unit: ingest.UnitMM, kind: ingest.ClockElapsed, tick: 1,
				understood: []string{`time: column 1 "timestamp", s (a guess), since 1970`}, cautions: 1}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) { c.want.check(t, c.text, c.o) })
	}
}

func TestCounters(t *testing.T) {
	w := want{stamps: []float64{65000, 65500, 464, 964}, travel: []float64{1, 2, 3, 500}, unit: ingest.UnitCounts, kind: ingest.ClockCounter, tick: 1e-6,
		understood: []string{`time: column 1 "t_us", µs counter, wraps at 16 bits`}}
	w.check(t, "t_us,adc\n65000,1\n65500,2\n464,3\n964,500\n", Options{})
	w.stamps = []float64{4294966000, 4294967000, 704, 1704}
	w.understood = []string{`time: column 1 "t_us", µs counter, wraps at 32 bits`}
	w.check(t, "t_us,adc\n4294966000,1\n4294967000,2\n704,3\n1704,500\n", Options{})
	w = want{stamps: []float64{10, 11, 13}, travel: []float64{1, 2, 3}, unit: ingest.UnitCounts, kind: ingest.ClockCounter, tick: 1. / 500,
		understood: []string{`time: column 1 "sample", sample numbers at the given 500 Hz`}}
	w.check(t, "sample,adc\n10,1\n11,2\n13,3\n", Options{RateHz: 500})
	w = want{stamps: []float64{0, 33, 66}, travel: []float64{1, 2, 3}, unit: ingest.UnitCounts, kind: ingest.ClockCounter, tick: 1. / 32768,
		understood: []string{`time: column 1 "ticks", 3.05176e-05 s each counter`}}
	w.check(t, "ticks,adc\n0,1\n33,2\n66,3\n", Options{TickS: 1. / 32768})
}

func TestWallTime(t *testing.T) {
	w := want{stamps: []float64{0, 0.5, 1, 1.5}, travel: []float64{1, 2, 3, 4}, unit: ingest.UnitMM, kind: ingest.ClockWall, tick: 1}
	r := w.check(t, "when,travel_mm\n2026-05-03T10:00:00.000Z,1\n2026-05-03t10:00:00.5z,2\n2026-05-03T12:00:01+02:00,3\n2026-05-03T10:00:01.500Z,4\n", Options{})
	if got := r.Clock.Start.Format("2006-01-02T15:04:05.000Z07:00"); got != "2026-05-03T10:00:00.000Z" {
		t.Errorf("start %s", got)
	}
	w.understood = []string{`time: column 1 "Time", clock time, past midnight`}
	w.check(t, "Time;travel_mm\n23:59:59,0;1\n23:59:59,5;2\n00:00:00,0;3\n00:00:00,5;4\n", Options{})
	w.understood = []string{`time: column 1 "Time", date and time, across a leap second`}
	w.stamps = []float64{0, 0.5, 1, 2}
	w.check(t, "Time;travel_mm\n2016-12-31T23:59:59.5Z;1\n2016-12-31T23:59:60Z;2\n2016-12-31T23:59:60.5Z;3\n2017-01-01T00:00:00.5Z;4\n", Options{})
	w.understood = nil
	w.stamps = []float64{0, 0.001, 0.002, -0.001}
	w.check(t, "Time;travel_mm\n23:59:59,999;1\n00:00:00,000;2\n00:00:00,001;3\n23:59:59,998;4\n", Options{})
	w.cautions = 1 // no zone
	w.stamps = []float64{0, 0.001, 0.002, 0.003}
	w.check(t, "Date,travel_mm\n2026-05-03 10:00:00.000,1\n2026-05-03 10:00:00.001,2\n2026-05-03 10:00:00.002,3\n2026-05-03 10:00:00.003,4\n", Options{})
}

func TestNoStamps(t *testing.T) {
	w := want{travel: []float64{1.5, nan, 3.5, nan, 5.5, 6.5}, unit: ingest.UnitMM, kind: ingest.ClockNone, bad: 2, understood: []string{
		"time: no stamps, 500 Hz as given", "rows: 6, of those 2 without a reading"}}
	r := w.check(t, "travel_mm\n1.5\nNaN\n3.5\nabc\n5.5\n6.5\n", Options{RateHz: 500, MaxBadShare: 0.5})
	if r.Clock.RateHz != 500 {
		t.Errorf("rate %g", r.Clock.RateHz)
	}
	w.travel, w.bad, w.understood = []float64{1.5, 2.5, 3}, 0, []string{"time: no stamps, 100 Hz as given", "kept: t"}
	w.check(t, "t,travel_mm\n1,1.5\n2,2.5\n3,3\n", Options{RateHz: 100, TimeColumn: "none"})
}

func TestExtrasAndMarkers(t *testing.T) {
	text := "t_us;fork [counts];rear [counts];speed [km/h];lap;name;empty\n" +
		"0;310;5;;0;x;\n1000;311;6;20.5;1;y;\n2000;402;;21;1;z;\n3000;x;8;22;2;z;\n4000;500;9;nan;2;z;\n5000;501;9;23;0;z;\n6000;502;9;24;0.0;z;\n7000;502;9;25;3;z;\n"
	r, err := readString(text, Options{MaxBadShare: 0.2})
	if err != nil {
		t.Fatal(err)
	}
	if !same(r.Travel, []float64{310, 311, 402, 500, 501, 502, 502}) {
		t.Errorf("travel %v", r.Travel)
	}
	if len(r.Extra) != 2 || r.Extra[0].Name != "rear" || r.Extra[0].Unit != "counts" || r.Extra[1].Name != "speed" || r.Extra[1].Unit != "km/h" {
		t.Fatalf("extra %+v", r.Extra)
	}
	if !same(r.Extra[0].Values, []float64{5, 6, nan, 9, 9, 9, 9}) || !same(r.Extra[1].Values, []float64{nan, 20.5, 21, nan, 23, 24, 25}) {
		t.Errorf("extra %+v", r.Extra)
	}
	// The mark on the bad row is kept at the next good one.
	if !slices.Equal(r.Markers, []ingest.Marker{{Sample: 1, Label: "lap"}, {Sample: 3, Label: "2"}, {Sample: 6, Label: "3"}}) {
		t.Errorf("markers %+v", r.Markers)
	}
	for _, u := range []string{"kept: rear [counts], speed [km/h]", `left out: column 6 "name", text`, `left out: column 7 "empty", no numbers`} {
		if !slices.Contains(r.Understood, u) {
			t.Errorf("%q missing from %q", u, r.Understood)
		}
	}
	if want := []ingest.BadRow{{Line: 5, Reason: `travel "x" is not a number`}}; !slices.Equal(r.Rows.First, want) {
		t.Errorf("bad rows %+v", r.Rows.First)
	}
	r, err = readString(text, Options{MaxBadShare: 0.2, NoExtra: true, MarkerColumn: "name", TravelColumn: "rear"})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Extra) != 0 || len(r.Markers) != 3 || r.Markers[2].Label != "z" {
		t.Errorf("extra %+v, markers %+v", r.Extra, r.Markers)
	}
}

func zipped(t *testing.T, text string) string {
	t.Helper()
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	z.Write([]byte(text))
	z.Close()
	return b.String()
}

func encode16(text string, big, mark bool) string {
	var b []byte
	if mark {
		text = "\ufeff" + text
	}
	for _, u := range utf16.Encode([]rune(text)) {
		if big {
			b = append(b, byte(u>>8), byte(u))
		} else {
			b = append(b, byte(u), byte(u>>8))
		}
	}
	return string(b)
}

func TestWrappings(t *testing.T) {
	text := "time [µs],fork [counts],note 𝄞\n0,310,\n1000,311,\n2000,402,𝄞\n3000,1500,\n"
	w := want{stamps: []float64{0, 1000, 2000, 3000}, travel: []float64{310, 311, 402, 1500}, unit: ingest.UnitCounts, kind: ingest.ClockCounter, tick: 1e-6}
	half := len("time [µs],fork [counts],note 𝄞\n0,310,\n10")
	long := text
	for i := range 5000 {
		long += number(float64(4000+i)) + ",5,\n"
	}
	for name, wrapped := range map[string]string{
		"gzip": zipped(t, text), "gzip of two members": zipped(t, text[:half]) + zipped(t, text[half:]),
		"UTF-16 LE": encode16(text, false, true), "UTF-16 BE": encode16(text, true, true),
		"UTF-16 LE without mark": encode16(text, false, false), "UTF-16 BE without mark": encode16(text, true, false),
		"UTF-16 in gzip": zipped(t, encode16(text, true, true)),
	} {
		t.Run(name, func(t *testing.T) {
			r := w.check(t, wrapped, Options{})
			if !slices.Equal(r.Markers, []ingest.Marker{{Sample: 2, Label: "𝄞"}}) {
				t.Errorf("markers %+v", r.Markers)
			}
		})
	}
	t.Run("gzip cut short", func(t *testing.T) {
		z := zipped(t, long)
		r, err := readString(z[:len(z)-2000], Options{})
		if err != nil {
			t.Fatal(err)
		}
		if len(r.Travel) < 100 || len(r.Cautions) != 1 || !strings.Contains(r.Cautions[0], "ends early") {
			t.Errorf("%d rows, cautions %q", len(r.Travel), r.Cautions)
		}
	})
	t.Run("gzip damaged", func(t *testing.T) {
		z := []byte(zipped(t, text))
		z[len(z)-6] ^= 1 // in the checksum
		if _, err := readString(string(z), Options{}); err == nil {
			t.Error("no error")
		}
	})
}
