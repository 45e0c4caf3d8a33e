package compare

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"stanchion/analyze"

	"pgregory.net/rapid"
)

func drawRuns(t *rapid.T, label string) []float64 {
	return rapid.SliceOfN(rapid.Float64Range(-1e3, 1e3), 1, 8).Draw(t, label)
}

// Shifting all runs changes no difference; scaling scales it and its interval; swapping turns it over; order is nothing.
func TestEstimateProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawRuns(t, "a"), drawRuns(t, "b")
		shift, scale := rapid.Float64Range(-100, 100).Draw(t, "shift"), rapid.Float64Range(0.1, 10).Draw(t, "scale")
		change := func(v []float64, f func(float64) float64) []analyze.Figure {
			out := make([]analyze.Figure, len(v))
			for i, x := range v {
				out[i] = analyze.Value(f(x), 1)
			}
			return out
		}
		same := func(x float64) float64 { return x }
		e := estimate(change(a, same), change(b, same))
		near := func(what string, got, want analyze.Figure, factor float64) {
			g, okG := got.Get()
			w, okW := want.Get()
			if okG != okW || math.Abs(g-factor*w) > 1e-6*(1+math.Abs(factor*w)) {
				t.Fatalf("%s: %v, want %g × %v", what, got, factor, want)
			}
		}
		swapped := estimate(change(b, same), change(a, same))
		near("swapped", swapped.Difference, e.Difference, -1)
		near("swapped low", swapped.Low, e.High, -1)
		near("swapped p", swapped.P, e.P, 1)
		// A spread that vanishes against the values is left to rounding, so only spreads that do not are moved about.
		if s := max(e.SpreadA.Or(0), e.SpreadB.Or(0)); s < 1e-3 {
			t.Skip("no spread")
		}
		shifted := estimate(change(a, func(x float64) float64 { return x + shift }), change(b, func(x float64) float64 { return x + shift }))
		near("shifted", shifted.Difference, e.Difference, 1)
		near("shifted low", shifted.Low, e.Low, 1)
		scaled := estimate(change(a, func(x float64) float64 { return scale * x }), change(b, func(x float64) float64 { return scale * x }))
		near("scaled", scaled.Difference, e.Difference, scale)
		near("scaled low", scaled.Low, e.Low, scale)
		near("scaled high", scaled.High, e.High, scale)
		slices.Reverse(a)
		again := estimate(change(a, same), change(b, same))
		if again.Difference.Or(0) != e.Difference.Or(0) || again.P.Or(0) != e.P.Or(0) {
			t.Fatal("order matters")
		}
	})
}

// Isotonic regression rises, keeps the weighted mean, and leaves rising data alone.
func TestIsotonicProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		y := rapid.SliceOfN(rapid.Float64Range(-100, 100), 1, 30).Draw(t, "y")
		w := make([]float64, len(y))
		for i := range w {
			w[i] = rapid.Float64Range(0.5, 5).Draw(t, "w")
		}
		fit := isotonic(y, w)
		sumY, sumF := 0.0, 0.0
		for i := range y {
			sumY, sumF = sumY+w[i]*y[i], sumF+w[i]*fit[i]
			if i > 0 && fit[i] < fit[i-1]-1e-9 {
				t.Fatalf("falls at %d: %v", i, fit)
			}
		}
		if math.Abs(sumY-sumF) > 1e-6 {
			t.Fatalf("mean moved from %g to %g", sumY, sumF)
		}
		slices.Sort(y)
		for i, v := range isotonic(y, w) {
			if math.Abs(v-y[i]) > 1e-9 {
				t.Fatalf("rising data changed: %v", y)
			}
		}
	})
}

// The p values of Holm keep their order, are not smaller than what goes in and not larger than Bonferroni's.
func TestHolmProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SliceOfN(rapid.Float64Range(0, 1), 1, 20).Draw(t, "p")
		got := holm(p)
		for i := range p {
			if got[i] < p[i] || got[i] > min(1, p[i]*float64(len(p)))+1e-15 {
				t.Fatalf("%v became %v", p, got)
			}
			for k := range p {
				if p[i] < p[k] && got[i] > got[k] {
					t.Fatalf("order changed: %v became %v", p, got)
				}
			}
		}
	})
}

