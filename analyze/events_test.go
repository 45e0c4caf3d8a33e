package analyze

import (
	"math"
	"testing"

	"stanchion/analyze/signal"
)

// path builds travel from straight lines, each so many ms long, at 1 kHz. The first sample is at the start.
func path(startMM float64, legs ...[2]float64) []float64 {
	x := []float64{startMM}
	for _, l := range legs {
		from := x[len(x)-1]
		n := int(l[1])
		for i := 1; i <= n; i++ {
			x = append(x, from+(l[0]-from)*float64(i)/float64(n))
		}
	}
	return x
}

// unfiltered is a ride on x with nothing filtered, so that events can be worked out by hand. v is the difference from the
// sample before. All of it is riding.
func unfiltered(t testing.TB, x []float64) *ride {
	t.Helper()
	r := rideOf(t, 1000, x)
	s := &r.segs[0]
	for i := range x {
		s.x[i], s.v[i] = x[i], 0
		if i > 0 {
			s.v[i] = (x[i] - x[i-1]) * 1000
		}
	}
	for k := range s.cells {
		s.cells[k].riding = true
	}
	r.all = r.measure()
	return r
}

// On a fork of 160 mm a bottom-out opens at 155.2 mm and closes under 147.2 mm.
func TestBottomOuts(t *testing.T) {
	x := path(60, [2]float64{158, 123}, // at about 797 mm/s
		[2]float64{158, 100}, [2]float64{148, 50}, // stays open
		[2]float64{159, 50}, [2]float64{100, 200}, // closes
		[2]float64{156, 28}, [2]float64{20, 300}, // 2000 mm/s: hard
		[2]float64{154, 300}, [2]float64{20, 300}) // not deep enough
	r := unfiltered(t, x)
	got := r.travel(r.strokes().List)
	if len(got.Bottoms) != 2 {
		t.Fatalf("bottom-outs %+v, want 2", got.Bottoms)
	}
	// The ramp has 123 steps of 98/123 mm: 155.2 mm is passed at step 119.48…, so at sample 120.
	speed := 98.0 / 0.123
	first := got.Bottoms[0]
	deep := 0
	for _, v := range x[:400] {
		if v >= 155.2 {
			deep++
		}
	}
	if math.Abs(first.TimeS-0.120) > 1e-9 || math.Abs(first.EntryMMS-speed) > 1e-6 || first.PeakMM != 159 || first.Hard ||
		math.Abs(first.TimeAtEndS-float64(deep)/1000) > 1e-9 || math.Abs(first.PeakPct-99.375) > 1e-9 {
		t.Errorf("first bottom-out %+v, %d samples deep", first, deep)
	}
	if second := got.Bottoms[1]; !second.Hard || math.Abs(second.EntryMMS-2000) > 1e-6 {
		t.Errorf("second bottom-out %+v, want a hard one at 2000 mm/s", second)
	}
	near(t, "bottom-outs", got.BottomOuts, 2, 0)
	near(t, "hard ones", got.BottomHard, 1, 0)
	near(t, "per minute", got.BottomPerMin, 2/(float64(len(x))/1000/60), 1e-9)

	for k := range r.segs[0].cells {
		r.segs[0].cells[k].riding = false
	}
	if got := r.bottomOuts(); len(got) != 0 {
		t.Errorf("bottom-outs outside riding: %+v", got)
	}
}

// Hard is judged by the largest velocity in the 50 ms before, not by that at the entry.
func TestBottomOutLookback(t *testing.T) {
	for _, c := range []struct {
		slowMS float64
		hard   bool
	}{{40, true}, {60, false}} {
		// 1500 mm/s up to 151 mm, then slowly to 156: the entry at 155.2 mm is 0.84 of the slow leg later.
		r := unfiltered(t, path(1, [2]float64{151, 100}, [2]float64{156, c.slowMS}, [2]float64{20, 300}))
		got := r.bottomOuts()
		if len(got) != 1 || got[0].Hard != c.hard {
			t.Errorf("slow leg of %g ms: %+v, want one with hard %v", c.slowMS, got, c.hard)
		}
	}
}

