package ingest

import (
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
)

func TestPrepareRideLog(t *testing.T) {
	for _, c := range []struct {
		name      string
		jitter    float64
		lose      int
		samples   int
		lost      int
		resampled bool
	}{
		{"clean", 0, 0, 60000, 0, false},
		{"jittered", 60, 0, 60000, 0, true},
		{"every 200th sample lost", 5, 200, 59999, 299, false}, // the last one is lost without trace
	} {
		t.Run(c.name, func(t *testing.T) {
			tr, err := Prepare(rideLog(60000, c.jitter, c.lose), benchSetup, DefaultPrepareOptions())
			if err != nil {
				t.Fatal(err)
			}
			q := tr.Quality
			if q.Samples != c.samples || q.LostSamples != c.lost || q.Resampled != c.resampled || tr.RateHz != 1000 {
				t.Errorf("got %+v", q)
			}
		})
	}
}

// logAt is a log in mm with the given stamps in µs; travel is a slow wave, so that no sample looks like a spike.
func logAt(stamps []float64) *Recording {
	rec := &Recording{Source: "run.csv", Unit: UnitMM, Clock: Clock{Kind: ClockCounter, TickS: 1e-6}, Stamps: stamps}
	for _, s := range stamps {
		rec.Travel = append(rec.Travel, wave(s*1e-6))
	}
	return rec
}

func wave(s float64) float64 { return 60 + 40*math.Sin(2*math.Pi*1.5*s) }

// every returns n stamps, one step apart.
func every(n int, step float64) []float64 {
	s := make([]float64, n)
	for i := range s {
		s[i] = math.Round(float64(i) * step)
	}
	return s
}

// delay adds by to all stamps from the given one on.
func delay(s []float64, from int, by float64) []float64 {
	for i := from; i < len(s); i++ {
		s[i] += by
	}
	return s
}

func TestGapsAndGrid(t *testing.T) {
	coarse := func(rate float64, n int) []float64 { // whole ms, in µs
		s := every(n, 1e3/rate)
		for i := range s {
			s[i] *= 1000
		}
		return s
	}
	tests := []struct {
		name     string
		stamps   []float64
		rate     float64
		segments []int // samples of each
		want     Quality
	}{
		{"clean", every(2000, 1000), 1000, []int{2000}, Quality{}},
		{"one lost", delay(every(2000, 1000), 900, 1000), 1000, []int{2001}, Quality{LostSamples: 1}},
		{"a step of 3 periods is no gap", delay(every(2000, 1000), 900, 2000), 1000, []int{2002}, Quality{LostSamples: 2}},
		{"a step of 4 is", delay(every(2000, 1000), 900, 3000), 1000, []int{2003}, Quality{LostSamples: 3, BridgedGaps: 1}},
		{"20 ms is bridged", delay(every(2000, 1000), 900, 19000), 1000, []int{2019}, Quality{LostSamples: 19, BridgedGaps: 1}},
		{"21 ms splits", delay(every(2000, 1000), 900, 20000), 1000, []int{900, 1100}, Quality{Splits: []Gap{{0.899, 0.021}}}},
		{"short piece is left out", delay(delay(every(2000, 1000), 900, 30000), 1399, 30000), 1000, []int{900, 601},
			Quality{Splits: []Gap{{0.899, 0.031}, {1.428, 0.031}}, ShortSegments: 1, ShortSegmentsS: 0.499}},
		{"half a second is not short", delay(delay(every(2000, 1000), 900, 30000), 1400, 30000), 1000, []int{900, 500, 600},
			Quality{Splits: []Gap{{0.899, 0.031}, {1.429, 0.031}}}},
		{"slow log: 25 ms is under 3 periods", delay(every(200, 10000), 90, 15000), 100, []int{201}, Quality{LostSamples: 2, Resampled: true}},
		{"whole ms at 500 Hz", coarse(500, 1000), 500, []int{1000}, Quality{}},
		{"whole ms at 300 Hz", coarse(300, 3001), 300, []int{3001}, Quality{PeriodFromMean: true}}, // off by 1/3 ms, just 0.1 period
		{"whole ms at 290 Hz", coarse(290, 2901), 290, []int{2901}, Quality{PeriodFromMean: true}}, // off by rounding only
		{"whole ms at 450 Hz", coarse(450, 4501), 450, []int{4501}, Quality{PeriodFromMean: true}},
		{"drift of 0.04 % is followed", every(20001, 1000.4), 1e6 / 1000.4, []int{20001}, Quality{}},
		{"drift and losses", delay(every(20001, 1000.4), 7000, 2000.8), 1e6 / 1000.4, []int{20003}, Quality{LostSamples: 2}},
	}
	for _, c := range tests {
		t.Run(c.name, func(t *testing.T) {
			at := slices.Clone(c.stamps)
			tr, err := Prepare(logAt(c.stamps), Setup{Fork: Fork{TravelMM: 170}}, DefaultPrepareOptions())
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(tr.RateHz-c.rate) > 1e-6*c.rate {
				t.Errorf("rate %.9g, want %.9g", tr.RateHz, c.rate)
			}
			var sizes []int
			for _, s := range tr.Segments {
				sizes = append(sizes, len(s.TravelMM))
				for i, x := range s.TravelMM {
					if want := wave(s.StartS + float64(i)/tr.RateHz); math.Abs(x-want) > 0.5 {
						t.Fatalf("travel at %g s is %g, want %g", s.StartS+float64(i)/tr.RateHz, x, want)
					}
				}
			}
			if !slices.Equal(sizes, c.segments) {
				t.Errorf("segments of %v, want %v", sizes, c.segments)
			}
			q := tr.Quality
			for i := range q.Splits { // compare to the µs
				q.Splits[i] = Gap{math.Round(q.Splits[i].StartS*1e6) / 1e6, math.Round(q.Splits[i].DurationS*1e6) / 1e6}
			}
			got := Quality{LostSamples: q.LostSamples, BridgedGaps: q.BridgedGaps, Splits: q.Splits, ShortSegments: q.ShortSegments,
				ShortSegmentsS: math.Round(q.ShortSegmentsS*1e6) / 1e6, PeriodFromMean: q.PeriodFromMean, Resampled: q.Resampled}
			if !reflect.DeepEqual(got, c.want) {
				t.Errorf("got %+v\nwant %+v", got, c.want)
			}
			if q.Rows != len(at) || q.RateHz != tr.RateHz {
				t.Errorf("%d rows at %g Hz", q.Rows, q.RateHz)
			}
		})
	}
}

