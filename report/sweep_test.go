package report

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"stanchion/analyze"
	"stanchion/analyze/compare"
)

func TestSweepSaysWhatTheAdjusterDoes(t *testing.T) {
	s := swept(t, "rebound", compare.Rebound)
	line := judgeSweep(s).Line
	for _, want := range []string{"Rebound ", "figures that it should", "rises with clicks", "a click"} {
		if !strings.Contains(line, want) {
			t.Errorf("the verdict does not say %q: %s", want, line)
		}
	}
	html := sweepsPage(t, s)
	for _, want := range []string{`data-chart="adjuster-1-1"`, `data-chart="crosstalk"`, "Usable range", "What happens beyond the positions ridden"} {
		if !strings.Contains(html, want) {
			t.Errorf("the page does not hold %q", want)
		}
	}
	for i := range s.Responses {
		r := &s.Responses[i]
		if r.Role == compare.RoleShould {
			r.Dead, r.Crosstalk = []compare.Range{{From: 7, To: 9}}, false
		}
		if r.Key == "velocity.at_depth.compression_q70_mm_s" {
			r.Crosstalk, r.Verdict, r.Ratio = true, compare.Falls, analyze.Value(0.4, 3)
		}
	}
	s.Dead, s.Usable = []compare.Range{{From: 7, To: 9}}, &compare.Range{From: 1, To: 7}
	line = judgeSweep(s).Line
	for _, want := range []string{"Dead from 7 to 9 clicks", "Usable from 1 to 7 clicks", "It also moves ", "compression speed past 15 % travel (40"} {
		if !strings.Contains(line, want) {
			t.Errorf("the verdict does not say %q: %s", want, line)
		}
	}
	if html = sweepsPage(t, s); !strings.Contains(html, `"name":"dead"`) || !strings.Contains(html, "! 40") {
		t.Error("dead clicks or crosstalk are not marked in the drawings")
	}
}

// TestSweepPageFoldsWhatSaysNothingNew holds that one or two curves are open, the strongest, and that the others are folded and none is lost.
func TestSweepPageFoldsWhatSaysNothingNew(t *testing.T) {
	s := swept(t, "rebound", compare.Rebound)
	curves := func() (open, folded []string) {
		p, err := responsePart(s, 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, b := range p.Blocks {
			open = append(open, b.Title)
		}
		for _, b := range p.blocks()[len(p.Blocks):] {
			if strings.Contains(b.ID, "-h") { // a curve, or why there is none
				folded = append(folded, b.Title)
			}
		}
		return open, folded
	}
	for i := range s.Responses {
		s.Responses[i].Crosstalk = false
	}
	all, follow := withRole(s, compare.RoleShould)
	open, folded := curves()
	if len(open) != 1 || open[0] != sentence(strongest(follow).Label) || len(open)+len(folded) != len(all) {
		t.Errorf("open %q, folded %q of %d", open, folded, len(all))
	}
	weakest := follow[0]
	for i := range s.Responses {
		r := &s.Responses[i]
		r.Dead = nil
		if follows(r) && r.Role == compare.RoleShould && r.Standard.Or(0) < weakest.Standard.Or(0) {
			weakest = r
		}
		if r.Key == "velocity.compression.q95_mm_s" {
			r.Crosstalk, r.Verdict, r.Ratio = true, compare.Falls, analyze.Value(0.4, 3)
		}
	}
	weakest.Dead = []compare.Range{{From: 7, To: 9}}
	s.Dead = weakest.Dead
	if open, _ = curves(); len(open) != 2 || !slices.Contains(open, sentence(weakest.Label)) || !slices.Contains(open, "Compression speed, 95 % quantile") {
		t.Errorf("dead clicks and crosstalk are not what is open: %q", open)
	}
	if html := sweepsPage(t, s); strings.Count(html, `class="fold print-open"`) != 3 || regexp.MustCompile(`[0-9] %`).MatchString(html[strings.Index(html, "<main>"):strings.Index(html, "</main>")]) {
		t.Error("folds are missing, or a percent sign may stand alone on a line")
	}
}

func TestSweepOfAnUnknownAdjuster(t *testing.T) {
	s := swept(t, "knob", "")
	html := sweepsPage(t, s)
	if !strings.Contains(html, "What it should move is not known") || !strings.Contains(html, "No crosstalk can be given") {
		t.Error("the page does not say that nothing is known of the adjuster")
	}
}
