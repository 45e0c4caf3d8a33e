package analyze

import (
	"encoding/json"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// drawRide draws a short ride: up to four sine waves about a depth, at rest for a while first, at a rate of its own.
func drawRide(t *rapid.T) (fs float64, x []float64) {
	fs = rapid.SampledFrom([]float64{1000, 500, 333, 200}).Draw(t, "fs")
	seconds := rapid.Float64Range(1, 8).Draw(t, "seconds")
	rest := rapid.Float64Range(0, 3).Draw(t, "rest")
	depth := rapid.Float64Range(-5, 120).Draw(t, "depth")
	waves := rapid.IntRange(0, 4).Draw(t, "waves")
	var amplitude, hz, phase [4]float64
	for i := range waves {
		amplitude[i] = rapid.Float64Range(0, 50).Draw(t, "amplitude")
		hz[i] = rapid.Float64Range(0.2, 25).Draw(t, "hz")
		phase[i] = rapid.Float64Range(0, 7).Draw(t, "phase")
	}
	x = make([]float64, int(seconds*fs))
	for i := range x {
		at := float64(i) / fs
		x[i] = depth
		if at < rest {
			continue
		}
		for k := range waves {
			x[i] += amplitude[k] * math.Sin(2*math.Pi*hz[k]*(at-rest)+phase[k])
		}
	}
	return fs, x
}

func mustRide(t *rapid.T, fs float64, segments ...[]float64) *ride {
	r, err := newRide(traceOf(fs, segments...), DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Strokes of a segment alternate, join end to start, and their amplitudes telescope; rainflow counts half as many
// cycles as there are strokes.
func TestStrokeProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		fs, x := drawRide(t)
		r := mustRide(t, fs, x, x)
		got := r.strokes()
		sum, start := 0.0, 0.0
		for i, s := range got.List {
			if s.AmplitudeMM < r.opt.StrokeGateMM || s.DurationS <= 0 || s.PeakMMS < 0.9*s.MeanMMS {
				t.Fatalf("stroke %+v is too small, too short, or slower at its peak than on average", s)
			}
			if s.Compression != (s.EndMM > s.StartMM) {
				t.Fatalf("stroke %+v goes the other way", s)
			}
			if i > 0 && got.List[i-1].Segment == s.Segment {
				before := got.List[i-1]
				if before.Compression == s.Compression || before.EndS != s.StartS || before.EndMM != s.StartMM {
					t.Fatalf("strokes %+v and %+v do not follow each other", before, s)
				}
			} else {
				sum, start = 0, s.StartMM
			}
			sum += math.Copysign(s.AmplitudeMM, s.EndMM-s.StartMM)
			if math.Abs(start+sum-s.EndMM) > 1e-9 {
				t.Fatalf("stroke %d: start and amplitudes add up to %g, want %g", i, start+sum, s.EndMM)
			}
		}
		if math.Abs(got.RainflowSum-float64(len(got.List))/2) > 1e-9 {
			t.Fatalf("rainflow counts %g, want half of %d strokes", got.RainflowSum, len(got.List))
		}
		sum = 0
		for _, b := range got.Rainflow {
			sum += b.Count
		}
		if math.Abs(sum-got.RainflowSum) > 1e-9 {
			t.Fatalf("rainflow bins hold %g of %g", sum, got.RainflowSum)
		}
	})
}

// Shares sum to 1, quantiles rise, and the histograms agree with the two-dimensional one.
func TestShareProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		fs, x := drawRide(t)
		r := mustRide(t, fs, x)
		if r.all.n == 0 {
			t.Skip("no riding")
		}
		strokes := r.strokes().List
		tr, v, d := r.travel(strokes), r.velocity(), r.density()
		one := func(what string, sum float64) {
			if math.Abs(sum-1) > 1e-9 {
				t.Fatalf("%s sums to %g", what, sum)
			}
		}
		total := func(a []float64) float64 { return mean(a) * float64(len(a)) }
		one("travel time", total(tr.TimeShare))
		one("velocity time", total(v.TimeShare)+v.UnderTimeShare+v.OverTimeShare)
		one("velocity travel", total(v.TravelShare)+v.UnderTravelShare+v.OverTravelShare)
		one("regimes", v.Regimes.Still.Or(9)+v.Regimes.LowCompression.Or(9)+v.Regimes.HighCompression.Or(9)+
			v.Regimes.LowRebound.Or(9)+v.Regimes.HighRebound.Or(9))
		for i, row := range d.Share {
			if math.Abs(total(row)-tr.TimeShare[i]) > 1e-9 {
				t.Fatalf("density of travel bin %d sums to %g, want %g", i, total(row), tr.TimeShare[i])
			}
		}
		q := []float64{tr.Q05MM.Or(0), tr.Q25MM.Or(0), tr.Q50MM.Or(0), tr.Q75MM.Or(0), tr.Q95MM.Or(0), tr.Q99MM.Or(0), tr.MaxMM.Or(0)}
		if !slices.IsSorted(q) {
			t.Fatalf("quantiles %v do not rise", q)
		}
	})
}

