package compare

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"

	"stanchion/analyze"
	"stanchion/sampledata/ridesim"
)

// An invented rebound adjuster of 12 clicks from closed. From deadFrom clicks on it does nothing more; each click opens the
// compression valve too, where coupled.
type rebound struct {
	deadFrom float64
	coupled  bool
}

func (a rebound) at(p ridesim.Params, clicks int) ridesim.Params {
	c := min(float64(clicks), a.deadFrom)
	turn := func(v ridesim.Valve, c float64) ridesim.Valve { return v.AtClicks(int(c), 6, 1.15) }
	p.Fork.Damper.Rebound = turn(p.Fork.Damper.Rebound, c)
	if a.coupled {
		p.Fork.Damper.Compression = turn(p.Fork.Damper.Compression, c)
	}
	return p
}

// sweepClicks are the positions of a sweep in the order ridden.
var sweepClicks = []int{0, 8, 12, 4, 10, 0, 12, 8, 2, 6, 10, 4}

// sweep rides the adjuster; a ride that like already holds (the same damper at the same position) is taken from it.
func (a rebound) sweep(t testing.TB, like []SweepRun, likeAdjuster rebound) []SweepRun {
	runs := make([]SweepRun, len(sweepClicks))
	each(len(runs), func(i int) {
		base, clicks := trailOf(1, 6), sweepClicks[i]
		if like != nil && a.at(base, clicks).Fork.Damper == likeAdjuster.at(base, clicks).Fork.Damper {
			runs[i] = like[i]
			return
		}
		p := a.at(base, clicks).Again(uint64(i+1), ridesim.DefaultVariation())
		p.Sensor.RateHz = 250
		r := ridden(t, fmt.Sprintf("run %d at %d clicks", i+1, clicks), p)
		r.Order = i + 1
		runs[i] = SweepRun{r, float64(clicks)}
	})
	return runs
}

var sweeps = sync.OnceValue(func() map[string][]SweepRun {
	t := &testing.B{}
	free := rebound{deadFrom: 12}
	clean := free.sweep(t, nil, free)
	return map[string][]SweepRun{
		"clean": clean, "dead": rebound{deadFrom: 8}.sweep(t, clean, free), "coupled": rebound{deadFrom: 12, coupled: true}.sweep(t, nil, free),
	}
})

func swept(t *testing.T, runs []SweepRun, kind Kind) *SweepResult {
	t.Helper()
	s, err := Sweep(runs, Adjuster{Name: "rebound", Kind: kind}, DefaultSweepOptions())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := json.Marshal(s); err != nil {
		t.Fatal(err)
	}
	return s
}

func response(t *testing.T, s *SweepResult, key string) *Response {
	t.Helper()
	for i := range s.Responses {
		if s.Responses[i].Key == key {
			return &s.Responses[i]
		}
	}
	t.Fatalf("no response %s", key)
	return nil
}

// On simulated dampers whose faults are known by construction the sweep finds them, and none on a clean one. A single figure may
// well stop moving on a clean damper: once rebound is free enough, the fork is always back in time.
func TestSweepFindsFaults(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates rides")
	}
	for _, c := range []struct {
		name      string
		dead      []Range
		usable    Range
		crosstalk string // a figure that must show it; "" none may
	}{
		{"clean", []Range{}, Range{0, 12}, ""},
		{"dead", []Range{{8, 12}}, Range{0, 8}, ""},
		{"coupled", []Range{}, Range{0, 12}, "velocity.at_depth.compression_q70_mm_s"},
	} {
		s := swept(t, sweeps()[c.name], Rebound)
		for _, r := range s.Responses {
			if r.Role == "" {
				continue
			}
			t.Logf("%-8s %-38s %-18s ρ %5.2f slope %8.3g [%8.3g, %8.3g], standardised %5.1f, ratio %5.2f, dead %v, unsure %v", c.name, r.Key, r.Verdict,
				r.Rho.Or(9), r.Slope.Or(0), r.SlopeLow.Or(0), r.SlopeHigh.Or(0), r.Standard.Or(0), r.Ratio.Or(-1), r.Dead, r.Unsure)
			if (c.crosstalk == "" && r.Crosstalk) || (r.Key == c.crosstalk && !r.Crosstalk) {
				t.Errorf("%s, %s: crosstalk %v at a ratio of %.2f", c.name, r.Key, r.Crosstalk, r.Ratio.Or(-1))
			}
		}
		if !slices.Equal(s.Dead, c.dead) || s.Usable == nil || *s.Usable != c.usable {
			t.Errorf("%s: dead %v, usable %v; want %v, %v", c.name, s.Dead, s.Usable, c.dead, c.usable)
		}
		if r := response(t, s, "velocity.rebound.q95_mm_s"); r.Verdict != Rises || !(r.SlopeLow.Or(-1) > 0) || r.Monotonicity.Or(0) < 0.7 {
			t.Errorf("%s: rebound speed %q, slope from %v, monotonicity %v", c.name, r.Verdict, r.SlopeLow, r.Monotonicity)
		}
		if s.Alignment.Refused != "" || len(s.Caveats) > 0 {
			t.Errorf("%s: %s, caveats %v", c.name, s.Alignment.Refused, s.Caveats)
		}
	}
}

