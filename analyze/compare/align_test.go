package compare

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"stanchion/ingest"
	"stanchion/sampledata/ridesim"
)

// copied is a ride played again at a changing pace, up to 15 % faster or slower, with pauses at a stand. at maps time of the copy onto time
// of the original.
func copied(travel []float64, rate float64, rng *rand.Rand) (out []float64, at []float64) {
	var pauses []int
	for range 3 {
		pauses = append(pauses, int((0.1+0.8*rng.Float64())*float64(len(travel))))
	}
	place, pace, left := 0.0, 1.0, 0
	for int(place) < len(travel)-1 {
		if left == 0 {
			pace, left = 0.85+0.3*rng.Float64(), int(rate*(3+9*rng.Float64()))
		}
		left--
		k := int(place)
		u := place - float64(k)
		out, at = append(out, travel[k]+u*(travel[k+1]-travel[k])), append(at, place/rate)
		if i := slices.Index(pauses, k); i >= 0 {
			pauses = slices.Delete(pauses, i, i+1)
			for range int(rate * (1 + 7*rng.Float64())) {
				out, at = append(out, out[len(out)-1]), append(at, place/rate)
			}
		}
		place += pace
	}
	return out, at
}

func traceOf(name string, travel []float64, rate float64) *ingest.Trace {
	return &ingest.Trace{
		Source: name, Fork: ingest.Fork{TravelMM: 160}, RateHz: rate, Segments: []ingest.Segment{{TravelMM: travel}},
		Quality: ingest.Quality{RateHz: rate},
	}
}

// A copy stretched by up to ±15 %, with random pauses, is aligned to within 0.5 s for 95 % of the run and more.
func TestWarpFindsStretch(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates rides")
	}
	log, _, err := ridesim.Ride(trailOf(3, 18))
	if err != nil {
		t.Fatal(err)
	}
	const rate = 500
	base := analysed(t, traceOf("base", log.Reading, rate))
	opt := DefaultOptions()
	opt.Align = ByRoughness
	for seed := range uint64(6) {
		x, at := copied(log.Reading, rate, rand.New(rand.NewPCG(seed, 1)))
		run := analysed(t, traceOf("copy", x, rate))
		al, err := Align([]Run{base, run}, opt)
		if err != nil || al.Refused != "" {
			t.Fatal(err, al.Refused)
		}
		good, all, worst := 0, 0, 0.0
		for s := al.StartS; s < al.EndS; s += 0.1 {
			i := max(0, min(int(al.Runs[1].At(s)*rate), len(at)-1))
			d := math.Abs(at[i] - al.Runs[0].At(s))
			worst = max(worst, d)
			if all++; d <= 0.5 {
				good++
			}
		}
		covered := (al.EndS - al.StartS) / base.Result.Ride.RidingS.Or(1)
		t.Logf("copy %d: %.1f s of %.1f, quality %.3f, within 0.5 s for %.1f %%, worst %.2f s, %d knots", seed, al.EndS-al.StartS,
			base.Result.Ride.RidingS.Or(0), al.Runs[1].Quality.Or(0), 100*float64(good)/float64(all), worst, len(al.Runs[1].Knots))
		if float64(good) < 0.95*float64(all) || covered < 0.9 {
			t.Errorf("copy %d: within 0.5 s for %.1f %% of the run, %.0f %% of which is covered", seed, 100*float64(good)/float64(all), 100*covered)
		}
		// The thinned knots give the same map.
		thinned := RunAlignment{Knots: al.Runs[1].Knots}
		for s := al.StartS; s < al.EndS; s++ {
			close(t, "thinned map", thinned.At(s), al.Runs[1].At(s), 0.0501)
		}
	}
}