// The alignment of any two envelopes is a path that goes on, within the band.
func TestWarpProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 60).Draw(t, "n")
		band := rapid.IntRange(1, 20).Draw(t, "band")
		a, b := make([]float64, n), make([]float64, n)
		for i := range a {
			a[i], b[i] = rapid.Float64Range(-3, 3).Draw(t, "a"), rapid.Float64Range(-3, 3).Draw(t, "b")
		}
		first, place := warp(a, b, band, 0.3, 0.5)
		for i, p := range place {
			if p < 0 || p > float64(n-1) || math.Abs(p-float64(first+i)) > float64(band) {
				t.Fatalf("cell %d at %g of %d", first+i, p, n)
			}
			if i > 0 && p < place[i-1] {
				t.Fatalf("goes back at %d: %v", i, place)
			}
		}
		// A sequence on itself is the diagonal.
		first, place = warp(a, a, band, 0.3, 0.5)
		for i, p := range place {
			if p != float64(first+i) {
				t.Fatalf("itself at %v from %d", place, first)
			}
		}
	})
}

// made is a run of made-up figures, some absent.
func made(name string, values []byte) Run {
	res := &analyze.Result{Source: name, Options: analyze.DefaultOptions()}
	res.Fork.TravelMM = 160
	next := func(i int) analyze.Figure {
		if i >= len(values) || values[i]%7 == 0 {
			return analyze.Absent("not there")
		}
		return analyze.Value(math.Ldexp(float64(int8(values[i])), int(values[i]%40)-20), int(values[i]))
	}
	for i, f := range []*analyze.Figure{
		&res.Sag.DynamicMM, &res.Sag.StaticMM, &res.Travel.Q95MM, &res.Travel.BottomPerMin, &res.Velocity.Compression.Q95MMS,
		&res.Velocity.Rebound.Q95MMS, &res.Velocity.ReboundRatio, &res.Packing.SinkInRoughPct, &res.Return.MedianS, &res.Rough.MedianMMS, &res.Ride.RidingS,
	} {
		*f = next(i)
	}
	r := Run{Name: name, Result: res}
	if len(values) > 12 {
		r.Order = int(values[11])
		r.Settings = map[string]string{"clicks": string(values[12:])}
		seg := analyze.SignalSegment{}
		for i, v := range values {
			seg.TravelMM, seg.VelocityMMS = append(seg.TravelMM, float64(v)), append(seg.VelocityMMS, 40*float64(int8(v)))
			if i%4 == 0 {
				seg.RMSMMS, seg.Riding = append(seg.RMSMMS, float64(v)), append(seg.Riding, v > 20)
			}
		}
		r.Signals = &analyze.Signals{RateHz: 16, Segments: []analyze.SignalSegment{seg, {}}}
	}
	return r
}

// No input makes a comparison or a sweep panic, or put what is no number into its JSON.
func FuzzCompare(f *testing.F) {
	f.Add([]byte("one run and another"), uint8(1), uint8(0))
	f.Add([]byte(strings.Repeat("a longer ride over rough and smooth ground ", 40)), uint8(3), uint8(1))
	f.Add([]byte{0, 0, 0, 7, 7, 7, 255, 255, 128, 1, 2, 3, 4, 5}, uint8(5), uint8(2))
	f.Fuzz(func(t *testing.T, data []byte, runs, method uint8) {
		n := 2 + int(runs%6)
		var list []Run
		for i := range n {
			part := data[i*len(data)/n : (i+1)*len(data)/n]
			list = append(list, made(string(rune('a'+i)), part))
		}
		opt := DefaultSweepOptions()
		opt.Resamples = 20
		opt.Align = []Method{"", ByMarkers, ByDistance, ByRoughness, "nothing"}[method%5]
		opt.MinMatch = -1
		if c, err := Compare(list[:n/2], list[n/2:], opt.Options); err == nil {
			if _, err := json.Marshal(c); err != nil {
				t.Fatal(err)
			}
		}
		var positions []SweepRun
		for i, r := range list {
			positions = append(positions, SweepRun{r, float64(i % 4)})
		}
		if s, err := Sweep(positions, Adjuster{Kind: Rebound}, opt); err == nil {
			if _, err := json.Marshal(s); err != nil {
				t.Fatal(err)
			}
		}
	})
}
