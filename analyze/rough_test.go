package analyze

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"stanchion/ingest"
)

// cellsOf makes cells of 250 samples from a picture: '#' harsh (200 mm/s), '.' riding (100 mm/s), ' ' standing.
func cellsOf(picture string) []cell {
	var cells []cell
	for i, c := range picture {
		k := cell{lo: 250 * i, hi: 250 * (i + 1)}
		switch c {
		case '#':
			k.rms, k.riding = 200, true
		case '.':
			k.rms, k.riding = 100, true
		}
		cells = append(cells, k)
	}
	return cells
}

// Harsh cells merge over gaps under 1 s (three cells, not four) and are kept from 1.5 s on (six cells, gaps included).
func TestHarshSpans(t *testing.T) {
	r := &ride{opt: DefaultOptions(), fs: 1000, T: 160}
	for _, c := range []struct {
		picture string
		want    [][2]int // in cells
	}{
		{"..######..", [][2]int{{2, 8}}},
		{"..#####..", nil},
		{"##...#", [][2]int{{0, 6}}},
		{"##....##", nil},
		{"#...#...#", [][2]int{{0, 9}}},
		{"######....######", [][2]int{{0, 6}, {10, 16}}},
		{"######...######", [][2]int{{0, 15}}},
		{"######", [][2]int{{0, 6}}},
		{"......", nil},
		{"", nil},
	} {
		var got [][2]int
		for _, s := range r.harshSpans(cellsOf(c.picture), 200) {
			got = append(got, [2]int{s[0] / 250, s[1] / 250})
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%q: %v, want %v", c.picture, got, c.want)
		}
	}
	standing := cellsOf("##########")
	for i := range standing {
		standing[i].riding = false
	}
	if got := r.harshSpans(standing, 200); got != nil {
		t.Errorf("standing: %v", got)
	}
}

// burst is a stretch of a ride with a sine of its own.
type burst struct {
	from, to, amplitude, hz float64
}

// rideWithBursts is seconds of gentle riding about 40 mm with bursts, each a whole number of periods of its sine.
func rideWithBursts(fs, seconds float64, bursts ...burst) []float64 {
	x := sine(fs, seconds, 40, 6, 2)
	for i := range x {
		for _, b := range bursts {
			if s := float64(i) / fs; s >= b.from && s < b.to {
				x[i] += b.amplitude * math.Sin(2*math.Pi*b.hz*(s-b.from))
			}
		}
	}
	return x
}