// trailPairs aligns every pair of rides by roughness and returns the qualities of pairs of the same and of different trails.
func trailPairs(t testing.TB, trails int, sections int) (same, other []float64) {
	opt := DefaultOptions()
	opt.Align = ByRoughness
	runs := make([]Run, 2*trails)
	each(len(runs), func(i int) {
		p := trailOf(uint64(i/2+11), sections).Again(uint64(100*(i/2)+i%2+1), ridesim.DefaultVariation())
		p.Sensor.RateHz = 250
		runs[i] = ridden(t, fmt.Sprintf("trail %d ride %d", i/2, i%2), p)
	})
	for i := range runs {
		for j := range i {
			al, err := Align([]Run{runs[i], runs[j]}, opt)
			if err != nil {
				t.Fatal(err)
			}
			q := 0.0
			if len(al.Runs) == 2 {
				q = min(al.Runs[0].Quality.Or(0), al.Runs[1].Quality.Or(0))
			}
			if i/2 == j/2 {
				same = append(same, q)
				if al.Refused != "" {
					t.Errorf("two rides of one trail refused: %s", al.Refused)
				}
			} else {
				other = append(other, q)
			}
		}
	}
	return same, other
}

// auc is the chance that a pair of the same trail scores higher than one of different trails.
func auc(same, other []float64) float64 {
	u, _ := mannWhitney(same, other)
	return u / float64(len(same)*len(other))
}

// Rides of the same trail are aligned, rides of different trails refused.
func TestTrailsAreTold(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates rides")
	}
	same, other := trailPairs(t, 3, 14)
	t.Logf("same trail: %.2f", same)
	t.Logf("different trails: %.2f; AUC %.3f", other, auc(same, other))
	limit := DefaultOptions().MinMatch
	for _, q := range other {
		if q >= limit {
			t.Errorf("different trails pass at %.2f", q)
		}
	}
	if auc(same, other) < 1 {
		t.Error("some different trails look more alike than the same")
	}
}

// A tuner compares settings, so a click must not make another trail of the same one; and two trails of the same kinds of ground in
// the same order, of the same lengths, are still two. Mixed courses are long stretches of three kinds of ground, the
// hardest case: among them a pair of the same trail may now and then be refused.
func TestTrailsAreToldAcrossSettings(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates rides")
	}
	opt := DefaultOptions()
	opt.Align = ByRoughness
	for _, c := range []struct {
		name    string
		trail   func(seed uint64) ridesim.Params
		refused int // pairs of the same trail, at the most
	}{
		{"varied ground", func(seed uint64) ridesim.Params { return trailOf(seed+40, 8) }, 0},
		{"twin layouts", func(seed uint64) ridesim.Params {
			p := ridesim.DefaultParams()
			p.Seed, p.Course = seed, ridesim.MixedCourse(3)
			return p
		}, 1},
	} {
		clicks := [][2]int{{8, 8}, {8, 8}, {3, 8}, {12, 8}, {8, 3}} // rebound and compression; the first is the reference
		runs := make([]Run, 2*len(clicks))
		each(len(runs), func(i int) {
			p := c.trail(uint64(i/len(clicks))+1).Again(uint64(i+1), ridesim.DefaultVariation())
			p.Sensor = ridesim.CleanSensor(250)
			d, k := &p.Fork.Damper, clicks[i%len(clicks)]
			d.Rebound, d.Compression = d.Rebound.AtClicks(k[0], 8, 1.2), d.Compression.AtClicks(k[1], 8, 1.2)
			runs[i] = ridden(t, fmt.Sprintf("run %d", i), p)
		})
		var same, other []float64
		refused := 0
		for i := range runs {
			for _, ref := range []int{0, len(clicks)} {
				if i == ref {
					continue
				}
				al, err := Align([]Run{runs[ref], runs[i]}, opt)
				if err != nil {
					t.Fatal(err)
				}
				q := min(al.Runs[0].Quality.Or(0), al.Runs[1].Quality.Or(0))
				switch {
				case i/len(clicks) == ref/len(clicks):
					same = append(same, q)
					if al.OtherTrail {
						refused++
					}
				default:
					other = append(other, q)
					if !al.OtherTrail {
						t.Errorf("%s: another trail passes at %.2f", c.name, q)
					}
				}
			}
		}
		t.Logf("%s: same trail %.2f, other trail %.2f, AUC %.3f", c.name, same, other, auc(same, other))
		if refused > c.refused {
			t.Errorf("%s: %d of %d pairs of the same trail are refused: %.2f", c.name, refused, len(same), same)
		}
		if auc(same, other) < 0.98 {
			t.Errorf("%s: AUC %.3f", c.name, auc(same, other))
		}
	}
}

