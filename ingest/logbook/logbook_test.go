package logbook

import (
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestAddAndRead(t *testing.T) {
	b := newBook(t)
	n := newRun(t, t.TempDir(), 1)
	n.Note = "felt harsh"
	n.Track = filepath.Join(filepath.Dir(n.Recording), "run 1.gpx")
	if err := os.WriteFile(n.Track, []byte("<gpx/>"), 0o644); err != nil {
		t.Fatal(err)
	}
	r := mustAdd(t, b, n)
	if r.ID != 1 || r.Name != "run 1" || r.Session != "2031-05-04" {
		t.Errorf("filed as %+v", r)
	}
	for _, ref := range []string{"1", "#1", r.Hash[:8], "run 1"} {
		got, err := b.Run(t.Context(), ref)
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(got, r) {
			t.Errorf("run %q:\n%+v, want\n%+v", ref, got, r)
		}
	}
	for stored, original := range map[string]string{b.RecordingPath(&r): n.Recording, b.TrackPath(&r): n.Track} {
		got, err1 := os.ReadFile(stored)
		want, err2 := os.ReadFile(original)
		if err1 != nil || err2 != nil || string(got) != string(want) {
			t.Errorf("%s is not a copy of %s: %v %v", stored, original, err1, err2)
		}
	}
	figures, err := b.FiguresOf(t.Context(), r.ID)
	if err != nil || len(figures) != 2 || figures[0].Absent == "" || *figures[1].Value != 30.1 {
		t.Errorf("figures %+v, %v", figures, err)
	}
	if report := mustCheck(t, b); report.Runs != 1 || report.Files != 2 || len(report.Mended)+len(report.Loose) > 0 {
		t.Errorf("check %+v", report)
	}
}

// One recording is filed once, whatever it is called.
func TestAddTwice(t *testing.T) {
	b := newBook(t)
	n := newRun(t, t.TempDir(), 1)
	mustAdd(t, b, n)
	other := filepath.Join(t.TempDir(), "copy.csv")
	data, _ := os.ReadFile(n.Recording)
	if err := os.WriteFile(other, data, 0o644); err != nil {
		t.Fatal(err)
	}
	n.Recording = other
	_, err := b.Add(t.Context(), n)
	var filed FiledError
	if !errors.As(err, &filed) || filed.Run.ID != 1 {
		t.Fatalf("error %v, want FiledError of run 1", err)
	}
	if runs, _ := b.Runs(t.Context(), Query{}); len(runs) != 1 {
		t.Errorf("%d runs", len(runs))
	}
}

func TestAddRefuses(t *testing.T) {
	b := newBook(t)
	dir := t.TempDir()
	for name, spoil := range map[string]func(*NewRun){
		"no file":      func(n *NewRun) { n.Recording = filepath.Join(dir, "gone.csv") },
		"folder":       func(n *NewRun) { n.Recording = dir },
		"no fork name": func(n *NewRun) { n.Fork.Name = " " },
		"no travel":    func(n *NewRun) { n.Fork.TravelMM = 0 },
		"long trail":   func(n *NewRun) { n.Trail = strings.Repeat("x", maxName+1) },
		"line break":   func(n *NewRun) { n.Name = "a\nb" },
		"odd setup":    func(n *NewRun) { n.Setup.PressurePSI = ptr(9999) },
		"long note":    func(n *NewRun) { n.Note = strings.Repeat("x", maxText+1) },
	} {
		n := newRun(t, dir, 1)
		spoil(&n)
		if _, err := b.Add(t.Context(), n); err == nil {
			t.Errorf("%s: filed", name)
		}
	}
	if runs, err := b.Runs(t.Context(), Query{}); err != nil || len(runs) != 0 {
		t.Errorf("%d runs, %v", len(runs), err)
	}
}

func TestQueries(t *testing.T) {
	b := newBook(t)
	dir := t.TempDir()
	for i := range 12 {
		n := newRun(t, dir, i)
		if i%2 == 1 {
			n.Trail = "ridge'; DROP TABLE run; --"
		}
		mustAdd(t, b, n)
	}
	if _, err := b.AddNote(t.Context(), 3, "100% wet_roots"); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name string
		q    Query
		want int
	}{
		{"all", Query{}, 12},
		{"trail", Query{Trail: "quarry"}, 6},
		{"hostile trail", Query{Trail: "ridge'; DROP TABLE run; --"}, 6},
		{"setting", Query{Settings: map[string]string{"clicks.rebound": "5"}}, 3},
		{"two settings", Query{Settings: map[string]string{"clicks.rebound": "5", "pressure_psi": "82"}}, 3},
		{"since", Query{Since: noon.Add(100 * time.Minute)}, 2},
		{"until", Query{Until: noon.Add(100 * time.Minute)}, 10},
		{"note text", Query{Text: "100% wet_"}, 1},
		{"no wildcard", Query{Text: "%"}, 1},
		{"no wildcard _", Query{Text: "wet.roots"}, 0},
		{"newest", Query{Limit: 2}, 2},
		{"newest with setting", Query{Limit: 1, Settings: map[string]string{"clicks.rebound": "2"}}, 1},
		{"other fork", Query{Fork: "none"}, 0},
	} {
		got, err := b.Runs(t.Context(), c.q)
		if err != nil || len(got) != c.want {
			t.Errorf("%s: %d runs, %v; want %d", c.name, len(got), err, c.want)
		}
		for i := 1; i < len(got); i++ {
			if got[i].RiddenAt.Before(got[i-1].RiddenAt) {
				t.Errorf("%s: not in the order ridden", c.name)
			}
		}
	}
	if got, _ := b.Runs(t.Context(), Query{Limit: 1}); got[0].ID != 12 {
		t.Errorf("newest is run %d", got[0].ID)
	}
}

