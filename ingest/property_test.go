package ingest

import (
	"math"
	"reflect"
	"slices"
	"sort"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// plainHampel lists index and median of the samples out of line, straight from the definition.
func plainHampel(x []float64, o PrepareOptions) (out []spike) {
	median := func(v []float64) float64 {
		v = slices.Clone(v)
		sort.Float64s(v)
		return (v[(len(v)-1)/2] + v[len(v)/2]) / 2
	}
	for i, v := range x {
		w := x[max(i-o.SpikeHalfWindow, 0):min(i+o.SpikeHalfWindow+1, len(x))]
		m := median(w)
		var dev []float64
		for _, u := range w {
			dev = append(dev, math.Abs(u-m))
		}
		if math.Abs(v-m) > max(o.SpikeMADs*1.4826*median(dev), o.SpikeMinMM) {
			out = append(out, spike{i, m})
		}
	}
	return out
}

func TestHampelShortcutsAreExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := DefaultPrepareOptions()
		o.SpikeHalfWindow = rapid.IntRange(0, 7).Draw(t, "half window")
		o.SpikeMADs = rapid.SampledFrom([]float64{0, 1, 4}).Draw(t, "MADs")
		// Steps of whole quarter millimetres hit the limit of 2 mm exactly now and then.
		size := rapid.SampledFrom([]int{2, 4, 12, 40}).Draw(t, "step size")
		steps := rapid.SliceOfN(rapid.IntRange(-size, size), 1, 120).Draw(t, "steps")
		x := make([]float64, len(steps))
		v := 50.0
		for i, s := range steps {
			if s == size && i%3 == 0 {
				x[i] = v + 40 // a spike
				continue
			}
			v += float64(s) / 4
			x[i] = v
		}
		if got, want := findSpikes(x, o), plainHampel(x, o); !slices.Equal(got, want) {
			t.Fatalf("x %v: got %v, want %v", x, got, want)
		}
	})
}

// drawSteps draws whole-µs steps of a 1 kHz log with jitter, short losses, bridged and long gaps.
func drawSteps(t *rapid.T, longest int) []float64 {
	return rapid.Custom(func(t *rapid.T) []float64 {
		var s []float64
		for range rapid.IntRange(1, 4).Draw(t, "parts") {
			n := rapid.IntRange(1, 900).Draw(t, "samples")
			jitter := rapid.SampledFrom([]int{0, 0, 40, 200}).Draw(t, "jitter")
			phase := rapid.IntRange(1, 1000).Draw(t, "phase")
			for i := range n {
				s = append(s, float64(1000+(i*phase*7919)%(2*jitter+1)-jitter))
			}
			s = append(s, float64(rapid.IntRange(1500, longest).Draw(t, "gap")))
		}
		return s
	}).Draw(t, "steps")
}

// fromSteps is a counter log with its first stamp at start and a range of span ticks.
func fromSteps(steps []float64, start, span float64) *Recording {
	rec := &Recording{Source: "run.csv", Unit: UnitMM, Clock: Clock{Kind: ClockCounter, TickS: 1e-6}}
	at := 0.0
	for i := range len(steps) + 1 {
		rec.Stamps = append(rec.Stamps, math.Mod(start+at, span))
		rec.Travel = append(rec.Travel, wave(at*1e-6))
		if i < len(steps) {
			at += steps[i]
		}
	}
	rec.Extra = []Channel{{Name: "row", Values: slices.Clone(rec.Travel)}}
	rec.Markers = []Marker{{Sample: len(steps) / 2, Label: "gate"}}
	return rec
}

// prepared is the outcome of Prepare without what may differ with the clock's start: the count of wraps, and the doubt
// whether one beside a long gap was a restart.
func prepared(rec *Recording) (*Trace, string) {
	tr, err := Prepare(rec, Setup{Fork: Fork{TravelMM: 170}}, DefaultPrepareOptions())
	if err != nil {
		return nil, err.Error()
	}
	tr.Quality.Wraps, tr.Quality.WrapBits = 0, 0
	var cautions []string
	for _, c := range tr.Cautions {
		if !strings.Contains(c, "wrapped") {
			cautions = append(cautions, c)
		}
	}
	tr.Cautions = cautions
	return tr, ""
}

func sameOutcome(t *rapid.T, a, b *Recording) {
	ta, ea := prepared(a)
	tb, eb := prepared(b)
	if ea != eb || !reflect.DeepEqual(ta, tb) {
		t.Fatalf("outcomes differ: %q, %q", ea, eb)
	}
}

func TestCounterStartDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		span, longest := 0x1p32, 5_000_000
		if rapid.Bool().Draw(t, "16 bits") {
			span, longest = 0x1p16, 32000
		}
		steps := drawSteps(t, longest)
		steps = append(steps, slices.Repeat([]float64{1000}, 100)...) // past 65536 in any case
		start := rapid.IntRange(0, int(span)-1).Draw(t, "start")
		a, b := fromSteps(steps, 0, span), fromSteps(steps, float64(start), span)
		if rapid.Bool().Draw(t, "at the wrap") {
			b = fromSteps(steps, span-1000, span)
		}
		sameOutcome(t, a, b)
	})
}

func TestTimeShiftDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		steps := drawSteps(t, 5_000_000)
		shift := float64(rapid.Int64Range(-1e12, 1e12).Draw(t, "shift"))
		a, b := fromSteps(steps, 0, 0x1p52), fromSteps(steps, 0, 0x1p52)
		a.Clock.Kind, b.Clock.Kind = ClockElapsed, ClockElapsed
		for i := range b.Stamps {
			b.Stamps[i] += shift
		}
		sameOutcome(t, a, b)
	})
}

func TestStampUnitDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		steps := drawSteps(t, 5_000_000)
		scale := math.Ldexp(1, rapid.IntRange(-20, 20).Draw(t, "power of two")) // exact
		a, b := fromSteps(steps, 0, 0x1p52), fromSteps(steps, 0, 0x1p52)
		a.Clock.Kind, b.Clock.Kind = ClockElapsed, ClockElapsed
		b.Clock.TickS /= scale
		for i := range b.Stamps {
			b.Stamps[i] *= scale
		}
		sameOutcome(t, a, b)
	})
}

// Whatever is lost from a clean log, each sample that was recorded stays at its time.
func TestLossesKeepTimes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1200, 3000).Draw(t, "samples")
		full := every(n, 1000)
		lost := map[int]bool{}
		for range rapid.IntRange(0, 40).Draw(t, "holes") {
			from := rapid.IntRange(1, n-2).Draw(t, "from")
			for k := range rapid.IntRange(1, 30).Draw(t, "width") {
				lost[min(from+k, n-2)] = true
			}
		}
		var stamps []float64
		for i, s := range full {
			if !lost[i] {
				stamps = append(stamps, s)
			}
		}
		rec := logAt(stamps)
		for i, s := range rec.Stamps {
			rec.Travel[i] = calm(s * 1e-6)
		}
		n0 := len(stamps)
		tr, err := Prepare(rec, Setup{Fork: Fork{TravelMM: 170}}, DefaultPrepareOptions())
		if err != nil {
			return // all in pieces
		}
		q := tr.Quality
		for _, seg := range tr.Segments {
			first := math.Round(seg.StartS * 1000)
			if math.Abs(seg.StartS*1000-first) > 1e-6 {
				t.Fatalf("segment starts at %g s", seg.StartS)
			}
			for i, x := range seg.TravelMM {
				at := int(first) + i
				want, tolerance := calm(float64(at)*1e-3), 1e-9
				if lost[at] {
					tolerance = 0.05 // bridged
				}
				if math.Abs(x-want) > tolerance {
					t.Fatalf("sample at %d ms is %g, want %g", at, x, want)
				}
			}
		}
		if short := int(math.Round(q.ShortSegmentsS * 1000)); q.ShortSegments == 0 && q.Samples-q.LostSamples != n0 ||
			q.Samples+short+missing(q) != n {
			t.Fatalf("%d samples of %d: %+v", n0, n, q)
		}
	})
}

// calm is travel that stays within 2 mm, so that a lone sample between two holes is no spike.
func calm(s float64) float64 { return 60 + 0.9*math.Sin(2*math.Pi*3*s) }

// missing is the number of 1 kHz samples in the splits.
func missing(q Quality) (n int) {
	for _, g := range q.Splits {
		n += int(math.Round(g.DurationS*1000)) - 1
	}
	return n
}

// Every row is accounted for, once.
func TestRowsAreConserved(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.SampledFrom([]ClockKind{ClockCounter, ClockElapsed, ClockWall}).Draw(t, "kind")
		stamp := rapid.OneOf(rapid.Float64Range(0, 50), rapid.Float64Range(-1e6, 1e6), rapid.Float64())
		rec := &Recording{Clock: Clock{Kind: kind, TickS: 1e-3}, Stamps: rapid.SliceOfN(stamp, 1, 60).Draw(t, "stamps")}
		for i := range rec.Stamps {
			rec.Travel = append(rec.Travel, rapid.SampledFrom([]float64{float64(i), math.NaN()}).Draw(t, "travel"))
		}
		var q Quality
		tl, err := newTimeline(rec, readingRange{-1e3, 1e3}, DefaultPrepareOptions(), &q)
		if err != nil {
			t.Fatal(err)
		}
		dropped := q.DuplicateStamps + q.BackwardStamps + q.OutlierStamps + q.UnusableReadings
		if len(tl.ticks)+dropped != len(rec.Travel) || len(tl.travel) != len(tl.ticks) {
			t.Fatalf("%d rows in, %d kept, %d dropped", len(rec.Travel), len(tl.ticks), dropped)
		}
		for i := 1; i < len(tl.ticks); i++ {
			if !(tl.ticks[i] > tl.ticks[i-1]) {
				t.Fatalf("times do not rise: %v", tl.ticks)
			}
		}
	})
}

// The median step is exact, whichever way it was found.
func TestMedianStep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.SampledFrom([]int{1, 2, 7, 2*bandSample + 1, 3*bandSample + 6}).Draw(t, "steps")
		spread := rapid.SampledFrom([]int{1, 3, 100, 1 << 30}).Draw(t, "spread")
		seed := rapid.Uint64().Draw(t, "seed")
		sorted := rapid.Bool().Draw(t, "sorted") // a sample that is even in time is then even in size
		var steps []float64
		for range n {
			seed = seed*6364136223846793005 + 1442695040888963407 // Knuth's MMIX generator
			steps = append(steps, float64(1+int(seed>>33)%spread))
		}
		if sorted {
			slices.Sort(steps)
		}
		ticks := []float64{0}
		for _, s := range steps {
			ticks = append(ticks, ticks[len(ticks)-1]+s)
		}
		slices.Sort(steps)
		if got, want := medianStep(ticks), (steps[(n-1)/2]+steps[n/2])/2; got != want {
			t.Fatalf("median of %d steps is %g, want %g", n, got, want)
		}
	})
}