// One stamp in eight comes early and one late by as much: the RMS is half of that. Within 0.1 period (100 µs) the samples
// are taken to be on the grid.
func TestJitterAndTolerance(t *testing.T) {
	for _, c := range []struct {
		off       float64
		resampled bool
	}{{50, false}, {100, false}, {101, true}, {300, true}} {
		stamps := every(2001, 1000)
		for i := range stamps {
			switch i % 8 {
			case 3:
				stamps[i] += c.off
			case 7:
				stamps[i] -= c.off
			}
		}
		tr, err := Prepare(logAt(stamps), Setup{Fork: Fork{TravelMM: 170}}, DefaultPrepareOptions())
		if err != nil {
			t.Fatal(err)
		}
		q := tr.Quality
		if math.Abs(q.StampsJitterS/(c.off*0.5e-6)-1) > 1e-3 || q.Resampled != c.resampled || q.LostSamples != 0 || q.Samples != 2001 {
			t.Errorf("%g µs: got %+v", c.off, q)
		}
	}
}

// Whole-ms stamps of an 800 Hz log look like a 1 kHz log that lost every fifth sample. Both readings are named.
func TestStampsAsCoarseAsThePeriodAreSaid(t *testing.T) {
	stamps := every(4000, 1.25)
	for i := range stamps {
		stamps[i] *= 1000
	}
	tr, err := Prepare(logAt(stamps), Setup{Fork: Fork{TravelMM: 170}}, DefaultPrepareOptions())
	if err != nil {
		t.Fatal(err)
	}
	if !hasCaution(tr, "1000 samples are missing") || !hasCaution(tr, "too coarse for the sample rate") {
		t.Errorf("cautions: %q", tr.Cautions)
	}
}

// What was recorded on the grid comes out bit for bit, in the memory it came in.
func TestCleanLogIsNotCopied(t *testing.T) {
	rec := logAt(every(2000, 1000))
	rec.Extra = []Channel{{Name: "speed", Unit: "m/s", Values: slices.Clone(rec.Travel)}}
	travel, want := rec.Travel, slices.Clone(rec.Travel)
	tr, err := Prepare(rec, Setup{Fork: Fork{TravelMM: 170}}, DefaultPrepareOptions())
	if err != nil {
		t.Fatal(err)
	}
	s := tr.Segments[0]
	if &s.TravelMM[0] != &travel[0] || !slices.Equal(s.TravelMM, want) || !slices.Equal(s.Channels[0], want) || s.StartS != 0 {
		t.Error("a clean log was changed or copied")
	}
	if !reflect.DeepEqual(tr.Channels, []ChannelInfo{{"speed", "m/s"}}) {
		t.Errorf("channels %v", tr.Channels)
	}
}