func TestVary(t *testing.T) {
	b := newBook(t)
	dir := t.TempDir()
	for i := range 12 {
		n := newRun(t, dir, i)
		if i >= 8 {
			n.Setup.PressurePSI = ptr(90)
		}
		mustAdd(t, b, n)
	}
	all, _ := b.Runs(t.Context(), Query{})
	groups := Vary(all, "clicks.rebound")
	if len(groups) != 2 || len(groups[0].Runs) != 8 || len(groups[1].Runs) != 4 {
		t.Fatalf("groups of %d", len(groups))
	}
	if want := []string{"2", "5", "8", "11"}; !reflect.DeepEqual(groups[0].Values, want) {
		t.Errorf("values %q, want %q", groups[0].Values, want)
	}
	if g := Vary(all, "clicks.lsc"); len(g) != 0 {
		t.Errorf("a setting that was never changed has %d groups", len(g))
	}
}

func TestTrendAndStale(t *testing.T) {
	b := newBook(t)
	dir := t.TempDir()
	for i := range 5 {
		mustAdd(t, b, newRun(t, dir, i))
	}
	trend, err := b.Trend(t.Context(), "sag.static_mm", Query{})
	if err != nil || len(trend.Points) != 5 || trend.Absent != 0 || trend.Points[4].Value != 30.4 || trend.Definitions != 1 {
		t.Errorf("%+v, %v", trend, err)
	}
	if trend.Low != 30 || trend.Median != 30.2 || trend.High != 30.4 {
		t.Errorf("between %g, %g and %g", trend.Low, trend.Median, trend.High)
	}
	if trend, _ := b.Trend(t.Context(), "damping.zeta", Query{Trail: "quarry"}); len(trend.Points) != 0 || trend.Absent != 5 {
		t.Errorf("absent figure: %+v", trend)
	}
	if keys, err := b.Keys(t.Context()); err != nil || !reflect.DeepEqual(keys, []string{"damping.zeta", "sag.static_mm"}) {
		t.Errorf("keys %q, %v", keys, err)
	}
	if stale, _ := b.Stale(t.Context(), 1, "d1"); len(stale) != 0 {
		t.Errorf("%d runs stale", len(stale))
	}
	stale, _ := b.Stale(t.Context(), 1, "d2")
	if len(stale) != 5 {
		t.Fatalf("%d runs stale by new definitions", len(stale))
	}
	if err := b.PutFigures(t.Context(), stale[0].ID, Figures{SchemaVersion: 1, Definitions: "d2", List: []Figure{{Key: "sag.static_mm", Value: ptr(1)}}}); err != nil {
		t.Fatal(err)
	}
	if stale, _ := b.Stale(t.Context(), 1, "d2"); len(stale) != 4 {
		t.Errorf("%d runs stale after one was computed again", len(stale))
	}
	mustCheck(t, b)
}