// A top-out starts at or over 3.2 mm (2 %) and ends below.
func TestTopOuts(t *testing.T) {
	r := unfiltered(t, path(50, [2]float64{60, 20},
		[2]float64{0, 100}, [2]float64{40, 100}, // 600 mm/s: hard
		[2]float64{1, 100}, [2]float64{40, 100}, // 390 mm/s: soft
		[2]float64{4, 100}, [2]float64{40, 100}, // does not reach
		[2]float64{30, 50}))
	got := r.travel(r.strokes().List)
	if len(got.Tops) != 2 || !got.Tops[0].Hard || got.Tops[1].Hard {
		t.Fatalf("top-outs %+v, want a hard and a soft one", got.Tops)
	}
	if a := got.Tops[0]; math.Abs(a.SpeedMMS-600) > 1e-6 || math.Abs(a.TimeS-0.115) > 1e-9 { // 60 − 0.6·95 = 3 mm
		t.Errorf("first top-out %+v, want 600 mm/s at 0.115 s", a)
	}
	near(t, "top-outs", got.TopOuts, 2, 0)
	near(t, "hard ones", got.TopOutHard, 1, 0)
	strokes := r.strokes().List
	for k := range r.segs[0].cells {
		r.segs[0].cells[k].riding = k > 0 // from 0.25 s on: after the first top-out
	}
	if got := r.topOuts(strokes); len(got) != 1 || got[0].TimeS < 0.25 {
		t.Errorf("top-outs %+v, want the one while riding", got)
	}
}

// Extended means under 4.8 mm (3 %). On a ramp of 20 mm in 100 ms it is crossed 76 ms in.
func TestExtendedSpells(t *testing.T) {
	dip := func(at float64) [][2]float64 { return [][2]float64{{0, 100}, {0, at}, {20, 100}} }
	var legs [][2]float64
	for _, hold := range []float64{200, 90, 300} {
		legs = append(legs, dip(hold)...)
		legs = append(legs, [2]float64{60, 50}, [2]float64{20, 100}) // landing: 800 mm/s to a peak at 60 mm
	}
	r := unfiltered(t, path(20, legs...))
	got := r.air(r.strokes().List)
	// Each spell lasts its hold and 24 ms on both sides: 248, 138 (too short) and 348 ms, a jump.
	if len(got.Spells) != 2 {
		t.Fatalf("spells %+v, want 2", got.Spells)
	}
	for i, want := range []ExtendedSpell{
		{StartS: 0.076, EndS: 0.324, DurationS: 0.248, LandingPeakMMS: 800, LandingTravelMM: 60, LandingTravelPct: 37.5},
		{StartS: 1.066, EndS: 1.414, DurationS: 0.348, Jump: true, LandingPeakMMS: 800, LandingTravelMM: 60, LandingTravelPct: 37.5},
	} {
		s := got.Spells[i]
		for _, d := range []float64{
			s.StartS - want.StartS, s.EndS - want.EndS, s.DurationS - want.DurationS,
			s.LandingPeakMMS - want.LandingPeakMMS, s.LandingTravelMM - want.LandingTravelMM, s.LandingTravelPct - want.LandingTravelPct,
		} {
			if math.Abs(d) > 1e-6 || s.Jump != want.Jump {
				t.Errorf("spell %+v, want %+v", s, want)
				break
			}
		}
	}
	near(t, "spells", got.SpellsN, 2, 0)
	near(t, "jumps", got.Jumps, 1, 0)
	near(t, "extended time", got.ExtendedS, 0.596, 1e-9)
}

// Crossings lie between the samples: a spell whose edges move by a fraction of a sample moves by that much.
func TestExtendedSpellBetweenSamples(t *testing.T) {
	for _, shift := range []float64{0, 0.1, 0.37, 0.9} {
		x := make([]float64, 1000)
		for i := range x {
			x[i] = math.Abs(float64(i)-500-shift) * 0.03 // 4.8 mm 160 samples off the middle
		}
		r := unfiltered(t, x)
		got := r.extended(&r.segs[0])
		if len(got) != 1 {
			t.Fatalf("spells %v", got)
		}
		a, b := r.edges(&r.segs[0], got[0])
		if math.Abs(a-(340+shift)) > 1e-9 || math.Abs(b-(660+shift)) > 1e-9 {
			t.Errorf("shift %g: spell from %g to %g, want %g to %g", shift, a, b, 340+shift, 660+shift)
		}
	}
}

