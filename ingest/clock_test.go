package ingest

import (
	"math"
	"slices"
	"strings"
	"testing"
)

// Every row here is worked out by hand from the rules for stamps. Stamps are ms unless a tick is given; travel is
// the row number, so that it tells which rows were kept.
func TestStamps(t *testing.T) {
	nan := math.NaN()
	none := Quality{}
	tests := []struct {
		name   string
		kind   ClockKind
		tick   float64
		stamps []float64
		unread []int     // rows without a usable reading
		rows   []float64 // kept
		ticks  []float64
		want   Quality
	}{
		{"rising", ClockElapsed, 0, []float64{7, 8, 9.5}, nil, []float64{0, 1, 2}, []float64{0, 1, 2.5}, none},
		{"duplicates", ClockElapsed, 0, []float64{0, 1, 1, 1, 2}, nil, []float64{0, 1, 4}, []float64{0, 1, 2}, Quality{DuplicateStamps: 2}},
		{"backward", ClockElapsed, 0, []float64{0, 3, 1, 2, 3, 4}, nil, []float64{0, 1, 5}, []float64{0, 3, 4},
			Quality{BackwardStamps: 2, DuplicateStamps: 1}},
		{"no wrap of elapsed time", ClockElapsed, 0, []float64{0, 65535, 1, 65536}, nil, []float64{0, 2, 3}, []float64{0, 1, 65536},
			Quality{OutlierStamps: 1}},
		{"leap that returns", ClockElapsed, 0, []float64{0, 1, 10002, 2, 3}, nil, []float64{0, 1, 3, 4}, []float64{0, 1, 2, 3}, Quality{OutlierStamps: 1}},
		{"leap of 10 s is no outlier", ClockElapsed, 0, []float64{0, 1, 10001, 2, 10002}, nil, []float64{0, 1, 2, 4}, []float64{0, 1, 10001, 10002},
			Quality{BackwardStamps: 1}},
		{"leap that stays", ClockElapsed, 0, []float64{0, 1, 20000, 20001}, nil, []float64{0, 1, 2, 3}, []float64{0, 1, 20000, 20001}, none},
		{"two leaps apart", ClockElapsed, 0, []float64{0, 99999, 1, 88888, 2}, nil, []float64{0, 2, 4}, []float64{0, 1, 2}, Quality{OutlierStamps: 2}},
		{"first stamp leaps", ClockElapsed, 0, []float64{50000, 1, 2, 3}, nil, []float64{1, 2, 3}, []float64{0, 1, 2}, Quality{OutlierStamps: 1}},
		{"unusable readings go after stamps are settled", ClockElapsed, 0, []float64{0, 5, 3, 6, 7}, []int{1, 4}, []float64{0, 3}, []float64{0, 6},
			Quality{BackwardStamps: 1, UnusableReadings: 2}},
		{"first reading unusable", ClockElapsed, 0, []float64{4, 5, 6}, []int{0}, []float64{1, 2}, []float64{1, 2}, Quality{UnusableReadings: 1}},
		{"not a time", ClockElapsed, 0, []float64{0, nan, 1, 1e300, math.Inf(1), 2}, nil, []float64{0, 2, 5}, []float64{0, 1, 2},
			Quality{BackwardStamps: 1, OutlierStamps: 2}},

		{"16-bit wrap", ClockCounter, 0, []float64{65533, 65534, 65535, 0, 1}, nil, []float64{0, 1, 2, 3, 4}, []float64{0, 1, 2, 3, 4},
			Quality{Wraps: 1, WrapBits: 16}},
		{"32-bit wrap", ClockCounter, 1e-6, []float64{4294966000, 4294967000, 704, 1704}, nil, []float64{0, 1, 2, 3}, []float64{0, 1000, 2000, 3000},
			Quality{Wraps: 1, WrapBits: 32}},
		{"signed 32-bit wrap", ClockCounter, 1e-6, []float64{2147483000, -2147483296, -2147482296}, nil, []float64{0, 1, 2}, []float64{0, 1000, 2000},
			Quality{Wraps: 1, WrapBits: 32}},
		{"two wraps", ClockCounter, 1e-6, []float64{0, 30000, 60000, 24464, 54464, 18928}, nil, []float64{0, 1, 2, 3, 4, 5},
			[]float64{0, 30000, 60000, 90000, 120000, 150000}, Quality{Wraps: 2, WrapBits: 16}},
		{"half the range back is no wrap", ClockCounter, 1e-6, []float64{40000, 7232, 40001}, nil, []float64{0, 2}, []float64{0, 1}, Quality{BackwardStamps: 1}},
		{"just over half is one", ClockCounter, 1e-6, []float64{40000, 7231, 7232}, nil, []float64{0, 1, 2}, []float64{0, 32767, 32768},
			Quality{Wraps: 1, WrapBits: 16}},
		{"late over the wrap", ClockCounter, 1e-6, []float64{65530, 2, 65533, 5, 8}, nil, []float64{0, 2, 3, 4}, []float64{0, 3, 11, 14},
			Quality{Wraps: 1, WrapBits: 16, BackwardStamps: 1}},
		{"late after the wrap", ClockCounter, 1e-6, []float64{65530, 2, 5, 65533, 8}, nil, []float64{0, 1, 2, 4}, []float64{0, 8, 11, 14},
			Quality{Wraps: 1, WrapBits: 16, BackwardStamps: 1}},
		{"damaged high stamp is no wrap", ClockCounter, 1e-6, []float64{1000, 2000, 4e9, 3000, 4000}, nil, []float64{0, 1, 3, 4}, []float64{0, 1000, 2000, 3000},
			Quality{OutlierStamps: 1}},
		{"damaged low stamp is no wrap", ClockCounter, 1e-6, []float64{3e9, 3e9 + 1000, 0, 3e9 + 2000}, nil, []float64{0, 1, 3}, []float64{0, 1000, 2000},
			Quality{BackwardStamps: 1}},
		{"damaged stamp of 16 bits", ClockCounter, 1e-6, []float64{100, 60000, 1100, 2100}, nil, []float64{0, 2, 3}, []float64{0, 1000, 2000},
			Quality{OutlierStamps: 1}},
		{"over 32 bits does not wrap", ClockCounter, 1e-6, []float64{5e9, 5e9 + 1000, 1000, 5e9 + 2000}, nil, []float64{0, 1, 3}, []float64{0, 1000, 2000},
			Quality{BackwardStamps: 1}},
	}
	for _, c := range tests {
		t.Run(c.name, func(t *testing.T) {
			tick := c.tick
			if tick == 0 {
				tick = 1e-3
			}
			rec := &Recording{Clock: Clock{Kind: c.kind, TickS: tick}, Stamps: slices.Clone(c.stamps)}
			for i := range c.stamps {
				rec.Travel = append(rec.Travel, float64(i))
			}
			rec.Extra = []Channel{{Values: slices.Clone(rec.Travel)}}
			for _, i := range c.unread {
				rec.Travel[i] = nan
			}
			var q Quality
			tl, err := newTimeline(rec, readingRange{-1e3, 1e3}, DefaultPrepareOptions(), &q)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "rows", tl.travel, c.rows)
			near(t, "channel", tl.extra[0], c.rows)
			near(t, "ticks", tl.ticks, c.ticks)
			if got, want := counts(q), counts(c.want); got != want {
				t.Errorf("counted %v, want %v", got, want)
			}
		})
	}
}

