package report

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"os"
	"regexp"
	"strings"
	"testing"

	"stanchion/analyze"
	"stanchion/ingest"
)

func pageOf(t testing.TB, r *analyze.Result, s *analyze.Signals, opt HTMLOptions) string {
	t.Helper()
	var b bytes.Buffer
	if err := HTML(&b, r, s, opt); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestHTMLIsDeterministic(t *testing.T) {
	r, s := usual().run(t)
	if pageOf(t, r, s, HTMLOptions{}) != pageOf(t, r, s, HTMLOptions{}) {
		t.Error("two pages of one run differ")
	}
}

// TestHTMLLoadsNothing looks for anything that a browser would fetch, outside the scripts, whose addresses are names of
// XML namespaces and licences.
func TestHTMLLoadsNothing(t *testing.T) {
	r, s := usual().run(t)
	html := pageOf(t, r, s, HTMLOptions{})
	own := strings.NewReplacer(echartsJS, "").Replace(html)
	if m := regexp.MustCompile(`(?i)(https?:)?//[a-z0-9-]+\.[a-z]+|@import|<(iframe|object|embed)|<(link|img|script)[^>]*(src|href)="[^d]`).FindString(own); m != "" {
		t.Errorf("the page refers to %q", m)
	}
	if !strings.Contains(html, `default-src &#39;none&#39;`) && !strings.Contains(html, `default-src 'none'`) {
		t.Error("the page has no strict policy")
	}
	if strings.Contains(html, "unsafe-eval") || strings.Contains(html, "script-src 'unsafe-inline'") {
		t.Error("the policy lets other scripts run")
	}
	for _, host := range []string{"go-echarts", "jsdelivr", "unpkg"} {
		if strings.Contains(html, host) {
			t.Errorf("the page mentions %s", host)
		}
	}
}

func TestHTMLEscapesNames(t *testing.T) {
	d := usual()
	d.source, d.fork, d.markers[0].Label = nasty, nasty, nasty
	r, s := d.run(t)
	r.Understood, r.Caveats = []string{nasty}, []analyze.Caveat{{Severity: nasty, Text: nasty}}
	r.Travel.MaxMM = analyze.Absent("%s", nasty)
	r.Quality.FirstBadRows = []ingest.BadRow{{Line: 1, Reason: nasty}}
	html := pageOf(t, r, s, HTMLOptions{Title: nasty, Version: nasty})
	if strings.Contains(strings.Replace(html, echartsJS, "", 1), "<img") || strings.Contains(html, `onerror="document`) {
		t.Error("a name reached the page as markup")
	}
	if got, want := strings.Count(html, "</script>"), 4; got != want {
		t.Errorf("%d script ends, want %d", got, want)
	}
	if !strings.Contains(html, "&lt;/script&gt;&lt;img") {
		t.Error("the name is not shown at all")
	}
}

// TestHTMLOfNothing holds that a result without figures gives a page full of reasons and no chart.
func TestHTMLOfNothing(t *testing.T) {
	html := pageOf(t, empty(), nil, HTMLOptions{})
	for _, want := range []string{"Too little could be computed", "not computed", "There is no signal to draw", "No riding to draw"} {
		if !strings.Contains(html, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if body, _, _ := strings.Cut(html, `<script type="application/json"`); strings.Contains(body, "NaN") || strings.Contains(body, "data-chart=") {
		t.Error("the page holds NaN or a chart")
	}
}

func TestHTMLShowsReasonOnTheSpot(t *testing.T) {
	r, s := usual().run(t)
	r.Damping.Zeta = analyze.Absent("no free decay was clean enough")
	html := pageOf(t, r, s, HTMLOptions{})
	i := strings.Index(html, "Damping ratio ζ, median")
	if i < 0 || !strings.Contains(html[i:i+300], absentMark) || !strings.Contains(html[i:i+300], "no free decay was clean enough") {
		t.Error("the absent damping ratio does not show its reason beside it")
	}
}

// TestTableRowsMatchTheirHeads holds that every table has as many cells in a row as heads.
func TestTableRowsMatchTheirHeads(t *testing.T) {
	r, s := usual().run(t)
	p, err := newPage(r, s, HTMLOptions{})
	if err != nil {
		t.Fatal(err)
	}
	tables := append(append([]table{p.Absent}, p.QualityTables...), p.Method...)
	for _, rd := range p.Readings {
		for _, b := range rd.Blocks {
			tables = append(append(tables, b.Tables...), b.Behind...)
		}
	}
	rows := 0
	for _, tb := range tables {
		for _, row := range tb.Rows {
			rows++
			if len(row.Cells) != len(tb.Heads) {
				t.Errorf("%s: %d cells under %d heads", tb.Caption, len(row.Cells), len(tb.Heads))
			}
		}
	}
	if rows < 100 {
		t.Errorf("only %d rows in %d tables", rows, len(tables))
	}
}

// TestHTMLSize bounds the page of ten minutes at 1 kHz.
func TestHTMLSize(t *testing.T) {
	r, s := tenMinutes(t, 1)
	if n := len(pageOf(t, r, s, HTMLOptions{})); n > 3<<20 {
		t.Errorf("%d bytes, want at most 3 MiB", n)
	}
}

// tenMinutes stretches a short run's signals to ten minutes times n, so that no long analysis is needed.
func tenMinutes(t testing.TB, n int) (*analyze.Result, *analyze.Signals) {
	r, s := usual().run(t)
	g := s.Segments[0]
	out := analyze.SignalSegment{}
	for range 5 * n {
		out.TravelMM, out.VelocityMMS = append(out.TravelMM, g.TravelMM...), append(out.VelocityMMS, g.VelocityMMS...)
		out.RMSMMS, out.Riding = append(out.RMSMMS, g.RMSMMS...), append(out.Riding, g.Riding...)
		r.Strokes.List = append(r.Strokes.List, r.Strokes.List...)[:min(2*len(r.Strokes.List), 20000)]
	}
	return r, &analyze.Signals{RateHz: s.RateHz, Segments: []analyze.SignalSegment{out}}
}

// TestVersionsNote holds the note on the embedded script against the script.
func TestVersionsNote(t *testing.T) {
	note, err := os.ReadFile("assets/VERSIONS.md")
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256([]byte(echartsJS))
	if !strings.Contains(string(note), hex.EncodeToString(sum[:])) {
		t.Error("assets/VERSIONS.md has another digest than assets/echarts.min.js")
	}
	if m := regexp.MustCompile(`version="(5\.6\.\d+)"`).FindStringSubmatch(echartsJS); m == nil || !strings.Contains(string(note), m[1]) {
		t.Errorf("the script says version %v, the note does not", m)
	}
	if !strings.HasPrefix(strings.TrimSpace(echartsJS), "/*\n* Licensed to the Apache Software Foundation") {
		t.Error("the script lost its licence")
	}
}

func BenchmarkHTML(b *testing.B) {
	for _, n := range []int{1, 6} {
		b.Run(map[int]string{1: "10min", 6: "60min"}[n], func(b *testing.B) {
			r, s := tenMinutes(b, n)
			b.ReportAllocs()
			for b.Loop() {
				if err := HTML(io.Discard, r, s, HTMLOptions{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkJSON(b *testing.B) {
	r, _ := usual().run(b)
	b.ReportAllocs()
	for b.Loop() {
		if err := JSON(io.Discard, r); err != nil {
			b.Fatal(err)
		}
	}
}