// Played backwards, compression is rebound: strokes, speeds and regimes change sides. The cells are laid from the
// other end then, so all is made riding.
func TestTimeReversal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		fs, x := drawRide(t)
		back := slices.Clone(x)
		slices.Reverse(back)
		rides := [2]*ride{mustRide(t, fs, x), mustRide(t, fs, back)}
		for _, r := range rides {
			for k := range r.segs[0].cells {
				r.segs[0].cells[k].riding = true
			}
			r.all = r.measure()
		}
		a, b := rides[0].velocity(), rides[1].velocity()
		same := func(what string, f, g Figure, tol float64) {
			v, ok := f.Get()
			w, okToo := g.Get()
			if ok != okToo || math.Abs(v-w) > tol*math.Max(1, math.Abs(v)) {
				t.Fatalf("%s: %v forwards, %v backwards", what, f, g)
			}
		}
		same("largest speed", a.Compression.MaxMMS, b.Rebound.MaxMMS, 1e-6)
		same("largest speed", a.Rebound.MaxMMS, b.Compression.MaxMMS, 1e-6)
		same("travelled", a.TravelledM, b.TravelledM, 1e-6)
		// A sample whose speed is within rounding of a limit may change sides of it.
		few := 3 / float64(len(x))
		same("low-speed share", a.Regimes.LowCompression, b.Regimes.LowRebound, few)
		same("high-speed share", a.Regimes.HighCompression, b.Regimes.HighRebound, few)
		same("high-speed share", a.Regimes.HighRebound, b.Regimes.HighCompression, few)

		// The first turning point of a run is a running extreme and the last one is not; so only those strokes that both
		// ways find are compared: all but the outermost.
		fwd, rev := rides[0].strokes().List, rides[1].strokes().List
		if len(fwd) < 5 {
			return
		}
		last := float64(len(x)-1) / fs
		for _, s := range fwd[2 : len(fwd)-2] {
			found := slices.ContainsFunc(rev, func(o Stroke) bool {
				return math.Abs(o.StartS-(last-s.EndS)) < 1.5/fs && math.Abs(o.EndS-(last-s.StartS)) < 1.5/fs &&
					o.Compression != s.Compression && math.Abs(o.AmplitudeMM-s.AmplitudeMM) < 1e-3
			})
			if !found {
				t.Fatalf("stroke %+v is not found backwards", s)
			}
		}
	})
}

// resultJSON is the scalar figures of r as text.
func resultJSON(t *rapid.T, r *Result) string {
	b, err := json.Marshal(r.Scalars())
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// A recording that starts later has the same figures, and every event is later by as much.
func TestTimeShift(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		fs, x := drawRide(t)
		shift := float64(rapid.IntRange(1, 4096).Draw(t, "shift")) / 4 // exact in binary
		a := traceOf(fs, x)
		b := traceOf(fs, x)
		b.Segments[0].StartS += shift
		ra, _, err := Run(a, DefaultOptions())
		if err != nil {
			t.Fatal(err)
		}
		rb, _, err := Run(b, DefaultOptions())
		if err != nil {
			t.Fatal(err)
		}
		if ja, jb := resultJSON(t, ra), resultJSON(t, rb); ja != jb {
			t.Fatalf("figures differ:\n%s\n%s", ja, jb)
		}
		for i, s := range ra.Strokes.List {
			if o := rb.Strokes.List[i]; math.Abs(o.StartS-s.StartS-shift) > 1e-9 || math.Abs(o.EndS-s.EndS-shift) > 1e-9 {
				t.Fatalf("stroke at %g s is at %g s with a shift of %g", s.StartS, o.StartS, shift)
			}
		}
		for i, p := range ra.Ride.Riding {
			if o := rb.Ride.Riding[i]; math.Abs(o.StartS-p.StartS-shift) > 1e-9 {
				t.Fatalf("riding from %g s is from %g s with a shift of %g", p.StartS, o.StartS, shift)
			}
		}
	})
}

// A recording split by a long gap has the strokes, riding time and events of its parts.
func TestSplitIsParts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		fs, x := drawRide(t)
		cut := rapid.IntRange(1, len(x)-1).Draw(t, "cut")
		whole := mustRide(t, fs, x[:cut], x[cut:])
		one, two := mustRide(t, fs, x[:cut]), mustRide(t, fs, x[cut:])
		if whole.all.n != one.all.n+two.all.n {
			t.Fatalf("%d riding samples, want %d + %d", whole.all.n, one.all.n, two.all.n)
		}
		strokes := whole.strokes()
		s1, s2 := one.strokes(), two.strokes()
		if len(strokes.List) != len(s1.List)+len(s2.List) {
			t.Fatalf("%d strokes, want %d + %d", len(strokes.List), len(s1.List), len(s2.List))
		}
		if got, want := strokes.RainflowSum, s1.RainflowSum+s2.RainflowSum; math.Abs(got-want) > 1e-9 {
			t.Fatalf("rainflow counts %g, want %g", got, want)
		}
		n := func(r *ride, s Strokes) [4]int {
			rev := r.reversals(s.List, nil)
			return [4]int{len(r.bottomOuts()), len(r.topOuts(s.List)), len(r.air(s.List).Spells), len(rev.TimesCR) + len(rev.TimesRC)}
		}
		got, a, b := n(whole, strokes), n(one, s1), n(two, s2)
		for i := range got {
			if got[i] != a[i]+b[i] {
				t.Fatalf("events %v, want %v + %v", got, a, b)
			}
		}
	})
}

// The same trace gives the same bytes, however the work is spread.
func TestDeterministic(t *testing.T) {
	trace := traceOf(1000, demoRide(1000, 200, 3), demoRide(1000, 50, 4))
	var first string
	for i := range 4 {
		res, _, err := Run(trace, DefaultOptions())
		if err != nil {
			t.Fatal(err)
		}
		b, err := json.Marshal(res)
		if err != nil {
			t.Fatal(err)
		}
		if i == 0 {
			first = string(b)
		} else if string(b) != first {
			t.Fatal("two runs over the same trace differ")
		}
	}
}