func roughOf(t *testing.T, trace *ingest.Trace) Rough {
	t.Helper()
	res, _, err := Run(trace, DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	return res.Rough
}

// Two bursts in a gentle minute, through the whole of Run. Closed forms: RMS v of a sum of sines √(Σ(2πfA)²/2), exposure RMS²·t, peak of v
// near Σ2πfA, the centroid of velocity power between the two frequencies. The sections are ranked by exposure.
func TestHarshSections(t *testing.T) {
	const fs = 1000.0
	x := rideWithBursts(fs, 60, burst{10, 14, 10, 5}, burst{30, 35, 6, 15})
	rough := roughOf(t, traceOf(fs, x))
	if len(rough.Sections) != 2 {
		t.Fatalf("%d sections, want 2: %+v", len(rough.Sections), rough.Sections)
	}
	for i, want := range []burst{{30, 35, 6, 15}, {10, 14, 10, 5}} {
		h := rough.Sections[i]
		// The 1 s window of a cell reaches half a second out of a burst.
		if math.Abs(h.StartS-want.from) > 0.5 || math.Abs(h.EndS-want.to) > 0.5 {
			t.Errorf("section %d: %g…%g s, want %g…%g s", i, h.StartS, h.EndS, want.from, want.to)
		}
		slow, fast := 2*math.Pi*2*6, 2*math.Pi*want.hz*want.amplitude
		inside := min(h.EndS, want.to) - max(h.StartS, want.from)
		exposure := slow*slow/2*(h.EndS-h.StartS) + fast*fast/2*inside
		closeTo(t, fmt.Sprintf("section %d: exposure", i), h.Exposure, exposure, 0.02)
		closeTo(t, fmt.Sprintf("section %d: RMS", i), h.RMSMMS, math.Sqrt(h.Exposure/(h.EndS-h.StartS)), 1e-9)
		closeTo(t, fmt.Sprintf("section %d: peak", i), h.PeakMMS, slow+fast, 0.05)
		closeTo(t, fmt.Sprintf("section %d: mean travel", i), h.MeanMM, 40, 0.01)
		// Windows at the edges of a burst hold less of it: tolerance 5 %.
		centroid := (2*slow*slow + want.hz*fast*fast) / (slow*slow + fast*fast)
		closeTo(t, fmt.Sprintf("section %d: band", i), present(t, "band", h.BandHz), centroid, 0.05)
		if h.StartM.OK() || h.StartM.Reason() != noDistance {
			t.Errorf("section %d: distance %+v", i, h.StartM)
		}
	}
	if got := rough.Sections[0].Causes; !slices.Equal(got, []string{CauseChatter}) {
		t.Errorf("15 Hz of small amplitude: %v, want chatter", got)
	}
	if got := rough.Sections[1].Causes; !slices.Equal(got, []string{CauseRough}) {
		t.Errorf("5 Hz: %v, want rough ground", got)
	}
	near(t, "median", rough.MedianMMS, 2*math.Pi*2*6/math.Sqrt2, 0.5)
	if len(rough.ThresholdMMS.Caveats()) == 0 || rough.PerTenMetres != nil {
		t.Errorf("threshold %+v, per 10 m %v", rough.ThresholdMMS, rough.PerTenMetres)
	}
}

// The share of time with v at or over 200 mm/s of a sine of peak speed V is acos(200/V)/π. Closed form.
func TestHarshFastShare(t *testing.T) {
	const fs = 1000.0
	x := sine(fs, 8, 40, 10, 5)
	r := rideOf(t, fs, x)
	h := r.harshSection(&r.segs[0], 2000, 6000)
	peak := 2 * math.Pi * 5 * 10
	closeTo(t, "fast share", h.FastShare, math.Acos(200/peak)/math.Pi, 0.02) // whole samples of 200 in a period
	closeTo(t, "peak travel", h.PeakMM, 50, 1e-3)
	closeTo(t, "peak speed", h.PeakMMS, peak, 1e-3)
}

// Each rule alone, its limits, and the order when several hold.
func TestCauses(t *testing.T) {
	r := &ride{opt: DefaultOptions(), fs: 1000, T: 160}
	share := r.opt.ChatterShare
	for _, c := range []struct {
		name    string
		h       HarshSection
		share   float64
		bigHits int
		want    []string
	}{
		{"none", HarshSection{PeakMM: 60}, 0.1, 0, []string{CauseRough}},
		{"bottoming", HarshSection{PeakMM: 159, BottomOuts: 1}, 0.1, 0, []string{CauseBottoming}},
		{"packing", HarshSection{PeakMM: 90, PackingRuns: 1}, 0.1, 0, []string{CausePacking}},
		{"chatter", HarshSection{PeakMM: 79.9}, share, 0, []string{CauseChatter}},
		{"chatter share short", HarshSection{PeakMM: 79.9}, share - 1e-9, 0, []string{CauseRough}},
		{"chatter too deep", HarshSection{PeakMM: 80}, 1, 0, []string{CauseRough}},
		{"big hits", HarshSection{PeakMM: 120}, 0.1, 2, []string{CauseBigHits}},
		{"all", HarshSection{PeakMM: 79, BottomOuts: 1, PackingRuns: 1}, 1, 1, []string{CauseBottoming, CausePacking, CauseChatter, CauseBigHits}},
	} {
		c.h.FastBands = Value(c.share, 1)
		if got := r.causes(c.h, c.bigHits); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// A big hit is a compression stroke of 40 % of travel (64 mm) over 1500 mm/s with its midpoint in the section.
func TestBigHits(t *testing.T) {
	r := &ride{opt: DefaultOptions(), fs: 1000, T: 160}
	h := HarshSection{StartS: 10, EndS: 12}
	hit := Stroke{StartS: 10.5, EndS: 10.6, Compression: true, AmplitudeMM: 64, PeakMMS: 1501}
	for _, c := range []struct {
		name   string
		change func(*Stroke)
		want   int
	}{
		{"at the limits", func(*Stroke) {}, 1},
		{"small", func(s *Stroke) { s.AmplitudeMM = 63.9 }, 0},
		{"slow", func(s *Stroke) { s.PeakMMS = 1500 }, 0},
		{"rebound", func(s *Stroke) { s.Compression = false }, 0},
		{"midpoint before", func(s *Stroke) { s.StartS, s.EndS = 9.94, 10.04 }, 0},
		{"midpoint at the start", func(s *Stroke) { s.StartS, s.EndS = 9.95, 10.05 }, 1},
		{"midpoint at the end", func(s *Stroke) { s.StartS, s.EndS = 11.5, 12.5 }, 0},
	} {
		s := hit
		c.change(&s)
		before, after := hit, hit
		before.StartS, before.EndS, after.StartS, after.EndS = 8, 9, 13, 13.1
		if got := r.bigHits([]Stroke{before, s, after}, h); got != c.want {
			t.Errorf("%s: %d, want %d", c.name, got, c.want)
		}
	}
}

// Bottom-outs count by their start, packing runs where they overlap the section.
func TestHarshCounts(t *testing.T) {
	h := HarshSection{StartS: 10, EndS: 12}
	h.count([]BottomOut{{TimeS: 9.999}, {TimeS: 10}, {TimeS: 11.9}, {TimeS: 12}},
		[]PackingRun{{StartS: 8, EndS: 9.9}, {StartS: 9, EndS: 10}, {StartS: 11.9, EndS: 14}, {StartS: 12, EndS: 13}})
	if h.BottomOuts != 2 || h.PackingRuns != 2 {
		t.Errorf("%d bottom-outs and %d packing runs, want 2 and 2", h.BottomOuts, h.PackingRuns)
	}
}

// With a distance channel sections have distances and every 10 m its RMS speed, over the samples in it while riding. A constant
// 5 m/s makes a cell of 10 m last 2 s, four periods of the sine: RMS v is 2πfA/√2. Closed form.
func TestRoughnessByDistance(t *testing.T) {
	const fs = 500.0
	x := rideWithBursts(fs, 60, burst{20, 26, 9, 10})
	trace := traceOf(fs, x)
	along := make([]float64, len(x))
	for i := range along {
		along[i] = 0.1 + 5*float64(i)/fs/1000 // km
		if i%7 == 3 {
			along[i] = math.NaN()
		}
	}
	along[100] = 1e300
	trace.Channels = []ingest.ChannelInfo{{Name: "distance", Unit: "km"}}
	trace.Segments[0].Channels = [][]float64{along}
	rough := roughOf(t, trace)
	if len(rough.PerTenMetres) != 30 {
		t.Fatalf("%d cells of 10 m, want 30", len(rough.PerTenMetres))
	}
	slow, fast := 2*math.Pi*2*6, 2*math.Pi*10*9
	for i, c := range rough.PerTenMetres {
		if c.StartM != 100+10*float64(i) {
			t.Errorf("cell %d starts at %g m", i, c.StartM)
		}
		want := slow / math.Sqrt2
		if i >= 10 && i < 13 {
			want = math.Hypot(slow, fast) / math.Sqrt2
		}
		if i > 0 && i < 29 && i != 9 && i != 13 { // the filter rings at the edges
			closeTo(t, fmt.Sprintf("RMS of cell %d", i), c.RMSMMS, want, 0.02)
		}
	}
	h := rough.Sections[0]
	closeTo(t, "start", present(t, "start", h.StartM), 100+5*h.StartS, 1e-3)
	closeTo(t, "end", present(t, "end", h.EndM), 100+5*h.EndS, 1e-3)
}

// Without riding nothing is rough, with a reason.
func TestRoughNothing(t *testing.T) {
	r := bare(t, 1000, constant(5000, 0))
	rough := r.rough(nil, nil, nil)
	gone(t, "threshold", rough.ThresholdMMS)
	gone(t, "median", rough.MedianMMS)
	r.noVelocity = "too slow"
	if rough = r.rough(nil, nil, nil); rough.ThresholdMMS.Reason() != "too slow" {
		t.Errorf("reason %q", rough.ThresholdMMS.Reason())
	}
}

// Whatever the roughness: sections are disjoint, ranked by exposure, at least 1.5 s long, inside their segment, and a shift in time
// moves nothing but the times. Segments do not know of each other's order.
func TestHarshSectionProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const fs = 200.0
		build := func(label string) []float64 {
			loud := rapid.SliceOfN(rapid.Float64Range(0, 12), 4, 60).Draw(t, label)
			x := make([]float64, int(fs)*len(loud)/2)
			for i := range x {
				x[i] = 40 + loud[i/int(fs/2)]*math.Sin(2*math.Pi*6*float64(i)/fs)
			}
			return x
		}
		a, b := build("a"), build("b")
		run := func(shift float64, segments ...[]float64) *Result {
			trace := traceOf(fs, segments...)
			for i := range trace.Segments {
				trace.Segments[i].StartS += shift
			}
			res, _, err := Run(trace, DefaultOptions())
			if err != nil {
				t.Fatal(err)
			}
			return res
		}
		res := run(0, a, b)
		sections := res.Rough.Sections
		for i, h := range sections {
			if h.EndS-h.StartS < 1.5-1e-9 || i > 0 && h.Exposure > sections[i-1].Exposure {
				t.Fatalf("section %d: %+v", i, h)
			}
			if k := int(h.StartS / 100); h.EndS > 100*float64(k)+float64(len([][]float64{a, b}[k]))/fs+1e-9 {
				t.Fatalf("section %d leaves its segment: %+v", i, h)
			}
			for _, o := range sections[:i] {
				if h.StartS < o.EndS && o.StartS < h.EndS {
					t.Fatalf("%+v and %+v overlap", h, o)
				}
			}
		}
		// A power of two shifts times without rounding.
		moved := run(1024, a, b)
		for i := range sections {
			want := sections[i]
			want.StartS, want.EndS = want.StartS+1024, want.EndS+1024
			if fmt.Sprintf("%+v", moved.Rough.Sections[i]) != fmt.Sprintf("%+v", want) {
				t.Fatalf("moved by 1024 s: %+v, want %+v", moved.Rough.Sections[i], want)
			}
		}
		swapped := run(0, b, a)
		if len(swapped.Rough.Sections) != len(sections) || swapped.Rough.ThresholdMMS.Or(-1) != res.Rough.ThresholdMMS.Or(-1) {
			t.Fatalf("segments in the other order: %d sections, want %d", len(swapped.Rough.Sections), len(sections))
		}
	})
}