// The matrix joins sweeps: crosstalk shows where the sweep found it and nowhere else.
func TestMatrix(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates rides")
	}
	clean, coupled := swept(t, sweeps()["clean"], Rebound), swept(t, sweeps()["coupled"], Rebound)
	m := NewMatrix([]*SweepResult{clean, coupled})
	moves := DefaultMoves()[Rebound]
	if len(m.Adjusters) != 2 || len(m.Keys) != len(moves.Should)+len(moves.ShouldNot) {
		t.Fatalf("%d adjusters, keys %v", len(m.Adjusters), m.Keys)
	}
	k := slices.Index(m.Keys, "velocity.at_depth.compression_q70_mm_s")
	if m.Crosstalk[0][k] || !m.Crosstalk[1][k] || m.Role[1][k] != RoleShouldNot || m.Ratio[1][k].Or(0) < 2*m.Ratio[0][k].Or(9) {
		t.Errorf("compression: %v, %v", m.Ratio[0][k], m.Ratio[1][k])
	}
}

// Few runs, few positions and confounders are told.
func TestSweepCaveats(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates rides")
	}
	runs := sweeps()["clean"]
	for _, c := range []struct {
		runs []SweepRun
		kind Kind
		want string
	}{
		{runs[:3], Rebound, "needs 4 or more"},
		{[]SweepRun{runs[0], runs[5], runs[2], runs[6]}, Rebound, "2 positions"},
		{runs, "brake", "unknown kind"},
		{append(runs[:4:4], runs[0]), Rebound, "same run"},
	} {
		if _, err := Sweep(c.runs, Adjuster{Kind: c.kind}, DefaultSweepOptions()); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("error %v, want %q", err, c.want)
		}
	}
	s := swept(t, []SweepRun{runs[0], runs[3], runs[4], runs[6]}, Rebound) // 0, 4, 10, 12 clicks in this order
	topics := map[string]bool{}
	for _, c := range s.Caveats {
		topics[c.Topic] = true
	}
	if !topics["runs"] || !topics["order"] {
		t.Errorf("caveats %v", s.Caveats)
	}
	for _, r := range s.Responses {
		if r.responds() {
			t.Errorf("%s %s: four runs cannot show it", r.Key, r.Verdict)
		}
	}
	if r := response(t, s, "velocity.rebound.q95_mm_s"); !strings.HasPrefix(r.SpreadFrom, "each position") || r.SlopeLow.OK() {
		t.Errorf("spread from %q, slope from %v", r.SpreadFrom, r.SlopeLow)
	}
	hot := slices.Clone(runs)
	for i := range hot {
		hot[i].Settings = map[string]string{"temperature_c": fmt.Sprint(10 + i)}
	}
	s = swept(t, hot, "")
	if len(s.Caveats) != 1 || s.Caveats[0].Topic != "setting" {
		t.Errorf("caveats %v", s.Caveats)
	}
	if r := response(t, s, "velocity.rebound.q95_mm_s"); r.Ratio.OK() || r.Role != "" {
		t.Error("crosstalk of an adjuster of unknown kind")
	}
}

// A made response: straight but for a dead end. It must be found dead where the spread allows and unsure where it does not.
func TestDeadNeedsProof(t *testing.T) {
	opt := DefaultSweepOptions()
	for _, c := range []struct {
		noise        float64
		dead, unsure []Range
	}{{0.02, []Range{{6, 9}}, nil}, {3, nil, []Range{{6, 9}}}} {
		var x []float64
		r := Response{}
		for _, sign := range []float64{1, -1} { // two runs a position, so that position means are exact
			for _, at := range []float64{0, 3, 6, 9} {
				x = append(x, at)
				r.Values = append(r.Values, analyze.Value(10+2*min(at, 6)+sign*c.noise, 1))
			}
		}
		r.fit(x)
		r.Verdict = Rises // as if clear: noise this large would not be
		r.findDead(x, &opt)
		if !slices.Equal(r.Dead, c.dead) || !slices.Equal(r.Unsure, c.unsure) {
			t.Errorf("noise %g: dead %v, unsure %v", c.noise, r.Dead, r.Unsure)
		}
		close(t, "slope of the live part", r.Points[2].Isotonic.Or(0), 22, 1e-9)
	}
}
