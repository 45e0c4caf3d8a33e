package report

import (
	"bytes"
	"io"
	"math"
	"reflect"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/chromedp/chromedp"

	"stanchion/analyze/trail"
)

// timedRuns are runs of a trail of two bends, ridden at different speeds; the last leaves the line for a while.
func timedRuns(t *testing.T, n, splits int, change func(laps []trail.TimedLap)) *trail.Timing {
	t.Helper()
	var paths []*trail.Path
	names := []string{"morning-1", "morning-2", "evening-1", "evening-2"}
	for i := range n {
		p := &trail.Path{RateHz: 5, NoiseM: 1}
		v := 7 + 0.15*float64(i)
		for k := 0; float64(k)*v/5 < 700; k++ {
			s := float64(k) * v / 5
			e, north := s, 60*math.Sin(s/110)
			if i == 3 && s > 250 && s < 330 {
				north += 40
			}
			p.TimeS, p.EastM, p.NorthM, p.EleM = append(p.TimeS, float64(k)/5), append(p.EastM, e), append(p.NorthM, north+0.3*math.Sin(s/9+float64(i))), append(p.EleM, 400-s/10)
			slope := math.Hypot(1, 60.0/110*math.Cos(s/110))
			along := 0.0
			if k > 0 {
				along = p.AlongM[k-1] + v/5*slope
			}
			p.SpeedMS, p.AlongM, p.SigmaM, p.Piece = append(p.SpeedMS, v*slope), append(p.AlongM, along), append(p.SigmaM, 0.8), append(p.Piece, 0)
		}
		paths = append(paths, p)
	}
	line, err := trail.NewLine(paths, trail.DefaultLineOptions())
	if err != nil {
		t.Fatal(err)
	}
	var laps []trail.TimedLap
	var placed []*trail.Placed
	for i, p := range paths {
		q, err := line.Place(p, trail.DefaultPlaceOptions())
		if err != nil {
			t.Fatal(err)
		}
		placed = append(placed, q)
		laps = append(laps, trail.TimedLap{Name: names[i], Source: names[i] + ".gpx", Path: p, Placed: q})
	}
	if change != nil {
		change(laps)
	}
	timing, err := trail.Time(line, line.EvenGates(placed, splits, 2), laps, trail.DefaultTimingOptions())
	if err != nil {
		t.Fatal(err)
	}
	return timing
}

func markedRuns(t *testing.T) *trail.Timing {
	t.Helper()
	timing, err := trail.Time(nil, []trail.Gate{{Name: "go"}, {Name: "tree"}, {Name: "end"}}, []trail.TimedLap{
		{Name: "r1", Source: "r1.csv", Marks: []float64{3, 20, 41}}, {Name: "r2", Source: "r2.csv", Marks: []float64{5, math.NaN(), 44}}}, trail.DefaultTimingOptions())
	if err != nil {
		t.Fatal(err)
	}
	return timing
}

func timings(t *testing.T) map[string]*trail.Timing {
	return map[string]*trail.Timing{"four": timedRuns(t, 4, 3, nil), "one": timedRuns(t, 1, 2, nil), "one split": timedRuns(t, 2, 1, nil), "many splits": timedRuns(t, 4, 40, nil), "markers": markedRuns(t)}
}

func TestTimingText(t *testing.T) {
	for name, timing := range timings(t) {
		var b bytes.Buffer
		if err := TimingText(&b, timing, TextOptions{}); err != nil {
			t.Fatal(err)
		}
		for _, l := range strings.Split(b.String(), "\n") {
			if utf8.RuneCountInString(l) > textColumns {
				t.Errorf("%s: %d columns: %s", name, utf8.RuneCountInString(l), l)
			}
		}
		if strings.Contains(b.String(), "NaN") || strings.Contains(b.String(), "Inf") {
			t.Errorf("%s:\n%s", name, b.String())
		}
	}
	var b bytes.Buffer
	TimingText(&b, timings(t)["four"], TextOptions{})
	for _, want := range []string{"4 runs, 4 gates, reference line", "against evening-2", "slower", "*", "split 2", "ideal"} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("%q is missing in:\n%s", want, b.String())
		}
	}
}

func TestLapTime(t *testing.T) {
	for _, c := range []struct {
		s        float64
		decimals int
		want     string
	}{{34.24, 1, "34.2"}, {154.26, 1, "2:34.3"}, {59.96, 1, "1:00.0"}, {61.004, 2, "1:01.00"}, {600, 0, "10:00"}, {65, 0, "1:05"}} {
		if got := lapTime(c.s, c.decimals); got != c.want {
			t.Errorf("%g s: %s, want %s", c.s, got, c.want)
		}
	}
}

func TestTimingPageSaysWhatItShows(t *testing.T) {
	for name, wants := range map[string][]string{
		"four":    {"Times of 4 runs", "★ ", "Gap over distance", "too close to call", "Off the line or without reception for", `class="num best"`, "How sure the times are"},
		"one":     {"Times of morning-1", "There is one run", "With one run nothing shows"},
		"markers": {"Gates are markers", "the run has no such marker", "dropped by hand"},
	} {
		var b bytes.Buffer
		if err := TimingHTML(&b, timings(t)[name], HTMLOptions{}); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for _, want := range wants {
			if !strings.Contains(strings.ReplaceAll(b.String(), "off the line or", "Off the line or"), want) {
				t.Errorf("%s: %q is missing", name, want)
			}
		}
		var again bytes.Buffer
		TimingHTML(&again, timings(t)[name], HTMLOptions{})
		if !bytes.Equal(b.Bytes(), again.Bytes()) {
			t.Errorf("%s: not the same bytes again", name)
		}
	}
}

func TestTimingSchemaDocumentsEveryField(t *testing.T) {
	timing := &trail.Timing{}
	fill(reflect.ValueOf(timing).Elem())
	holdSchema(t, "schema-timing.md", keysOf(t, timing))
}

// TestTimingInBrowser opens the pages from a file with the network off. Any request, error or warning fails it.
func TestTimingInBrowser(t *testing.T) {
	b := browse(t)
	all := timings(t)
	write := func(w io.Writer) error { return TimingHTML(w, all["four"], HTMLOptions{}) }
	desk := openPage(t, b, 1280, write)
	tryStudyCharts(t, desk, 1)
	desk.picture("timing-desktop")
	tryStudyViews(desk)
	tryStudyDark(t, desk)
	tryStudyPrint(desk)
	phone := openPage(t, b, 390, write)
	tryStudyPhone(t, phone)
	phone.picture("timing-phone")
	t.Run("names are text", func(t *testing.T) {
		nasties := timedRuns(t, 2, 3, func(laps []trail.TimedLap) { laps[0].Name, laps[1].Name = nasty, nasty+" again" })
		v := openPage(t, b, 1280, func(w io.Writer) error { return TimingHTML(w, nasties, HTMLOptions{Title: nasty}) })
		v.until("every chart is drawn", drawnCharts+` === ""`)
		if n := ask[int](v, `document.querySelectorAll("img").length`); n != 0 {
			t.Error("a name was read as markup")
		}
		v.do(chromedp.WaitReady("h1"))
		if got := ask[string](v, `document.querySelector("h1").textContent`); got != nasty {
			t.Errorf("heading is %q", got)
		}
	})
}
