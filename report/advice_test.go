package report

import (
	"bytes"
	"encoding/json"
	"reflect"
	"strings"
	"testing"
	"unicode/utf8"

	"stanchion/analyze"
	"stanchion/analyze/advice"
)

func TestAdviceSchemaDocumentsEveryField(t *testing.T) {
	a := &advice.Advice{}
	fill(reflect.ValueOf(a).Elem())
	have := map[string]string{"first": "object"}
	for path, kind := range keysOf(t, a) {
		list, inner, found := strings.Cut(path, "[].")
		switch list {
		case "behind", "tried", "blocked", "unsure":
			if !found {
				t.Errorf("%s has no fields", path)
			}
			if _, also := have["first."+inner]; !also {
				if _, also = keysOf(t, a)["first."+inner]; !also {
					t.Errorf("%s is not a field of first", path)
				}
			}
			path, kind = list+"[]", "object"
		}
		have[path] = kind
	}
	holdSchema(t, "schema-advice.md", have)
}

// advised is an advice with all there can be.
func advised() *advice.Advice {
	e := advice.Evidence{Figure: "packing.count", Label: "packing events", Unit: "1/min", Value: analyze.Value(6.8, 19), Low: analyze.Value(4.4, 19), High: analyze.Value(9.9, 19),
		Over: true, Limit: 2, State: advice.Holds}
	find := func(name, note string) advice.Finding {
		return advice.Finding{Rule: name, Symptom: "the fork does <" + name + ">", Setting: "rebound", Direction: "open", Size: 2, Evidence: []advice.Evidence{e}, Note: note}
	}
	from, target := 5.0, 7.0
	return &advice.Advice{SchemaVersion: 1, Table: "the table", Verdict: advice.ChangeOne, Sentence: "The fork packs down. Packing events 6.8 a minute (over 2 a minute). Try one step: open rebound by 2 clicks.",
		First: &advice.Proposal{Finding: find("pack", "tried on 2031-05-04 (run 3): it helped"), Change: "open rebound by 2 clicks", From: &from, Target: &target,
			Why: "why so", Watch: "watch it", Worse: "worse then"},
		Behind: []advice.Finding{find("behind", "")}, Tried: []advice.Finding{find("tried", "tried on 2031-05-01 (run 2): in vain")},
		Blocked: []advice.Finding{find("blocked", "no room")}, Unsure: []advice.Finding{find("unsure", "")},
		Missing: []string{"friction band: needs a sag log"}, Judged: 20, Rules: 27, Caution: "Stay within the clicks"}
}

func TestAdviceText(t *testing.T) {
	r, _ := usual().run(t)
	for name, a := range map[string]*advice.Advice{
		"change": advised(), "nothing": {Verdict: advice.Nothing, Sentence: "Nothing to change.", Rules: 3, Judged: 3, Table: "t"},
		"not enough": {Verdict: advice.NotEnough, Sentence: "Not enough evidence.", Missing: []string{"one", "two", "three", "four"}, Table: "t"},
	} {
		var b bytes.Buffer
		if err := AdviceText(&b, r, a, TextOptions{}); err != nil {
			t.Fatal(err)
		}
		lines := strings.Split(strings.TrimRight(b.String(), "\n"), "\n")
		if len(lines) > 30 {
			t.Errorf("%s: %d lines", name, len(lines))
		}
		for _, l := range lines {
			if utf8.RuneCountInString(l) > textColumns {
				t.Errorf("%s: too long: %s", name, l)
			}
		}
		if !strings.Contains(b.String(), a.Sentence[:18]) {
			t.Errorf("%s says\n%s", name, b.String())
		}
		if name == "not enough" && !strings.Contains(b.String(), "2 more; --all shows them") {
			t.Errorf("no word of what was left out:\n%s", b.String())
		}
	}
}

// The page and the summary of a run tell the advice, and are as before without one.
func TestAdviceOnThePage(t *testing.T) {
	r, s := usual().run(t)
	page := func(a *advice.Advice) string {
		var b bytes.Buffer
		if err := HTML(&b, r, s, HTMLOptions{Advice: a}); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	with, without := page(advised()), page(nil)
	for _, want := range []string{`id="next"`, `href="#next"`, "Packing events 6.8 a minute", "4.4 a minute to 9.9 a minute", "the fork does &lt;behind&gt;", "tried on 2031-05-01",
		"friction band: needs a sag log", "Stay within the clicks."} {
		if !strings.Contains(with, want) {
			t.Errorf("the page does not say %q", want)
		}
		if strings.Contains(without, want) {
			t.Errorf("the page without advice says %q", want)
		}
	}
	if strings.Contains(with, "<behind>") {
		t.Error("text of a table is not escaped")
	}
	var b bytes.Buffer
	if err := Text(&b, r, TextOptions{Advice: advised()}); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.String(), "Next: open rebound by 2 clicks, as the fork does <pack>.") {
		t.Errorf("the summary says\n%s", b.String())
	}
}

func TestRunJSONHoldsTheAdvice(t *testing.T) {
	var b bytes.Buffer
	if err := RunJSON(&b, filled(), nil, nil, advised()); err != nil {
		t.Fatal(err)
	}
	var got struct {
		analyze.Result
		Advice *advice.Advice `json:"advice"`
	}
	if err := json.Unmarshal(b.Bytes(), &got); err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(got.Advice, advised()) || got.SchemaVersion == 0 {
		t.Errorf("read back %+v", got.Advice)
	}
}
