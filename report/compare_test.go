package report

import (
	"io"
	"math"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"stanchion/analyze"
	"stanchion/analyze/compare"
)

func TestComparisonSaysWhatDiffers(t *testing.T) {
	c, s := compared(t, 3, nil)
	v := judgeComparison(c, s)
	if !strings.Contains(v.Line, "rebounds slower") || !strings.Contains(v.Line, "95\u00a0% interval −") {
		t.Errorf("the verdict does not name the slower rebound with its interval: %s", v.Line)
	}
	if len(v.Poor) != 0 {
		t.Errorf("alternated runs that differ in rebound alone give warnings: %v", v.Poor)
	}
	if strings.Contains(v.Line, "within-run") {
		t.Errorf("three runs a side are called within-run only: %s", v.Line)
	}
	can, cannot := strings.Join(canSay(c, s), "\n"), strings.Join(cannotSay(c), "\n")
	if !strings.Contains(can, "B rebounds slower: rebound speed, 95 % quantile from ") || !strings.Contains(cannot, "Which setting is better") {
		t.Errorf("can: %s\ncannot: %s", can, cannot)
	}
}

func TestComparisonOfNothingDifferent(t *testing.T) {
	var runs []compare.Run
	for _, name := range []string{"s1", "s8", "s4", "s10"} { // 5, 5, 3 and 3 clicks
		runs = append(runs, ridden()[name])
	}
	c, err := compare.Compare([]compare.Run{runs[0], runs[2]}, []compare.Run{runs[1], runs[3]}, compare.DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	if v := judgeComparison(c, Sets{}); !strings.HasPrefix(v.Line, "No clear difference between A and B") {
		t.Errorf("sets of the same mixture: %s", v.Line)
	}
	if cannot := strings.Join(cannotSay(c), "\n"); !strings.Contains(cannot, "That A and B are the same in ") {
		t.Errorf("no clear difference is passed off as none: %s", cannot)
	}
}

func TestOneRunASideIsCalledSo(t *testing.T) {
	c, s := compared(t, 1, nil)
	html, text := comparisonPage(t, c, s), written(t, func(b *strings.Builder) error { return CompareText(b, c, s, TextOptions{}) })
	for name, got := range map[string]string{"page": html, "text": text} {
		plain := strings.Join(strings.Fields(got), " ")
		if !strings.Contains(plain, "In these two runs B") || !strings.Contains(plain, "within-run only") {
			t.Errorf("%s: one run a side is not called within-run only", name)
		}
		if !strings.Contains(plain, compare.SameSettingPairs()) {
			t.Errorf("%s: how often two runs of one setting are called different is not said", name)
		}
	}
	if !strings.Contains(html, "Whether the next runs would show the same") || !strings.Contains(html, "no section can be judged") {
		t.Error("the page does not say what one run a side leaves open")
	}
	if strings.Contains(html, "In run-to-run spreads") {
		t.Error("the page draws run-to-run spreads of single runs")
	}
}

func TestConfoundersComeFirst(t *testing.T) {
	c, s := compared(t, 3, func(a, b []compare.Run) {
		for i := range a {
			a[i].Order, b[i].Order = i+1, i+4
			a[i].Settings = map[string]string{"rebound": "9", "temperature_c": "8", "rider": "one"}
			b[i].Settings = map[string]string{"rebound": "6", "temperature_c": "24", "rider": "two"}
		}
	})
	html := comparisonPage(t, c, s)
	verdict := html[strings.Index(html, "<main>"):strings.Index(html, `<section id="can"`)]
	for _, want := range []string{"Read with care", "Temperature (°C) differs too", "Rider differs too", "not alternated"} {
		if !strings.Contains(verdict, want) {
			t.Errorf("the head of the page does not say %q", want)
		}
	}
	if !strings.Contains(html, "That it was the setting alone") {
		t.Error("the page does not say that the setting may not be the cause")
	}
	if !strings.Contains(html, "<th scope=\"col\">Temperature (°C)</th>") {
		t.Error("the table of runs does not show what was noted")
	}
}

func TestPagesAreDeterministicAndLoadNothing(t *testing.T) {
	c, s := compared(t, 2, nil)
	r := swept(t, "rebound", compare.Rebound)
	for name, write := range map[string]func() string{
		"compare": func() string { return comparisonPage(t, c, s) }, "sweep": func() string { return sweepsPage(t, r) },
	} {
		html := write()
		if html != write() {
			t.Errorf("%s: two pages of one result differ", name)
		}
		own := strings.ReplaceAll(html, echartsJS, "")
		if m := regexp.MustCompile(`(?i)(https?:)?//[a-z0-9-]+\.[a-z]+|@import|<(iframe|object|embed)|<(link|img|script)[^>]*(src|href)="[^d]`).FindString(own); m != "" {
			t.Errorf("%s: the page refers to %q", name, m)
		}
		if n := strings.Count(html, "</script>"); n != 3 {
			t.Errorf("%s: %d script ends, want 3", name, n)
		}
		if body, _, _ := strings.Cut(html, `<script type="application/json"`); strings.Contains(body, "NaN") || strings.Contains(body, "%!") || strings.Contains(body, "Inf") {
			t.Errorf("%s: the page holds what is not a number", name)
		}
	}
}

func TestPagesEscapeNames(t *testing.T) {
	c, s := compared(t, 2, func(a, b []compare.Run) {
		a[0].Name = nasty
		b[0].Settings = map[string]string{nasty: nasty}
	})
	s.NameA, s.NameB = nasty, nasty
	r := swept(t, nasty, compare.Rebound)
	r.Adjuster.Unit = nasty
	for name, html := range map[string]string{"compare": comparisonPage(t, c, s), "sweep": sweepsPage(t, r)} {
		if strings.Contains(strings.Replace(html, echartsJS, "", 1), "<img") || strings.Count(html, "</script>") != 3 {
			t.Errorf("%s: a name reached the page as markup", name)
		}
		if !strings.Contains(html, "&lt;/script&gt;&lt;img") {
			t.Errorf("%s: the name is not shown at all", name)
		}
	}
}

func TestRepeatedNotesAreSaidOnce(t *testing.T) {
	rows := []row{texts("a", "-"), texts("b", "-"), texts("c", "-"), texts("d", "-")}
	for i, note := range []string{"x", "x", "y", "x"} {
		rows[i].Cells[1].Note = note
	}
	sayOnce(rows)
	if got := rows[0].Cells[1].Note + "|" + rows[1].Cells[1].Note + "|" + rows[2].Cells[1].Note + "|" + rows[3].Cells[1].Note; got != "x||y|x" {
		t.Errorf("notes are %s", got)
	}
}

func TestWarningsKeepTheNamesOfRuns(t *testing.T) {
	runs := []compare.SetRun{{}, {Name: "r05"}}
	if got := warningWords("r05 and r11 do not look alike.", runs); got != "r05 and r11 do not look alike" {
		t.Error(got)
	}
	if got := warningWords("temperature differs.", runs); got != "Temperature differs" {
		t.Error(got)
	}
}

// TestStudyTables holds that every table has as many cells in a row as heads, and that every chart has a table in its block.
func TestStudyTables(t *testing.T) {
	c, s := compared(t, 3, nil)
	p, err := comparePage(c, s)
	if err != nil {
		t.Fatal(err)
	}
	q, err := sweepPage([]*compare.SweepResult{swept(t, "rebound", compare.Rebound), swept(t, "hsc", compare.HighSpeedCompression)})
	if err != nil {
		t.Fatal(err)
	}
	charts, ids := 0, map[string]bool{}
	for _, page := range []*study{p, q} {
		for i := range page.Parts {
			for _, b := range page.Parts[i].blocks() {
				if b.Chart != nil {
					charts++
					if ids[b.Chart.ID] || b.Chart.Label == "" {
						t.Errorf("chart %q: its name is missing or used twice", b.Chart.ID)
					}
					ids[b.Chart.ID] = true
					if len(b.Tables)+len(b.Behind) == 0 {
						t.Errorf("chart %s has no table behind it", b.Chart.ID)
					}
				}
				for _, tb := range append(append([]table(nil), b.Tables...), b.Behind...) {
					for _, row := range tb.Rows {
						if len(row.Cells) != len(tb.Heads) {
							t.Errorf("%s: %d cells under %d heads", tb.Caption, len(row.Cells), len(tb.Heads))
						}
					}
				}
			}
		}
	}
	if charts < 4+5+1 {
		t.Errorf("only %d charts", charts)
	}
}

// TestTrailStripFollowsTheRuns holds the strip against the signals: a run against itself, stretched in time, gives the same strip.
func TestTrailStripFollowsTheRuns(t *testing.T) {
	r := ridden()["a1"]
	slow := r
	signals := *r.Signals
	signals.RateHz /= 2 // the same run at half the pace
	signals.Segments = []analyze.SignalSegment{r.Signals.Segments[0]}
	slow.Signals = &signals
	travel := stripSignals()[1]
	at := []compare.RunAlignment{{Knots: []compare.Knot{{ReferenceS: 0, RunS: 0}, {ReferenceS: 40, RunS: 40}}}}
	twice := []compare.RunAlignment{{Knots: []compare.Knot{{ReferenceS: 0, RunS: 0}, {ReferenceS: 40, RunS: 80}}}}
	a := stripOf([]compare.Run{r}, at, travel, 5, 35, 100)
	b := stripOf([]compare.Run{slow}, twice, travel, 5, 35, 100)
	for k := range a.mean {
		if math.Abs(a.mean[k]-b.mean[k]) > 0.5 {
			t.Fatalf("column %d: %.2f mm, and %.2f mm at half the pace", k, a.mean[k], b.mean[k])
		}
	}
	both := stripOf([]compare.Run{r, slow}, append(at, twice...), travel, 5, 35, 100)
	if both.low[50] > both.mean[50] || both.high[50] < both.mean[50] {
		t.Error("the mean lies outside the band")
	}
}

func TestWithoutSignalsThereIsNoStrip(t *testing.T) {
	c, s := compared(t, 2, func(a, b []compare.Run) {
		for i := range a {
			a[i].Signals, b[i].Signals = nil, nil
		}
	})
	html := comparisonPage(t, c, s)
	if !strings.Contains(html, "The runs are not lined up") || strings.Contains(html, `data-chart="strip"`) {
		t.Error("runs without signals are drawn along the trail, or nothing is said of it")
	}
}

// TestStudyTextFits holds the summaries to their lines of 80 columns.
func TestStudyTextFits(t *testing.T) {
	c, s := compared(t, 3, func(a, b []compare.Run) {
		for i := range a {
			a[i].Order, b[i].Order = i+1, i+4
			a[i].Settings, b[i].Settings = map[string]string{"rider": "one", "x": "1"}, map[string]string{"rider": "two", "x": "2"}
		}
	})
	s.NameA, s.NameB = strings.Repeat("long ", 40), "b\x1b[2Jad"
	one, sets := compared(t, 1, nil)
	r := swept(t, "rebound", compare.Rebound)
	for _, c := range []struct {
		name  string
		lines int
		text  string
	}{
		{"compare", studyLines, written(t, func(b *strings.Builder) error { return CompareText(b, c, s, TextOptions{}) })},
		{"one run", studyLines, written(t, func(b *strings.Builder) error { return CompareText(b, one, sets, TextOptions{}) })},
		{"sweep", studyLines, written(t, func(b *strings.Builder) error { return SweepText(b, r, TextOptions{}) })},
		{"one of three sweeps", 10, written(t, func(b *strings.Builder) error { return SweepText(b, r, TextOptions{Lines: 10}) })},
		{"compare, all", 200, written(t, func(b *strings.Builder) error { return CompareText(b, c, s, TextOptions{All: true}) })},
		{"sweep, all", 200, written(t, func(b *strings.Builder) error { return SweepText(b, r, TextOptions{All: true}) })},
	} {
		lines := strings.Split(strings.TrimRight(c.text, "\n"), "\n")
		if len(lines) > c.lines {
			t.Errorf("%s: %d lines", c.name, len(lines))
		}
		for _, l := range lines {
			if n := utf8.RuneCountInString(l); n > textColumns {
				t.Errorf("%s: %d columns: %s", c.name, n, l)
			}
			if strings.ContainsRune(l, '\x1b') {
				t.Errorf("%s: a name moves the cursor", c.name)
			}
		}
	}
}

// TestAllTextHasEveryFigure holds that --all leaves nothing out and that without it something is said of what is left out.
func TestAllTextHasEveryFigure(t *testing.T) {
	c, s := compared(t, 3, nil)
	r := swept(t, "rebound", compare.Rebound)
	short := written(t, func(b *strings.Builder) error { return SweepText(b, r, TextOptions{Lines: 10}) })
	if !strings.Contains(short, "more: see the page, or --all") {
		t.Errorf("what was left out is not said:\n%s", short)
	}
	all := written(t, func(b *strings.Builder) error { return SweepText(b, r, TextOptions{All: true}) })
	if n := strings.Count(all, "\n"); n < len(r.Responses) || strings.Contains(all, "… and") {
		t.Errorf("%d lines of %d figures", n, len(r.Responses))
	}
	all = written(t, func(b *strings.Builder) error { return CompareText(b, c, s, TextOptions{All: true}) })
	if n := strings.Count(all, "\n"); n < len(c.Differences) || strings.Contains(all, "… and") {
		t.Errorf("%d lines of %d figures", n, len(c.Differences))
	}
}

func BenchmarkCompareHTML(b *testing.B) {
	c, s := compared(b, 3, nil)
	b.ReportAllocs()
	for b.Loop() {
		if err := CompareHTML(io.Discard, c, s, HTMLOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

func TestMeasures(t *testing.T) {
	for _, c := range []struct {
		unit         string
		size, detail float64
		value        float64
		want         string
	}{
		{"mm", 34, 0.8, 6.41, "+6.4\u00a0mm"},
		{"mm/s", 838, 44, -230.6, "−231\u00a0mm/s"},
		{"s", 0.099, 0.02, 0.0853, "+85\u00a0ms"},
		{"s", 64, 1.2, -1.25, "−1.2\u00a0s"},
		{"share", 0.22, 0.006, -0.031, "−3.1\u00a0%"},
		{"", 0.685, 0.04, -0.1634, "−0.163"},
		{"1/min", 4, 0.5, 0, "0.0\u00a0per min"},
		{"", 0, 0, 0, "0"},
	} {
		if got := measureFor(c.unit, c.size, c.detail).change(c.value); got != c.want {
			t.Errorf("%v of %q: %q, want %q", c.value, c.unit, got, c.want)
		}
	}
}