// Getting off at the end is not air: the spell outlasts the riding.
func TestGettingOffIsNoSpell(t *testing.T) {
	x := sine(1000, 10, 40, 20, 2)
	x = append(x, path(40, [2]float64{0, 200}, [2]float64{0, 8000})...)
	r := rideOf(t, 1000, x)
	if got := r.air(r.strokes().List); len(got.Spells) != 0 {
		t.Errorf("spells %+v, want none", got.Spells)
	}
}

// A sine of peak speed P passes from +100 to −100 mm/s in 2·asin(100/P)/ω, about its peaks and its valleys alike.
// Linear interpolation of 1 kHz samples is good to 1 µs there; the ends of the recording are left out.
func TestReversalsOfSine(t *testing.T) {
	r := rideOf(t, 1000, sine(1000, 30, 80, 50, 2))
	got := r.reversals(r.strokes().List, nil)
	w := 2 * math.Pi * 2
	want := 2 * math.Asin(100/(50*w)) / w
	for _, s := range []ReversalSummary{got.CompressionToRebound, got.ReboundToCompression} {
		near(t, "median reversal", s.MedianS, want, 2e-6)
		near(t, "90 % reversal", s.Q90S, want, 2e-6)
	}
	if a, b := len(got.TimesCR), len(got.TimesRC); a != 60 || b != 59 {
		t.Errorf("%d and %d reversals, want 60 and 59", a, b)
	}
}

// A triangle of ±600 mm/s with tips rounded at 40 m/s² turns from +100 to −100 mm/s in 200/40000 s = 5 ms, one rounded at
// 10 m/s² in 20 ms. The 100 Hz filter stretches the first, whose speed changes over 30 ms, by no more than 0.1 ms.
func TestReversalsOfRoundedTriangle(t *testing.T) {
	for _, c := range []struct{ accel, tol float64 }{{40e3, 1e-4}, {10e3, 2e-5}} {
		const speed, leg = 600.0, 200.0 // mm/s, ms between turning points
		var v []float64
		for i := range 20000 {
			phase := math.Mod(float64(i)+0.5, 2*leg)
			toTurn := (leg/2 - math.Abs(phase-leg)) / 1000 // s to or from the nearest turning point, negative in rebound
			v = append(v, max(-speed, min(speed, toTurn*c.accel)))
		}
		x := []float64{80}
		for i := 1; i < len(v); i++ {
			x = append(x, x[i-1]+v[i]/1000)
		}
		r := rideOf(t, 1000, x)
		got := r.reversals(r.strokes().List, nil)
		near(t, "compression to rebound", got.CompressionToRebound.MedianS, 200/c.accel, c.tol)
		near(t, "rebound to compression", got.ReboundToCompression.MedianS, 200/c.accel, c.tol)
	}
}

// A triangle with sharp tips reads the shortest time that the filter can show, which is worked out from its step
// response (closed form), at several speeds, cutoffs and orders. Tolerance 2 %: samples and their interpolation.
func TestShortestReversal(t *testing.T) {
	for _, c := range []struct {
		speed, cutoff float64
		order         int
	}{{300, 100, 4}, {800, 100, 4}, {300, 50, 4}, {150, 100, 4}, {300, 60, 2}} {
		x := make([]float64, 40000)
		for i := range x {
			x[i] = 80 + c.speed*(0.1-math.Abs(math.Mod(float64(i)/4000, 0.4)-0.2)) // 4 kHz, 200 ms a stroke
		}
		opt := DefaultOptions()
		opt.CutoffHz, opt.FilterOrder = c.cutoff, c.order
		r, err := newRide(traceOf(4000, x), opt)
		if err != nil {
			t.Fatal(err)
		}
		got := r.reversals(r.strokes().List, nil)
		want := r.shortestReversal(c.speed)
		near(t, "reversal of a sharp triangle", got.CompressionToRebound.MedianS, want, 0.02*want)
		// At the run's own peak speed, which overshoots the triangle's by the ripple of the filter.
		near(t, "shortest reversal", got.shortest, want, 0.2*want)
	}
}

