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
	var runs []Run
	for k := range trails {
		for i := range 2 {
			p := trailOf(uint64(k+11), sections).Again(uint64(100*k+i+1), ridesim.DefaultVariation())
			p.Sensor.RateHz = 250
			runs = append(runs, ridden(t, fmt.Sprintf("trail %d ride %d", k, i), p))
		}
	}
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
