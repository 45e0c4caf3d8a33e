package report

import (
	"bytes"
	"encoding/json"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"stanchion/analyze"
	"stanchion/analyze/trail"
)

// A trail in any direction is drawn with its start on the left, true in length and not mirrored, and north is where it was.
func TestMapIsTurnedNotBent(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		turn := rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "turn")
		l := bentLine(400)
		sin, cos := math.Sincos(turn)
		var e, q []float64
		for i := range l.EastM {
			e, q = append(e, l.EastM[i]*cos-l.NorthM[i]*sin), append(q, l.EastM[i]*sin+l.NorthM[i]*cos)
		}
		x, y, north := orient(e, q)
		last := len(x) - 1
		if x[last] <= x[0] {
			t.Fatalf("the start is at %.1f and the finish at %.1f", x[0], x[last])
		}
		for _, k := range []int{1, 77, 200, last} {
			was, is := math.Hypot(e[k]-e[0], q[k]-q[0]), math.Hypot(x[k]-x[0], y[k]-y[0])
			if math.Abs(was-is) > 1e-6 {
				t.Fatalf("point %d is %.3f m from the start, drawn at %.3f", k, was, is)
			}
			// North on the page, y down, times the step on the page is the step north; mirrored it would be so for north alone and not for east.
			up := (x[k]-x[0])*north[0] + (y[k]-y[0])*north[1]
			right := -(x[k]-x[0])*north[1] + (y[k]-y[0])*north[0]
			if math.Abs(up-(q[k]-q[0])) > 1e-2 || math.Abs(right-(e[k]-e[0])) > 1e-2 {
				t.Fatalf("point %d is drawn %.2f m north and %.2f m east, it is %.2f and %.2f", k, up, right, q[k]-q[0], e[k]-e[0])
			}
		}
		if math.Abs(math.Hypot(north[0], north[1])-1) > 1e-4 {
			t.Fatalf("north is %v", north)
		}
	})
}

// A trail without a long direction keeps north on top.
func TestMapOfARoundTrailIsNorthUp(t *testing.T) {
	var e, q []float64
	for i := range 360 {
		s, c := math.Sincos(float64(i) * math.Pi / 180)
		e, q = append(e, 100*c), append(q, 100*s)
	}
	if _, _, north := orient(e, q); north != [2]float64{0, -1} {
		t.Errorf("north is %v", north)
	}
}

func TestClasses(t *testing.T) {
	for _, c := range []struct {
		values []float64
		edges  []float64
		first  string
	}{
		{[]float64{0, 100, 200, 300, 400, 500, 600, 700, 800, 900}, []float64{200, 400, 600, 800}, "under 200"},
		{[]float64{5, 6, 7, 8, 9}, []float64{6, 7, 8, 9}, "under 6"},
		{[]float64{3, 3, 3}, []float64{4, 5, 6, 7}, "under 4"},
		{[]float64{0.1, 0.2, 0.31, 0.4, 0.5}, []float64{0.2, 0.3, 0.4, 0.5}, "under 0.2"},
	} {
		edges, words := classes(c.values)
		if !slices.Equal(edges, c.edges) || words[0] != c.first {
			t.Errorf("%v: %v %q, want %v", c.values, edges, words, c.edges)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		edges, words := classes(rapid.SliceOfN(rapid.Float64Range(-1e6, 1e6), 2, 50).Draw(t, "values"))
		if len(edges) != 4 || len(words) != 5 || !slices.IsSorted(edges) || edges[0] == edges[3] {
			t.Fatal(edges, words)
		}
		if slices.Compact(slices.Clone(words))[0] != words[0] || len(slices.Compact(slices.Clone(words))) != 5 {
			t.Fatalf("two classes read alike: %q", words)
		}
	})
}

// The times of a run are those of its positions, and no piece reaches over ground where it was off the line.
func TestMapRunsHaveTheirTimes(t *testing.T) {
	l := bentLine(600)
	p := placedRun(l, 120)
	p.OffLine = [][2]float64{{40, 50}}
	run := newMapRun(&GroundRun{Name: "r", Placed: p, ShiftS: -7.5})
	if len(run.Pieces) != 2 {
		t.Fatalf("%d pieces, want one on either side of what was off the line", len(run.Pieces))
	}
	for i, want := range [][2]float64{{-7.5, 32.5}, {42.5, 112.5}} {
		at := run.Pieces[i].TimeS
		if at[0] != want[0] || at[len(at)-1] != want[1] {
			t.Errorf("piece %d goes from %v to %v, want %v", i, at[0], at[len(at)-1], want)
		}
	}
}

