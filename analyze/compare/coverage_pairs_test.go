package compare

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"stanchion/sampledata/ridesim"
)

// coverPairs compares single rides of one setting: how often one run a side calls something different though nothing was
// changed. The words that readers get (PairAlarms) must stay within one case of ten of what is measured here.
func coverPairs(t *testing.T, say func(string, ...any), size int) {
	rides, trials, lengths := 24, 100, []int{8}
	if size == 2 {
		rides, trials, lengths = 60, 400, []int{8, 40}
	}
	say("\n## One run a side\n")
	say("Pairs of rides of the same setting, judged within-run (paired moving-block bootstrap). Run to run they vary as above; %d rides a length,", rides)
	say("%d pairs drawn of each. No verdict of a difference is true of the setting.\n", trials)
	say("| riding a run | main figures judged | a main figure called different | any figure called different | called most often |")
	say("| --- | --- | --- | --- | --- |")
	for k, sections := range lengths {
		p := make(pool, rides)
		each(rides, func(i int) {
			course := trailOf(1, sections)
			course.Sensor.RateHz = 250
			p[i] = ridden(t, fmt.Sprint("ride ", i), course.Again(uint64(7001+i), ridesim.DefaultVariation()))
		})
		r := falseAlarms(t, p, trials, uint64(sections))
		riding := p[0].Result.Ride.RidingS.Or(0)
		say("| %.0f s | %.1f | %.1f %% | %.1f %% | %s (%.0f %%) |", riding, r.judged, 100*r.main, 100*r.any, r.often, 100*r.oftenest)
		want := PairAlarms()[k]
		if math.Abs(riding-want.RidingS) > 0.15*want.RidingS || math.Abs(r.main-float64(want.OfTen)/10) > 0.1 {
			t.Errorf("pairs of %.0f s: a main figure called different in %.0f %%, but readers are told %d of 10 at %.0f s", riding, 100*r.main, want.OfTen, want.RidingS)
		}
	}
}

// An alarmRate is the shares of pairs of one setting in which figures are called different.
type alarmRate struct {
	judged    float64 // main figures a pair
	main, any float64
	often     string // the main figure called most often, and in which share of the pairs
	oftenest  float64
}

func falseAlarms(t *testing.T, p pool, trials int, seed uint64) alarmRate {
	t.Helper()
	rng := rand.New(rand.NewPCG(seed, 9))
	drawn := make([][]Run, trials)
	for i := range drawn {
		drawn[i] = p.draw(rng, 2)
	}
	out := make([]*Comparison, trials)
	each(trials, func(i int) { out[i] = judged(t, drawn[i][:1], drawn[i][1:]) })
	var r alarmRate
	share := 1 / float64(trials)
	calls, label := map[string]float64{}, map[string]string{}
	for _, c := range out {
		if c.Scope != WithinRun {
			t.Fatalf("scope of one run a side: %q", c.Scope)
		}
		main, any := false, false
		for i := range c.Differences {
			d := &c.Differences[i]
			hit := strings.HasSuffix(d.Verdict, "in these two runs")
			any = any || hit
			if d.Family != Primary {
				continue
			}
			main = main || hit
			if d.Verdict != NotJudged {
				r.judged += share
			}
			if hit {
				calls[d.Key] += share
				label[d.Key] = d.Label
			}
		}
		if main {
			r.main += share
		}
		if any {
			r.any += share
		}
	}
	for _, key := range DefaultPrimary() {
		if calls[key] > r.oftenest {
			r.often, r.oftenest = label[key], calls[key]
		}
	}
	return r
}