// counts are the stamp counts of q: wrap bits, wraps, duplicates, backward, outliers, unusable readings.
func counts(q Quality) [6]int {
	return [6]int{q.WrapBits, q.Wraps, q.DuplicateStamps, q.BackwardStamps, q.OutlierStamps, q.UnusableReadings}
}

func TestMarkerTimes(t *testing.T) {
	rec := &Recording{
		Clock:  Clock{Kind: ClockElapsed, TickS: 1e-3},
		Stamps: []float64{100, 101, 100.5, 102, 103}, // row 2 is dropped: its marker takes row 1's time
		Travel: []float64{1, 2, 3, math.NaN(), 5},    // row 3 has a time, though no reading
		Markers: []Marker{{Sample: 3, Label: "c"}, {Sample: 2, Label: "b"}, {Sample: -1, Label: "before"},
			{Sample: 99, Label: "after"}, {Sample: 0, Label: "a"}},
	}
	tl, err := newTimeline(rec, readingRange{-1e3, 1e3}, DefaultPrepareOptions(), new(Quality))
	if err != nil {
		t.Fatal(err)
	}
	want := []TraceMarker{{0, "before"}, {0, "a"}, {0.001, "b"}, {0.002, "c"}, {0.003, "after"}}
	if len(tl.markers) != len(want) {
		t.Fatalf("got %v", tl.markers)
	}
	for i, m := range tl.markers {
		if m.Label != want[i].Label || math.Abs(m.TimeS-want[i].TimeS) > 1e-12 {
			t.Errorf("marker %d is %v, want %v", i, m, want[i])
		}
	}
}

