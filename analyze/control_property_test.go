package analyze

import (
	"encoding/json"
	"fmt"
	"testing"

	"pgregory.net/rapid"
)

// controlTrace draws a ride that has everything: gentle riding, rest, hits with free decays, deep stretches.
func controlTrace(t *rapid.T, label string) []float64 {
	var hits []hit
	for i := range rapid.IntRange(1, 2).Draw(t, label+" hits") {
		name := fmt.Sprint(label, i)
		hits = append(hits, hit{rapid.Float64Range(15, 60).Draw(t, name), rapid.Float64Range(0.15, 1.1).Draw(t, name+" ζ"), rapid.Float64Range(3, 6).Draw(t, name+" Hz")})
	}
	x := rideWithHits(100, 0.05, hits...)
	from := rapid.IntRange(0, len(x)-1).Draw(t, label+" deep from")
	for i := from; i < min(len(x), from+300); i++ {
		x[i] += 30
	}
	return x
}

func controlRun(t *rapid.T, shift float64, segments ...[]float64) *Result {
	trace := traceOf(100, segments...)
	for i := range trace.Segments {
		trace.Segments[i].StartS += shift
	}
	opt := DefaultOptions()
	opt.StaticSag = &SagOverride{SagMM: 35, Source: "test"} // so that depth does not depend on what else was ridden
	res, _, err := Run(trace, opt)
	if err != nil {
		t.Fatal(err)
	}
	return res
}

// A shift in time moves nothing but times; running again gives the same bytes; and what happens in one segment does not depend on the
// other: packing runs, decays and timed returns of two segments are those of each alone.
func TestControlInvariants(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := controlTrace(t, "a"), controlTrace(t, "b")
		both := controlRun(t, 0, a, b)
		bytes := func(r *Result) string {
			out, err := json.Marshal([]any{r.Spectrum, r.Packing, r.Return, r.Damping, r.BrakeDive, r.Rough})
			if err != nil {
				t.Fatal(err)
			}
			return string(out)
		}
		if bytes(both) != bytes(controlRun(t, 0, a, b)) {
			t.Fatal("the same ride gave other bytes")
		}
		// A power of two, so that times move with little rounding.
		moved := controlRun(t, 1024, a, b)
		for _, pair := range [][2]any{{moved.Return, both.Return}, {moved.Spectrum, both.Spectrum}, {moved.BrakeDive.Count, both.BrakeDive.Count}} {
			if fmt.Sprintf("%+v", pair[0]) != fmt.Sprintf("%+v", pair[1]) {
				t.Fatalf("moved by 1024 s: %+v, want %+v", pair[0], pair[1])
			}
		}
		if fmt.Sprint(len(moved.Packing.Runs), moved.Damping.Zeta, moved.Damping.Seed) != fmt.Sprint(len(both.Packing.Runs), both.Damping.Zeta, both.Damping.Seed) {
			t.Fatalf("moved by 1024 s: %+v, %+v", moved.Packing, moved.Damping)
		}
		alone := []*Result{controlRun(t, 0, a), controlRun(t, 0, b)}
		sum := func(f func(*Result) int) int { return f(alone[0]) + f(alone[1]) }
		for what, f := range map[string]func(*Result) int{
			"packing runs": func(r *Result) int { return len(r.Packing.Runs) },
			"decays":       func(r *Result) int { return len(r.Damping.Decays) },
			"strokes":      func(r *Result) int { return len(r.Strokes.List) },
		} {
			if got := f(both); got != sum(f) {
				t.Fatalf("%s: %d in both segments, %d in each alone", what, got, sum(f))
			}
		}
	})
}