// Every key of the reading has words of its own: a key that is new must not be shown as it is.
func TestEveryKeyHasWords(t *testing.T) {
	for _, k := range []string{analyze.CauseBottoming, analyze.CausePacking, analyze.CauseChatter, analyze.CauseBigHits, trail.CauseBraking, trail.CauseLanding} {
		if placeCause(k) == placeCause("") || alsoCause(k) == k {
			t.Errorf("cause %q has no words", k)
		}
	}
	for _, k := range []string{trail.RideOtherLine, trail.RideLighter, trail.RideSlowBefore, trail.RideAbsorb, trail.RideCarrySpeed, trail.RideLookFurther} {
		if tryRiding(k) == sentence(k)+"." {
			t.Errorf("riding %q has no words", k)
		}
	}
	for _, k := range []string{trail.SetFasterRebound, trail.SetSlowerRebound, trail.SetMoreAir, trail.SetSpacer, trail.SetMoreCompression, trail.SetLessHighSpeed, trail.SetMoreHighSpeed, trail.SetTyre, trail.SetCheckSag} {
		if trySetup(k) == sentence(k)+"." {
			t.Errorf("setup %q has no words", k)
		}
	}
}

// A page has a map only where the run has ground, and the same ground gives the same bytes.
func TestMapOnlyWithGround(t *testing.T) {
	g, timing, r, s := grounded(t, 1)
	without := pageOf(t, r, s, HTMLOptions{})
	if strings.Contains(without, `id="map-data"`) || strings.Contains(without, `id="places"`) || strings.Contains(without, "trailMap = (") {
		t.Error("a page without ground has a map, or its script")
	}
	with := pageOf(t, r, s, HTMLOptions{Ground: g, Timing: timing})
	for _, part := range []string{`id="map-data"`, `id="map"`, `id="places"`, `id="splits"`, "On the map", "On the time line"} {
		if !strings.Contains(with, part) {
			t.Errorf("the page has no %s", part)
		}
	}
	if with != pageOf(t, r, s, HTMLOptions{Ground: g, Timing: timing}) {
		t.Error("two pages of one run differ")
	}
	g.Line.EleM = nil
	if v := newMap(g); len(v.data.Ele) != 0 {
		t.Error("heights without elevation")
	}
	if newMap(nil) != nil || newMap(&Ground{}) != nil || newCoach(&Ground{Line: g.Line}) != nil {
		t.Error("a map or a list from nothing")
	}
}

// What several runs agree on is said, in the list and in the summary.
func TestAgreementIsSaid(t *testing.T) {
	g, timing, _, _ := grounded(t, 3)
	c := newCoach(g)
	if len(c.Places) == 0 {
		t.Fatal("no harsh place in a trail that has some")
	}
	for i, p := range c.Places {
		if !strings.Contains(p.Agree, " of 3 runs") || p.Cause == "" || p.Evidence == "" || len(p.Riding) == 0 || len(p.Setup) == 0 || p.Link != nil || p.Place == nil {
			t.Errorf("place %d: %+v", i+1, p)
		}
	}
	var b bytes.Buffer
	if err := TimingText(&b, timing, TextOptions{Ground: g}); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.String(), "Harsh place 1") || !strings.Contains(b.String(), " of 3 runs") {
		t.Errorf("the summary does not tell the harsh places:\n%s", b.String())
	}
}

// The JSON of a run and of a timing carries the reading, and stays as it was without one.
func TestTrailJSON(t *testing.T) {
	g, timing, r, _ := grounded(t, 1)
	var plain, same, full bytes.Buffer
	for _, err := range []error{JSON(&plain, r), RunJSON(&same, r, nil, nil, nil), RunJSON(&full, r, g, timing, nil)} {
		if err != nil {
			t.Fatal(err)
		}
	}
	if plain.String() != same.String() {
		t.Error("without a trail the JSON is another")
	}
	var got struct {
		SchemaVersion int            `json:"schema_version"`
		Trail         *trail.Reading `json:"trail"`
		Timing        struct {
			Gates []trail.TimedGate `json:"gates"`
		} `json:"timing"`
	}
	if err := json.Unmarshal(full.Bytes(), &got); err != nil {
		t.Fatal(err)
	}
	if got.SchemaVersion != r.SchemaVersion || got.Trail == nil || len(got.Trail.Places) != len(g.Reading.Places) || len(got.Timing.Gates) != 3 {
		t.Errorf("%+v", got)
	}
	full.Reset()
	if err := TimingJSON(&full, timing, g); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(full.String(), `"best_splits"`) || !strings.Contains(full.String(), `"harsh_places"`) {
		t.Error("the JSON of a timing lacks its splits or its trail")
	}
}

// Every key of the reading of a trail is described.
func TestTrailSchema(t *testing.T) {
	var read struct {
		Trail trail.Reading `json:"trail"`
	}
	fill(reflect.ValueOf(&read).Elem())
	have := map[string]string{}
	for path, kind := range keysOf(t, &read) {
		for _, end := range []string{".median", ".low", ".high"} {
			path = strings.TrimSuffix(path, end) // a figure over the runs is one line
		}
		for _, list := range []string{"trail.runs[].jumps[]", "trail.runs[].braking[]"} { // described once, elsewhere
			if strings.HasPrefix(path, list) {
				path = list
			}
		}
		have[path] = kind
	}
	holdSchema(t, "schema-trail.md", have)
}
