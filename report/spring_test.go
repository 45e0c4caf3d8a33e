package report

import (
	"context"
	"io"
	"reflect"
	"strings"
	"testing"
	"unicode/utf8"

	"stanchion/analyze/spring"
	"stanchion/ingest"
)

var springHead = SpringHead{Fork: ingest.Fork{Name: "<b>demo</b> fork", TravelMM: 160}}

// sprung answers a question about an ordinary fork with everything asked.
func sprung(t *testing.T, change func(*spring.Question)) *spring.Answer {
	t.Helper()
	c := spring.Typical(0.16)
	c.MaxPressure, c.FrictionN, c.MaxSpacers = spring.PSI(100), 18, 4
	q := spring.Question{Chambers: c, Basis: spring.BasisTypical, TravelM: 0.16, HeadDeg: 64.5, Pressure: spring.PSI(82), SagM: 0.036, LoadFrom: "the measured sag",
		Set: spring.Place{TemperatureC: 20}, Ride: &spring.Place{TemperatureC: -2, AltitudeM: 2000}, TargetShare: 0.25,
		Bottoms: []spring.Bottoming{{OpenM: 0.1552, EntryMS: 0.4}, {OpenM: 0.1552, EntryMS: 2}}}
	if change != nil {
		change(&q)
	}
	a, err := spring.Assess(q)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func coiled(t *testing.T) *spring.Answer {
	return sprung(t, func(q *spring.Question) {
		*q = spring.Question{Coil: &spring.Coil{Rate: 8500, PreloadM: 0.004}, TravelM: 0.16, SagM: 0.036, LoadFrom: "the measured sag", TargetShare: 0.2}
	})
}

func TestSpringPage(t *testing.T) {
	a := sprung(t, nil)
	write := func(b *strings.Builder) error { return SpringHTML(b, a, springHead, HTMLOptions{}) }
	page := written(t, write)
	if page != written(t, write) {
		t.Error("the same spring gives other bytes")
	}
	for _, want := range []string{"Air spring: &lt;b&gt;demo&lt;/b&gt; fork", "For 40.0\u00a0mm (25.0\u00a0%) pump ", "common practice, no source", "the gauge reads ", "above the maker&#39;s maximum", "ISO 2533"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if n := strings.Count(page, "printed on the fork"); n != 1 {
		t.Errorf("the caution stands %d times on the page, want once", n)
	}
	if strings.Contains(page, "<b>demo") {
		t.Error("a name is not text")
	}
}

func TestSpringText(t *testing.T) {
	for name, a := range map[string]*spring.Answer{"air": sprung(t, nil), "coil": coiled(t),
		"refused": sprung(t, func(q *spring.Question) { q.Chambers.MaxPressure = spring.PSI(82.1) }),
		"load":    sprung(t, func(q *spring.Question) { q.Pressure, q.SagM, q.LoadN, q.Bottoms = 0, 0, 318, nil })} {
		text := written(t, func(b *strings.Builder) error { return SpringText(b, a, springHead, TextOptions{}) })
		for _, l := range strings.Split(text, "\n") {
			if utf8.RuneCountInString(l) > textColumns {
				t.Errorf("%s: a line of %d columns: %s", name, utf8.RuneCountInString(l), l)
			}
		}
		if n := strings.Count(text, "\n"); n > 30 {
			t.Errorf("%s: %d lines", name, n)
		}
		if !strings.Contains(text, "manual") {
			t.Errorf("%s: no caution:\n%s", name, text)
		}
		if name == "refused" && !strings.Contains(text, "refused: above the maker's maximum") {
			t.Errorf("nothing is refused:\n%s", text)
		}
	}
}

func TestSpringSchemaDocumentsEveryField(t *testing.T) {
	a := &spring.Answer{}
	fill(reflect.ValueOf(a).Elem())
	have := map[string]string{}
	for path, kind := range keysOf(t, a) { // settings are described once
		for _, at := range []string{"as_set.", "target.", "spacers[].", "moved.there.", "moved.top_up.", "moved.pump_here.", "bottom_outs.ways[].setting."} {
			if rest, ok := strings.CutPrefix(path, at); ok {
				path = "SETTING." + rest
			}
		}
		have[path] = kind
	}
	holdSchema(t, "schema-spring.md", have)
}

func TestSpringInBrowser(t *testing.T) {
	b := browse(t)
	for _, page := range []struct {
		name string
		a    *spring.Answer
	}{{"spring", sprung(t, nil)}, {"coil", coiled(t)}} {
		t.Run(page.name, func(t *testing.T) { trySpring(t, b, page.name, page.a) })
	}
}

// trySpring opens the page wide, on a phone, in the dark and on paper.
func trySpring(t *testing.T, b context.Context, name string, a *spring.Answer) {
	write := func(w io.Writer) error { return SpringHTML(w, a, springHead, HTMLOptions{}) }
	desk := openPage(t, b, 1280, write)
	tryStudyCharts(t, desk, 3)
	desk.picture(name + "-desktop")
	tryStudyViews(desk)
	tryStudyDark(t, desk)
	tryStudyPrint(desk)
	desk.clean()
	phone := openPage(t, b, 390, write)
	tryStudyPhone(t, phone)
	phone.clean()
}
