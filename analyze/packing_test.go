package analyze

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"
)

// A valley is a rebound end at a sample.
type valley struct {
	at int
	mm float64
}

// strokesOf joins valleys by way of peaks 30 mm deeper, halfway between them. Rate 1000 Hz, one segment.
func strokesOf(segment int, valleys ...valley) []Stroke {
	s := func(i int) float64 { return float64(i) / 1000 }
	var out []Stroke
	for i, v := range valleys {
		from := valley{v.at - 40, v.mm}
		if i > 0 {
			from = valleys[i-1]
		}
		peak := valley{(from.at + v.at) / 2, max(from.mm, v.mm) + 30}
		out = append(out,
			Stroke{StartS: s(from.at), EndS: s(peak.at), StartMM: from.mm, EndMM: peak.mm, Compression: true, AmplitudeMM: peak.mm - from.mm, Riding: true, Segment: segment},
			Stroke{StartS: s(peak.at), EndS: s(v.at), StartMM: peak.mm, EndMM: v.mm, AmplitudeMM: peak.mm - v.mm, Riding: true, Segment: segment})
	}
	return out
}

// every is n valleys gap samples apart.
func every(n, from, gap int, mm float64) []valley {
	var out []valley
	for i := range n {
		out = append(out, valley{from + i*gap, mm})
	}
	return out
}

// level30 is a static sag of 30 mm. With 160 mm of travel a valley is deep from 30 + 0.06·160 = 39.6 mm on.
var level30 = Sag{StaticMM: Value(30, 1), DynamicMM: Value(36, 100)}

// Constructed valleys: exact counts, and the limits of 250 ms, 6 % of travel and four valleys.
func TestPackingRuns(t *testing.T) {
	const deep, shallow = 39.6, 39.59
	join := func(parts ...[]valley) (all []valley) {
		for _, p := range parts {
			all = append(all, p...)
		}
		return all
	}
	for _, c := range []struct {
		name    string
		valleys []valley
		want    []int // valleys of each run
	}{
		{"four at the limits", every(4, 1000, 250, deep), []int{4}},
		{"three", every(3, 1000, 200, deep), nil},
		{"251 ms apart", every(8, 1000, 251, deep), nil},
		{"one sample of depth short", every(8, 1000, 200, shallow), nil},
		{"a maximal run counts once", every(17, 1000, 200, 60), []int{17}},
		{"a shallow valley parts it", join(every(4, 1000, 200, 50), every(1, 1800, 0, shallow), every(5, 2000, 200, 50)), []int{4, 5}},
		{"a pause parts it", join(every(4, 1000, 200, 50), every(6, 1851, 200, 50)), []int{4, 6}},
		{"three and three", join(every(3, 1000, 200, 50), every(3, 1651, 200, 50)), nil},
		{"at the end of the list", join(every(2, 1000, 200, shallow), every(4, 1400, 200, 50)), []int{4}},
	} {
		r := bare(t, 1000, constant(20000, 100))
		p := r.packing(strokesOf(0, c.valleys...), level30)
		var got []int
		for _, run := range p.Runs {
			got = append(got, run.Valleys)
		}
		if fmt.Sprint(got) != fmt.Sprint(c.want) {
			t.Errorf("%s: runs of %v valleys, want %v", c.name, got, c.want)
		}
		near(t, c.name+": count", p.Count, float64(len(c.want)), 0)
		near(t, c.name+": per minute", p.PerMin, float64(len(c.want))*3, 1e-9) // 20 s of riding
	}
}

// A run has the times of its first and last valley and the depth of its deepest.
func TestPackingRunFields(t *testing.T) {
	r := bare(t, 1000, constant(20000, 100))
	p := r.packing(strokesOf(0, valley{1000, 45}, valley{1200, 71.5}, valley{1390, 50}, valley{1600, 48}), level30)
	if len(p.Runs) != 1 || p.Runs[0] != (PackingRun{StartS: 1, EndS: 1.6, Valleys: 4, DeepestMM: 71.5}) {
		t.Errorf("runs %+v", p.Runs)
	}
	near(t, "deepest", p.DeepestMM, 71.5, 0)
	near(t, "reference", p.ReferenceMM, 30, 0)
	near(t, "ride-height loss", p.RideHeightLossMM, 6, 1e-12)
	if p.Reference != ReferenceStatic || len(p.Count.Caveats()) != 0 {
		t.Errorf("reference %q, caveats %q", p.Reference, p.Count.Caveats())
	}
	gone(t, "deepest without packing", r.packing(nil, level30).DeepestMM)
}