// marked is r with markers at the given times.
func marked(r Run, labels []string, times ...float64) Run {
	res := *r.Result
	res.Markers = nil
	for i, s := range times {
		res.Markers = append(res.Markers, ingest.TraceMarker{TimeS: s, Label: labels[i]})
	}
	r.Result = &res
	return r
}

// Markers of the same label are joined; where they are wrong, the next way of alignment is tried.
func TestAlignByMarkers(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates rides")
	}
	a, b := rides().a[0], rides().a[1]
	opt := DefaultOptions()
	auto, err := Align([]Run{a, b}, opt)
	if err != nil || auto.Method != ByDistance {
		t.Fatal(err, auto.Method)
	}
	at := func(al *Alignment, run int, reference float64) float64 { return al.Runs[run].At(reference) }
	gates := []string{"start", "middle", "end"}
	places := []float64{6, 20, 38} // in the reference's time
	var times [2][]float64
	for _, s := range places {
		times[0], times[1] = append(times[0], at(&auto, 0, s)), append(times[1], at(&auto, 1, s))
	}
	al, _ := Align([]Run{marked(a, gates, times[0]...), marked(b, gates, times[1]...)}, opt)
	if al.Method != ByMarkers || al.Refused != "" {
		t.Fatalf("%s: %s", al.Method, al.Refused)
	}
	close(t, "start", al.StartS, 6, 1e-9)
	close(t, "end", al.EndS, 38, 1e-9)
	for run := range 2 {
		close(t, "middle gate", at(&al, run, 20), times[run][1], 1e-9)
		close(t, "start of the run", al.Runs[run].StartS, times[run][0], 1e-9)
	}
	// One run lacks a gate and has another: the two that both have are enough.
	al, _ = Align([]Run{marked(a, gates, times[0]...), marked(b, []string{"start", "rock", "end"}, times[1]...)}, opt)
	if al.Method != ByMarkers || len(al.Runs[0].Knots) != 2 || len(al.Runs[1].Knots) != 2 {
		t.Errorf("two common gates: %s", al.Method)
	}
	// Gates at the wrong places do not survive the check.
	al, _ = Align([]Run{marked(a, gates, 6, 20, 38), marked(b, gates, 14, 36, 43)}, opt)
	if al.Method != ByDistance || al.Refused != "" {
		t.Errorf("wrong gates: %s %s", al.Method, al.Refused)
	}
	opt.Align = ByMarkers
	if al, _ = Align([]Run{marked(a, gates, 6, 20, 38), marked(b, gates, 14, 36, 43)}, opt); !al.OtherTrail || al.Refused == "" {
		t.Errorf("wrong gates alone: %+v", al.Refused)
	}
	if al, _ = Align([]Run{a, marked(b, []string{"end", "middle", "start"}, 6, 20, 38)}, opt); al.Refused == "" || al.OtherTrail {
		t.Errorf("no markers: %q", al.Refused)
	}
}