// A section shorter than the window of its spectrum has no band frequency and no share, and chatter is not claimed.
func TestShortSectionHasNoSpectrum(t *testing.T) {
	opt := DefaultOptions()
	opt.SectionWindowS, opt.ChatterShare = 8, 0
	res, _, err := Run(traceOf(1000, rideWithBursts(1000, 60, burst{10, 14, 10, 5})), opt)
	if err != nil {
		t.Fatal(err)
	}
	if len(res.Rough.Sections) == 0 {
		t.Fatal("no section")
	}
	for _, h := range res.Rough.Sections {
		gone(t, "band frequency", h.BandHz)
		gone(t, "share of the fast bands", h.FastBands)
		if slices.Contains(h.Causes, CauseChatter) {
			t.Errorf("causes %v without a spectrum", h.Causes)
		}
	}
}

// Roughness by distance is that of riding: 10 m in which the fork was still, pushed at walking pace, are left out.
func TestRoughnessByDistanceOnlyWhileRiding(t *testing.T) {
	x := append(sine(500, 20, 40, 6, 2), constant(10000, 40)...)
	trace := traceOf(500, x)
	along := make([]float64, len(x))
	for i := range along {
		along[i] = 5 * float64(i) / 500
	}
	trace.Channels = []ingest.ChannelInfo{{Name: "distance", Unit: "m"}}
	trace.Segments[0].Channels = [][]float64{along}
	cells := roughOf(t, trace).PerTenMetres
	if n := len(cells); n == 0 || cells[n-1].StartM != 100 { // riding ends half a second after 20 s
		t.Errorf("cells of 10 m: %+v, want the last at 100 m", cells)
	}
}