func TestSetupChangesAndNotes(t *testing.T) {
	b := newBook(t)
	r := mustAdd(t, b, newRun(t, t.TempDir(), 0))
	changed, err := b.Change(t.Context(), r.ID, func(r *Run) error {
		r.Name, r.Trail, r.Hash = "first", "ridge", "nonsense"
		return r.Setup.Set("clicks.rebound", "7")
	})
	if err != nil || changed.Setup.Clicks["rebound"] != 7 || changed.Hash != r.Hash {
		t.Fatalf("%+v, %v", changed, err)
	}
	again, _ := b.Run(t.Context(), "first")
	if !reflect.DeepEqual(again, changed) {
		t.Errorf("read %+v, want %+v", again, changed)
	}
	if _, err := b.Change(t.Context(), r.ID, func(r *Run) error { r.Name = "x"; return errors.New("no") }); err == nil {
		t.Error("a failed edit was kept")
	}
	if _, err := b.Change(t.Context(), 99, func(*Run) error { return nil }); !errors.Is(err, ErrNoRun) {
		t.Errorf("error %v, want ErrNoRun", err)
	}
	if _, err := b.AddNote(t.Context(), r.ID, "  "); err == nil {
		t.Error("an empty note was kept")
	}
	if report := mustCheck(t, b); len(report.Mended) > 0 {
		t.Errorf("entries were behind: %q", report.Mended)
	}
}

func TestMountedAndService(t *testing.T) {
	b := newBook(t)
	if err := b.Mount(t.Context(), testFork, "test bike", Setup{Clicks: map[string]float64{"rebound": 4}}); err != nil {
		t.Fatal(err)
	}
	if err := b.Mount(t.Context(), testFork, "", Setup{Clicks: map[string]float64{"rebound": 6}}); err != nil {
		t.Fatal(err)
	}
	if s, err := b.Mounted(t.Context(), testFork.Name); err != nil || s.Clicks["rebound"] != 6 {
		t.Errorf("mounted %v, %v", s, err)
	}
	if _, err := b.Mounted(t.Context(), "none"); err == nil {
		t.Error("a fork that is not there has a setup")
	}
	if err := b.PlanService(t.Context(), testFork.Name, "lower leg service", 0.1); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for i := range 3 { // 240 s of riding each
		mustAdd(t, b, newRun(t, dir, i))
	}
	due, err := b.Due(t.Context(), testFork.Name)
	if err != nil || len(due) != 1 || !due[0].Over() || due[0].Hours != 0.2 {
		t.Fatalf("due %+v, %v", due, err)
	}
	if err := b.Serviced(t.Context(), testFork.Name, "lower leg service", noon.Add(15*time.Minute)); err != nil {
		t.Fatal(err)
	}
	if due, _ := b.Due(t.Context(), testFork.Name); due[0].Over() || due[0].Hours != 240.0/3600 {
		t.Errorf("after the service: %+v", due[0])
	}
	if forks, _ := b.Forks(t.Context()); len(forks) != 1 || forks[0].Bike != "test bike" || forks[0].Runs != 3 {
		t.Errorf("forks %+v", forks)
	}
}

// What Set takes is what Values shows and what check allows.
func TestSetupProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var s Setup
		want := map[string]string{}
		for range rapid.IntRange(0, 12).Draw(t, "n") {
			name := rapid.SampledFrom([]string{"pressure_psi", "spacers", "rider_kg", "clicks.rebound", "clicks.hsc", "rider", "tyre", " odd name "}).Draw(t, "name")
			text := rapid.SampledFrom([]string{"", "20", "10.5", "12"}).Draw(t, "text")
			if err := s.Set(name, text); err != nil {
				t.Fatalf("Set(%q, %q): %v", name, text, err)
			}
			name = strings.TrimSpace(name)
			if want[name] = text; text == "" {
				delete(want, name)
			}
		}
		if got := s.Values(); !reflect.DeepEqual(got, want) {
			t.Fatalf("values %v, want %v", got, want)
		}
		if err := s.check(); err != nil {
			t.Fatal(err)
		}
		text, err := s.canonical()
		if err != nil {
			t.Fatal(err)
		}
		back, err := decodeSetup(text)
		if err != nil || !reflect.DeepEqual(back.Values(), want) {
			t.Fatalf("stored and read: %v, %v", back, err)
		}
	})
}

func TestSetRefuses(t *testing.T) {
	for name, text := range map[string]string{"": "1", "pressure_psi": "many", "clicks.": "1", "clicks.x": "NaN", "a=b": "1", "rider_kg": "5", `q"`: "1", "note": strings.Repeat("x", maxText+1)} {
		var s Setup
		if err := s.Set(name, text); err == nil {
			t.Errorf("Set(%q, %.10q) was taken", name, text)
		}
	}
}