// Distance gives the same places as the truth, also where counting began elsewhere.
func TestAlignByDistance(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates rides")
	}
	a, b := rides().a[0], rides().a[1]
	opt := DefaultOptions()
	opt.Align = ByDistance
	for _, shift := range []float64{0, 13, -7} {
		moved := b
		signals := *b.Signals
		signals.Segments = slices.Clone(signals.Segments)
		for i, s := range signals.Segments {
			d := slices.Clone(s.DistanceM)
			for k := range d {
				d[k] += shift
			}
			signals.Segments[i].DistanceM = d
		}
		moved.Signals = &signals
		al, err := Align([]Run{a, moved}, opt)
		if err != nil || al.Refused != "" {
			t.Fatal(err, al.Refused)
		}
		distance := func(r *Run, at float64) float64 {
			e := newEnvelope(r)
			return interpolate(e.t, e.dist, at)
		}
		for s := al.StartS + 3; s < al.EndS-3; s++ {
			close(t, "place", distance(&b, al.Runs[1].At(s)), distance(&a, al.Runs[0].At(s)), 1.01)
		}
	}
	opt.Align = "compass"
	if _, err := Align([]Run{a, b}, opt); err == nil {
		t.Error("an unknown way of alignment passes")
	}
}

// What cannot be aligned is refused with the reason, and the figures are compared all the same, but for another trail.
func TestUnaligned(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates rides")
	}
	r := rides()
	bare := slices.Clone(r.a)
	for i := range bare {
		bare[i].Signals = nil
	}
	c := compared(t, bare, r.b, DefaultOptions())
	if c.Alignment.Refused == "" || c.NoSections == "" || len(c.Sections) > 0 {
		t.Errorf("no signals: %q, %d sections", c.Alignment.Refused, len(c.Sections))
	}
	if d := find(t, c, "velocity.rebound.q95_mm_s"); d.Verdict != Lower {
		t.Errorf("no signals: %q", d.Verdict)
	}
	opt := DefaultOptions()
	opt.MinMatch = 0.999 // as if of another trail
	c = compared(t, r.a, r.b, opt)
	if !c.Alignment.OtherTrail {
		t.Fatal("not refused")
	}
	for _, d := range c.Differences {
		if d.Verdict != NotJudged || d.Why == "" {
			t.Errorf("%s: %q on another trail", d.Key, d.Verdict)
		}
	}
}

// A recording in pieces is tallied piece by piece; the parts of the shared ground add up to the whole.
func TestTallyAddsUp(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates rides")
	}
	run := rides().a[0]
	g := newGauge(&run)
	whole, parts := newTally(), newTally()
	g.count(&whole, 3, 33)
	for s := 3.0; s < 33; s += 0.37 {
		g.count(&parts, s, min(33, s+0.37))
	}
	if whole.sum[sumN] < 10*500 || !slices.Equal(whole.hist, parts.hist) {
		t.Error("parts do not add up")
	}
	for i := range whole.sum {
		close(t, "sum", parts.sum[i], whole.sum[i], 1e-6*(1+math.Abs(whole.sum[i])))
	}
	// The figures of the tally of a whole run are those of the analysis, to a part of a bin.
	all := newTally()
	g.count(&all, 0, 1e9)
	v := run.Result
	for _, c := range []struct {
		key       string
		want, tol float64
	}{
		{"sag.dynamic_mean_mm", v.Sag.DynamicMeanMM.Or(0), 1e-6}, {"sag.dynamic_median_mm", v.Sag.DynamicMM.Or(0), 0.3},
		{"travel.q95_mm", v.Travel.Q95MM.Or(0), 0.3}, {"velocity.rebound.q95_mm_s", v.Velocity.Rebound.Q95MMS.Or(0), 5},
		{"velocity.compression.median_mm_s", v.Velocity.Compression.MedianMMS.Or(0), 5}, {"velocity.compression.mean_mm_s", v.Velocity.Compression.MeanMMS.Or(0), 1e-6},
		{"velocity.still_share", v.Velocity.Regimes.Still.Or(0), 1e-9}, {"velocity.high_speed_rebound_share", v.Velocity.Regimes.HighRebound.Or(0), 1e-9},
		{"rough.median_mm_s", v.Rough.MedianMMS.Or(0), 5}, {"travel.bottom_outs_per_min", v.Travel.BottomPerMin.Or(0), 1e-9},
	} {
		for _, p := range partials() {
			if p.key == c.key {
				got, _ := p.of(&all, &g)
				close(t, c.key, got, c.want, c.tol)
			}
		}
	}
}