// A device that restarts counts from 0 again. Until its clock has caught up, rows are dropped; that is said, and the
// samples on the two sides do not end up in one segment.
func TestRestartedClockIsSaid(t *testing.T) {
	rec := &Recording{Unit: UnitMM, Clock: Clock{Kind: ClockElapsed, TickS: 1e-3}}
	for i := range 3000 {
		rec.Stamps = append(rec.Stamps, float64(i))
	}
	for i := range 8000 {
		rec.Stamps = append(rec.Stamps, float64(i))
	}
	rec.Travel = make([]float64, len(rec.Stamps))
	tr, err := Prepare(rec, Setup{Fork: Fork{TravelMM: 170}}, DefaultPrepareOptions())
	if err != nil {
		t.Fatal(err)
	}
	q := tr.Quality
	if q.BackwardStamps != 2999 || q.DuplicateStamps != 1 || len(tr.Segments) != 2 || len(q.Splits) != 1 {
		t.Errorf("got %+v", q)
	}
	if len(tr.Segments[0].TravelMM) != 3000 || len(tr.Segments[1].TravelMM) != 5000 {
		t.Errorf("segments of %d and %d", len(tr.Segments[0].TravelMM), len(tr.Segments[1].TravelMM))
	}
	if !hasCaution(tr, "3000 rows") || !hasCaution(tr, "from 3.0 s on") {
		t.Errorf("cautions: %q", tr.Cautions)
	}
}

// A restart after over half the counter's range looks like a wrap; the gap that makes is said to be doubtful.
func TestRestartLikeWrapIsSaid(t *testing.T) {
	rec := &Recording{Unit: UnitMM, Clock: Clock{Kind: ClockCounter, TickS: 1e-3}}
	for i := range 40000 {
		rec.Stamps = append(rec.Stamps, float64(i))
	}
	for i := range 1000 {
		rec.Stamps = append(rec.Stamps, float64(i))
	}
	rec.Travel = make([]float64, len(rec.Stamps))
	tr, err := Prepare(rec, Setup{Fork: Fork{TravelMM: 170}}, DefaultPrepareOptions())
	if err != nil {
		t.Fatal(err)
	}
	if tr.Quality.Wraps != 1 || len(tr.Segments) != 2 || !hasCaution(tr, "gap of 25.5 s") { // 65536 − 39999 ms
		t.Errorf("got %+v, cautions %q", tr.Quality, tr.Cautions)
	}
}

func hasCaution(tr *Trace, text string) bool {
	return slices.ContainsFunc(tr.Cautions, func(c string) bool { return strings.Contains(c, text) })
}