// No run crosses a segment edge, and a run that starts outside riding time does not count.
func TestPackingEdges(t *testing.T) {
	r := bare(t, 1000, constant(10000, 100))
	r.segs = append(r.segs, r.segs[0])
	parted := append(strokesOf(0, every(3, 9000, 200, 50)...), strokesOf(1, every(3, 9600, 200, 50)...)...)
	near(t, "across segments", r.packing(parted, level30).Count, 0, 0)
	whole := append(strokesOf(0, every(4, 9000, 200, 50)...), strokesOf(1, every(4, 9700, 200, 50)...)...)
	near(t, "in both segments", r.packing(whole, level30).Count, 2, 0)
	still := bare(t, 1000, append(constant(5000, 0), constant(5000, 100)...))
	near(t, "standing", still.packing(strokesOf(0, every(6, 1000, 200, 50)...), level30).Count, 0, 0)
}

// ladder is a ride of cells of 250 samples: cell k has travel 10·k mm and roughness 50 + 10·k mm/s.
func ladder(t testing.TB, n int) *ride {
	r := bare(t, 1000, constant(250*n, 100))
	s := &r.segs[0]
	for k := range s.cells {
		s.cells[k].rms = 50 + 10*float64(k)
		for i := s.cells[k].lo; i < s.cells[k].hi; i++ {
			s.x[i] = 10 * float64(k)
		}
	}
	return r
}

// Without static sag depth counts from the median travel of the calm quarter, with a caveat; the two figures that are
// differences to static sag are absent. With it, sink is the median of the rough quarter less static sag. Nine cells: the quartiles of
// roughness are those of cells 2 and 6, so the calm quarter is cells 0–2 (median 10 mm), the rough one 6–8 (70 mm).
func TestPackingReference(t *testing.T) {
	r := ladder(t, 9)
	p := r.packing(strokesOf(0, every(5, 100, 200, 19.6)...), Sag{StaticMM: Absent("never stood still"), DynamicMM: Value(40, 1)})
	near(t, "reference", p.ReferenceMM, 10, 0)
	near(t, "count", p.Count, 1, 0)
	if p.Reference != ReferenceCalm || len(p.Count.Caveats()) != 1 || len(p.PerMin.Caveats()) != 1 {
		t.Errorf("reference %q, caveats %q: want the calm quarter and a caveat", p.Reference, p.Count.Caveats())
	}
	gone(t, "ride-height loss", p.RideHeightLossMM)
	gone(t, "sink", p.SinkInRoughPct)
	near(t, "sink", r.packing(nil, level30).SinkInRoughPct, (70.0-30)/160*100, 1e-12)
	r.segs[0].cells[8].riding = false // Q(75) of cells 0–7 lies between 5 and 6: the rough quarter is 6 and 7
	near(t, "sink", r.packing(nil, level30).SinkInRoughPct, (65.0-30)/160*100, 1e-12)
}

// Without riding or velocity nothing is known, and the reason says so.
func TestPackingNothing(t *testing.T) {
	r := bare(t, 1000, constant(5000, 0))
	p := r.packing(nil, Sag{})
	for what, f := range map[string]Figure{"count": p.Count, "per minute": p.PerMin, "deepest": p.DeepestMM, "sink": p.SinkInRoughPct} {
		gone(t, what, f)
	}
	r.noVelocity = "too slow"
	if p := r.packing(nil, level30); p.Count.Reason() != "too slow" || p.SinkInRoughPct.Reason() != "too slow" {
		t.Errorf("reasons %q, %q", p.Count.Reason(), p.SinkInRoughPct.Reason())
	}
}

// Whatever the valleys: runs are in order, do not overlap, hold at least four valleys each, and together no more valleys than there
// are deep ones.
func TestPackingProperties(t *testing.T) {
	r := bare(t, 1000, constant(60000, 100))
	rapid.Check(t, func(t *rapid.T) {
		gaps := rapid.SliceOfN(rapid.IntRange(30, 400), 0, 60).Draw(t, "gaps")
		var valleys []valley
		at, deep := 500, 0
		for i, g := range gaps {
			at += g
			mm := rapid.Float64Range(20, 60).Draw(t, fmt.Sprint("mm", i))
			if mm >= 39.6 {
				deep++
			}
			valleys = append(valleys, valley{at, mm})
		}
		last, total := -1.0, 0
		for _, run := range r.packing(strokesOf(0, valleys...), level30).Runs {
			if run.Valleys < 4 || run.StartS <= last || run.EndS < run.StartS || run.DeepestMM < 39.6 {
				t.Fatalf("run %+v after %g s", run, last)
			}
			if span := run.EndS - run.StartS; span > 0.25*float64(run.Valleys-1)+1e-9 {
				t.Fatalf("run %+v lasts %g s", run, span)
			}
			last = run.EndS
			total += run.Valleys
		}
		if total > deep {
			t.Fatalf("%d valleys in runs, %d deep", total, deep)
		}
	})
}
