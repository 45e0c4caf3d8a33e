package report

import (
	"io"
	"reflect"
	"strings"
	"testing"
	"unicode/utf8"

	"stanchion/analyze/damper"
	"stanchion/ingest"
)

// damped is a simulated run on invented curves of three positions, of which the last two are the same.
func damped(t *testing.T, fastestMMS float64) *damper.Result {
	t.Helper()
	run := ridden()["s1"]
	var curves []ingest.DamperCurve
	for _, c := range []struct{ clicks, slope float64 }{{3, 0.6}, {7, 0.4}, {8, 0.4}} {
		k := ingest.DamperCurve{Clicks: c.clicks}
		for _, v := range []float64{-1, -0.2, 0.2, 1} {
			f := 0.4 * v
			if v < 0 {
				f = c.slope * v
			}
			k.Points = append(k.Points, ingest.DamperPoint{VelocityMMS: v * fastestMMS, ForceN: f * fastestMMS})
		}
		curves = append(curves, k)
	}
	seven := 7.0
	d, err := damper.Run(run.Result, run.Signals, curves, &seven)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func TestDamperPage(t *testing.T) {
	d := damped(t, 8000)
	write := func(b *strings.Builder) error { return DamperHTML(b, d, HTMLOptions{}) }
	page := written(t, write)
	if page != written(t, write) {
		t.Error("the same ride gives other bytes")
	}
	for _, want := range []string{"At 7 clicks the damper turned ", "Steps that would matter: 3 to 7 clicks", "Hardly: 7 to 8 clicks", "would have moved otherwise"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if strings.Contains(page, "went faster than the dyno") {
		t.Error("velocities that were measured are called outside")
	}
	if page := written(t, func(b *strings.Builder) error { return DamperHTML(b, damped(t, 300), HTMLOptions{}) }); !strings.Contains(page, "went faster than the dyno") {
		t.Error("the page does not warn of velocities that were not measured")
	}
}

// Ends that lie together share one label.
func TestEndNames(t *testing.T) {
	d := damped(t, 8000)
	left := endNames(d, func(c []damper.Point) damper.Point { return c[0] })
	right := endNames(d, func(c []damper.Point) damper.Point { return c[len(c)-1] })
	if !reflect.DeepEqual(left, []string{"3", "7, 8", ""}) || !reflect.DeepEqual(right, []string{"3, 7, 8", "", ""}) {
		t.Errorf("left %q, right %q", left, right)
	}
}

func TestDamperText(t *testing.T) {
	text := written(t, func(b *strings.Builder) error { return DamperText(b, damped(t, 300), TextOptions{}) })
	for _, l := range strings.Split(text, "\n") {
		if utf8.RuneCountInString(l) > textColumns {
			t.Errorf("a line of %d columns: %s", utf8.RuneCountInString(l), l)
		}
	}
	if !strings.Contains(text, "Read with care: the ride went faster") || !strings.Contains(text, "3 to 7 clicks") {
		t.Errorf("got\n%s", text)
	}
}

func TestDamperSchemaDocumentsEveryField(t *testing.T) {
	d := &damper.Result{}
	fill(reflect.ValueOf(d).Elem())
	holdSchema(t, "schema-damper.md", keysOf(t, d))
}

func TestDamperInBrowser(t *testing.T) {
	b := browse(t)
	write := func(w io.Writer) error { return DamperHTML(w, damped(t, 8000), HTMLOptions{}) }
	desk := openPage(t, b, 1280, write)
	tryStudyCharts(t, desk, 2)
	tryStudyViews(desk)
	tryStudyDark(t, desk)
	desk.clean()
	phone := openPage(t, b, 390, write)
	tryStudyPhone(t, phone)
	phone.clean()
}
