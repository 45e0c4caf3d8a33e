package report

import (
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"stanchion/analyze"
)

func summary(t interface{ Fatal(...any) }, r *analyze.Result, opt TextOptions) []string {
	var b strings.Builder
	if err := Text(&b, r, opt); err != nil {
		t.Fatal(err)
	}
	return strings.Split(strings.TrimSuffix(b.String(), "\n"), "\n")
}

// checkScreen fails where a summary leaves 24 lines of 80 columns or holds a control character.
func checkScreen(t interface {
	Fatal(...any)
	Errorf(string, ...any)
}, lines []string) {
	if len(lines) > textLines {
		t.Errorf("%d lines, want at most %d", len(lines), textLines)
	}
	for _, l := range lines {
		if n := utf8.RuneCountInString(l); n > textColumns {
			t.Errorf("%d columns, want at most %d: %q", n, textColumns, l)
		}
		if strings.ContainsFunc(l, func(r rune) bool { return r < ' ' }) {
			t.Errorf("control character in %q", l)
		}
	}
}

func TestTextFitsOneScreen(t *testing.T) {
	full, _ := usual().run(t)
	long := strings.Repeat("a long name without end ", 20)
	worst, _ := usual().run(t)
	worst.Source, worst.Fork.Name = strings.Repeat("x", 300), long
	for range 9 {
		worst.Caveats = append(worst.Caveats, analyze.Caveat{Severity: analyze.Warning, Topic: "gaps", Text: long})
	}
	worst.Travel.MaxMM = analyze.Absent("%s", long)
	worst.Packing.Reference = long
	none := empty()
	none.Travel.MaxPct = analyze.Absent("%s", long)
	for name, r := range map[string]*analyze.Result{"full": full, "worst": worst, "nothing": none} {
		t.Run(name, func(t *testing.T) { checkScreen(t, summary(t, r, TextOptions{})) })
	}
}

func TestTextFitsWhateverTheNames(t *testing.T) {
	r := empty()
	rapid.Check(t, func(t *rapid.T) {
		r.Source, r.Fork.Name = rapid.String().Draw(t, "source"), rapid.String().Draw(t, "fork")
		r.Caveats = []analyze.Caveat{{Severity: analyze.Warning, Text: rapid.String().Draw(t, "caveat")}}
		checkScreen(t, summary(t, r, TextOptions{}))
	})
}

func TestTextSaysDoubtsThenVerdictFirst(t *testing.T) {
	r, _ := usual().run(t)
	r.Caveats = []analyze.Caveat{{Severity: analyze.Warning, Topic: "zero", Text: "full extension reads 5 mm"}}
	lines := summary(t, r, TextOptions{})
	if !strings.HasPrefix(lines[1], "Read with care: Full extension reads 5 mm.") {
		t.Errorf("second line is %q, want the warning", lines[1])
	}
	if !strings.HasPrefix(lines[2], "Used ") {
		t.Errorf("third line is %q, want the verdict", lines[2])
	}
}

func TestTextColorOnlyWhenAsked(t *testing.T) {
	r, _ := usual().run(t)
	plain := strings.Join(summary(t, r, TextOptions{}), "\n")
	coloured := strings.Join(summary(t, r, TextOptions{Color: true}), "\n")
	if strings.Contains(plain, "\x1b") {
		t.Error("colour without being asked")
	}
	if stripped := strings.NewReplacer(boldColor, "", warnColor, "", noColor, "").Replace(coloured); stripped != plain || coloured == plain {
		t.Error("colour changes more than colour, or nothing")
	}
}

func TestTextGivesLongReasonsInFull(t *testing.T) {
	r, _ := usual().run(t)
	reason := "the fork never stood still for two seconds at more than five percent of its travel, so it is not known"
	r.Sag.StaticMM = analyze.Absent("%s", reason)
	lines := summary(t, r, TextOptions{})
	checkScreen(t, lines)
	all := strings.Join(strings.Fields(strings.Join(lines, " ")), " ")
	if !strings.Contains(all, "— ("+reason+")") {
		t.Errorf("the reason is cut in\n%s", strings.Join(lines, "\n"))
	}
}

func TestTextGivesReasonsForAbsentFigures(t *testing.T) {
	r := empty()
	r.Travel.MaxMM = analyze.Absent("no riding was found")
	all := strings.Join(summary(t, r, TextOptions{}), "\n")
	if !strings.Contains(all, "Deepest travel   — (no riding was found)") {
		t.Errorf("no reason in\n%s", all)
	}
	if strings.Contains(all, "NaN") || strings.Contains(all, "Inf") {
		t.Errorf("not finite in\n%s", all)
	}
}