// Extra channels come by the nearest sample, whichever way travel was put on the grid.
func TestExtraChannels(t *testing.T) {
	nan := math.NaN()
	got := make([]float64, 8)
	repeatNearest(got, []float64{10, 20, nan, 40}, findHoles([]float64{0, 1, 5, 7}, 1)) // steps 2, 3 (tie), 4 and 6 (tie) hold no sample
	want := []float64{10, 20, 20, 20, nan, nan, nan, 40}
	same := func(a, b float64) bool { return a == b || a != a && b != b }
	if !slices.EqualFunc(got, want, same) {
		t.Errorf("bridged: %v, want %v", got, want)
	}
	got = make([]float64, 5)
	nearest(got, []float64{2, 2.6, 3.4, 5.6, 6.1}, []float64{10, 20, nan, 40, 50}, 1) // instants 2, 3 (tie), 4, 5, 6
	want = []float64{10, 20, nan, 40, 50}
	if !slices.EqualFunc(got, want, same) {
		t.Errorf("resampled: %v, want %v", got, want)
	}
}

// Spikes are found among the recorded samples, so a hole beside one does not change what happens to it; a run of three
// is replaced by its medians, a longer one is left.
func TestSpikeRuns(t *testing.T) {
	for _, c := range []struct {
		run           int
		runs, samples int
		long          int
	}{{1, 1, 1, 0}, {3, 1, 3, 0}, {4, 0, 0, 1}} {
		rec := logAt(delay(every(2000, 1000), 1000, 5000))
		for i := range rec.Travel {
			rec.Travel[i] = 30
		}
		for i := range c.run {
			rec.Travel[1000+i] = 90
		}
		rec.Travel[1999] = 80 // at the edge
		tr, err := Prepare(rec, Setup{Fork: Fork{TravelMM: 170}}, DefaultPrepareOptions())
		if err != nil {
			t.Fatal(err)
		}
		q := tr.Quality
		if q.SpikeRuns != c.runs+1 || q.SpikeSamples != c.samples+1 || q.LongSpikeRuns != c.long {
			t.Errorf("run of %d: %+v", c.run, q)
		}
		top := slices.Max(tr.Segments[0].TravelMM)
		if want := map[bool]float64{true: 90, false: 30}[c.long > 0]; top != want {
			t.Errorf("run of %d: highest travel %g, want %g", c.run, top, want)
		}
	}
}

// Stamps of few digits must cost no accuracy where the samples were taken evenly: resampling on rounded stamps would add
// velocity noise. Real jitter of the same size must still be resampled.
func TestRoundedStampsKeepTheSamples(t *testing.T) {
	for _, hz := range []float64{290, 333, 450, 480} {
		var rounded, jittered []float64
		rng := rand.New(rand.NewPCG(1, 2))
		for i := range 3000 {
			ms := 1e3 * float64(i) / hz
			rounded = append(rounded, 1e3*math.Round(ms))
			jittered = append(jittered, math.Round(1e3*(ms+0.8*(rng.Float64()-0.5))))
		}
		rec := logAt(rounded)
		for i := range rec.Travel {
			rec.Travel[i] = wave(float64(i) / hz)
		}
		want := slices.Clone(rec.Travel)
		tr, err := Prepare(rec, Setup{Fork: Fork{TravelMM: 170}}, DefaultPrepareOptions())
		if err != nil {
			t.Fatal(err)
		}
		if tr.Quality.Resampled || !slices.Equal(tr.Segments[0].TravelMM, want) {
			t.Errorf("%g Hz: samples with rounded stamps were changed", hz)
		}
		tr, err = Prepare(logAt(jittered), Setup{Fork: Fork{TravelMM: 170}}, DefaultPrepareOptions())
		if err != nil {
			t.Fatal(err)
		}
		if !tr.Quality.Resampled {
			t.Errorf("%g Hz: a log with jitter of 0.4 ms was not resampled", hz)
		}
	}
}

// A spike beside a gap is held against its own side only: the last sample before the gap reads like the far side.
func TestSpikeBesideAGap(t *testing.T) {
	rec := &Recording{Unit: UnitMM, Clock: Clock{Kind: ClockElapsed, TickS: 1e-3}}
	for i := range 2000 {
		at, mm := float64(i), 20.0
		if i >= 1000 {
			at += 500
		}
		if i >= 999 {
			mm = 80
		}
		rec.Stamps, rec.Travel = append(rec.Stamps, at), append(rec.Travel, mm)
	}
	tr, err := Prepare(rec, Setup{Fork: Fork{TravelMM: 170}}, DefaultPrepareOptions())
	if err != nil {
		t.Fatal(err)
	}
	if q := tr.Quality; q.SpikeRuns != 1 || q.SpikeSamples != 1 || len(tr.Segments) != 2 {
		t.Fatalf("got %+v", q)
	}
	if a, b := tr.Segments[0].TravelMM[999], tr.Segments[1].TravelMM[0]; a != 20 || b != 80 {
		t.Errorf("beside the gap %g and %g mm, want 20 and 80", a, b)
	}
}
