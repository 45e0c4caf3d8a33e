package report

import (
	"fmt"
	"strings"
	"testing"

	"stanchion/analyze"
	"stanchion/analyze/compare"
)

// stranger is a run of another trail than those of ridden.
func stranger(t testing.TB) compare.Run {
	opt := analyze.DefaultOptions()
	opt.BootstrapN = 50
	r, s, err := analyze.Run(rider{seconds: 44, rate: 500, source: "stranger.csv", fork: "Test fork", again: 5, trail: 9}.trace(), opt)
	if err != nil {
		t.Fatal(err)
	}
	return compare.Run{Name: "stranger", Result: r, Signals: s}
}

// A run that was left out is told of first, on the page, on the terminal and in the JSON, and drawn nowhere.
func TestRunLeftOutIsToldFirst(t *testing.T) {
	odd := stranger(t)
	c, s := compared(t, 3, func(a, b []compare.Run) { odd.Order, odd.Settings = b[1].Order, b[1].Settings; b[1] = odd })
	if len(c.LeftOut) != 1 || len(c.B) != 2 {
		t.Fatalf("%d left out, %d in B; %s", len(c.LeftOut), len(c.B), c.Alignment.Refused)
	}
	html := comparisonPage(t, c, s)
	text := written(t, func(b *strings.Builder) error { return CompareText(b, c, s, TextOptions{}) })
	js := written(t, func(b *strings.Builder) error { return CompareJSON(b, c) })
	head := html[strings.Index(html, "<main>"):strings.Index(html, `<section id="can"`)]
	for name, got := range map[string]string{"head of the page": head, "summary": text} {
		if plain := strings.Join(strings.Fields(got), " "); !strings.Contains(plain, "Left out, since it does not look like the same trail as the rest (fit under 0.55): stranger (") {
			t.Errorf("%s does not tell of the run left out: %s", name, plain)
		}
	}
	if first := strings.Index(text, "Left out"); first < 0 || first > strings.Index(text, "rebounds") {
		t.Errorf("the summary does not begin with it:\n%s", text)
	}
	for _, want := range []string{"3 runs in A, 2 runs in B; 1 left out", "left out of B", "Anything about stranger, which was left out of B", "data-chart=\"strip\""} {
		if !strings.Contains(html, want) {
			t.Errorf("the page does not hold %q", want)
		}
	}
	if !strings.Contains(js, `"left_out"`) || !strings.Contains(js, `"place": 2`) {
		t.Error("the JSON does not name the run left out")
	}
}

// Where nothing is judged, the page says why, and never that more runs may show a response.
func TestRefusedStudiesSayWhy(t *testing.T) {
	odd := stranger(t)
	c, s := compared(t, 1, func(_, b []compare.Run) { b[0] = odd })
	if v := judgeComparison(c, s); !c.Alignment.OtherTrail || !strings.Contains(v.Line, "cannot be judged against one another") || !strings.Contains(v.Line, "do not look like the same trail") {
		t.Errorf("%s", v.Line)
	}
	r := swept(t, "rebound", compare.Rebound)
	r.Alignment.OtherTrail, r.Alignment.Refused = true, "the runs do not look like one trail"
	for i := range r.Responses {
		r.Responses[i].Verdict, r.Responses[i].Why = compare.NotJudged, r.Alignment.Refused
	}
	html := sweepsPage(t, r)
	text := written(t, func(b *strings.Builder) error { return SweepText(b, r, TextOptions{}) })
	for name, got := range map[string]string{"page": html, "summary": text} {
		plain := strings.Join(strings.Fields(got), " ")
		if !strings.Contains(plain, "Rebound cannot be judged: the runs do not look like one trail") {
			t.Errorf("%s does not say why nothing is judged", name)
		}
		for _, wrong := range []string{"more runs may show", "No figure clearly follows", "does not clearly move"} {
			if strings.Contains(plain, wrong) {
				t.Errorf("%s says %q of runs that were not judged", name, wrong)
			}
		}
	}
	// A figure that could not be judged is not passed off as one without a response.
	r = swept(t, "rebound", compare.Rebound)
	for i := range r.Responses {
		if r.Responses[i].Role == compare.RoleShould {
			r.Responses[i].Verdict, r.Responses[i].Why = compare.NotJudged, "only 2 runs have it"
		}
	}
	cannot := strings.Join(sweepCannot([]*compare.SweepResult{r}), "\n")
	if strings.Contains(cannot, "more runs may show") || !strings.Contains(cannot, "could not be judged: only 2 runs have it") {
		t.Errorf("cannot: %s", cannot)
	}
}

// The sweep names the run left out with its position.
func TestSweepTellsOfRunLeftOut(t *testing.T) {
	runs := []compare.SweepRun{{Run: stranger(t), Clicks: 3}}
	for i, clicks := range sweepClicks {
		runs = append(runs, compare.SweepRun{Run: ridden()[fmt.Sprint("s", i+1)], Clicks: clicks})
	}
	r, err := compare.Sweep(runs, compare.Adjuster{Name: "rebound", Kind: compare.Rebound}, compare.DefaultSweepOptions())
	if err != nil {
		t.Fatal(err)
	}
	html := sweepsPage(t, r)
	for _, want := range []string{"1 adjuster, 10 runs, 1 left out", "anything about stranger at 3 clicks, which was left out: lined up, its roughness", "left out: lined up"} {
		if !strings.Contains(html, want) {
			t.Errorf("the page does not hold %q", want)
		}
	}
}