// Reversals in an extended spell do not count.
func TestReversalsNotInSpells(t *testing.T) {
	r := rideOf(t, 1000, sine(1000, 30, 80, 50, 2))
	strokes := r.strokes().List
	all := r.reversals(strokes, nil)
	some := r.reversals(strokes, []ExtendedSpell{{StartS: 10, EndS: 20}})
	if len(all.TimesCR)-len(some.TimesCR) != 20 || len(all.TimesRC)-len(some.TimesRC) != 20 {
		t.Errorf("%d and %d reversals, with a spell of 20 periods %d and %d", len(all.TimesCR), len(all.TimesRC), len(some.TimesCR), len(some.TimesRC))
	}
}

// A single fast flick of 5 mm while nobody rides has reversals of over 100 mm/s on both sides, which do not count.
func TestReversalsOnlyWhileRiding(t *testing.T) {
	x := append(sine(1000, 20, 80, 50, 2), constant(20000, 80)...)
	opt := DefaultOptions()
	opt.RidingMMS = 200
	count := func(x []float64) int {
		r, err := newRide(traceOf(1000, x), opt)
		if err != nil {
			t.Fatal(err)
		}
		got := r.reversals(r.strokes().List, nil)
		return len(got.TimesCR) + len(got.TimesRC)
	}
	for i := range 4000 { // a slow wave ends the last stroke of the ride
		x[22000+i] += 5 * math.Sin(2*math.Pi*float64(i)/4000)
	}
	want := count(x)
	for i := range 80 { // two periods, so that both kinds of reversal occur
		x[30000+i] += 5 * math.Sin(2*math.Pi*float64(i)/40)
	}
	if got := count(x); got != want || want < 70 {
		t.Errorf("%d reversals, without the flick %d", got, want)
	}
}

// A stroke belongs to riding by its midpoint, wherever it starts.
func TestStrokesCountByTheirMidpoint(t *testing.T) {
	r := bare(t, 1000, make([]float64, 3000))
	for k := range r.segs[0].cells {
		r.segs[0].cells[k].riding = k < 4 // the first second
	}
	for _, c := range []struct {
		from, to int
		riding   bool
	}{{500, 2500, false}, {100, 1800, true}, {900, 1098, true}, {900, 1100, false}} {
		if got := r.stroke(0, signal.Turn{Index: c.from}, signal.Turn{Index: c.to, Value: 9, Peak: true}); got.Riding != c.riding {
			t.Errorf("stroke from %d to %d ms: riding %v", c.from, c.to, got.Riding)
		}
	}
}

// The landing of a spell that a gap cuts off is not looked for behind the gap.
func TestLandingDoesNotCrossAGap(t *testing.T) {
	ride := sine(1000, 10, 60, 40, 2)
	before := append(append([]float64(nil), ride...), constant(400, 1)...)
	r := rideOf(t, 1000, before, sine(1000, 20, 60, 40, 2))
	air := r.air(r.strokes().List)
	if len(air.Spells) != 1 {
		t.Fatalf("spells %+v, want one", air.Spells)
	}
	if s := air.Spells[0]; s.LandingTravelMM != 0 || s.LandingPeakMMS != 0 {
		t.Errorf("a landing behind the gap: %+v", s)
	}
}

// Strokes of 25 ms are all short at 1 kHz. At 50 Hz, where the low-pass lets no stroke under 50 ms through, their share is not
// known: a 0 would say that there were none.
func TestShortShareNeedsThemToBeSeen(t *testing.T) {
	fast := rideOf(t, 1000, sine(1000, 20, 60, 20, 20)).strokes()
	near(t, "short share", fast.Compression.ShortShare, 1, 0)
	for _, fs := range []float64{20, 50} {
		slow := rideOf(t, fs, sine(fs, 30, 60, 40, 1)).strokes()
		near(t, "strokes", slow.Compression.Count, 30, 1)
		gone(t, "short share of compression", slow.Compression.ShortShare)
		gone(t, "short share of rebound", slow.Rebound.ShortShare)
	}
	near(t, "short share at 100 Hz", rideOf(t, 100, sine(100, 30, 60, 40, 1)).strokes().Compression.ShortShare, 0, 0)
}
