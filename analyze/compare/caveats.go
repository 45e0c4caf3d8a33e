package compare

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"stanchion/analyze"
)

// caveats lists what could mislead: most of all, what differed between the sets besides the setting that was meant to.
func (c *comparing) caveats(out *Comparison) []analyze.Caveat {
	list := []analyze.Caveat{}
	add := func(severity, topic, format string, args ...any) {
		list = append(list, analyze.Caveat{Severity: severity, Topic: topic, Text: fmt.Sprintf(format, args...)})
	}
	trailCaveats(&out.Alignment, c.opt, add)
	if out.Alignment.Refused == "" {
		c.commonGround(out, add)
	}
	nA, nB := len(out.A), len(out.B)
	switch {
	case nA == 1 && nB == 1:
		add(analyze.Warning, "runs", "One run a side: intervals are %s. Nothing here shows that the setting did it: %s.", WithinRun, SameSettingPairs())
	case nA == 1 || nB == 1:
		add(analyze.Warning, "runs", "One set is a single run: its spread is taken to be that of the other set.")
	case min(nA, nB) == 2:
		add(analyze.Note, "runs", "Two runs in a set tell little about its spread: intervals are wide. Three to five a side are far better.")
	}
	c.speed(out, add)
	c.sag(out, add)
	c.reference(add)
	c.settings(add)
	c.order(add)
	return list
}

type adder func(severity, topic, format string, args ...any)

// meanOf is the mean of a figure of the runs of a set that have it.
func meanOf(set []SetRun, f func(*SetRun) analyze.Figure) (mean float64, ok bool) {
	var v []float64
	for i := range set {
		if a, has := f(&set[i]).Get(); has {
			v = append(v, a)
		}
	}
	return describe(v).mean, len(v) > 0
}

// commonGround warns where figures are of far more than the ground that the runs share.
func (c *comparing) commonGround(out *Comparison, add adder) {
	for i, s := range append(slices.Clone(out.A), out.B...) {
		shared, all := s.RidingS.Or(0), c.runs[i].Result.Ride.RidingS.Or(0)
		if all > 0 && shared < 0.9*all {
			add(analyze.Note, "ground", "Only %.0f of %.0f s of riding of %s are on the ground that all runs share; figures are of the whole runs unless they say otherwise.",
				shared, all, s.Name)
		}
	}
}

// speed warns where one set was ridden faster: speed alone moves most figures.
func (c *comparing) speed(out *Comparison, add adder) {
	a, okA := meanOf(out.A, func(r *SetRun) analyze.Figure { return r.RidingS })
	b, okB := meanOf(out.B, func(r *SetRun) analyze.Figure { return r.RidingS })
	if !okA || !okB || !(a > 0) || !(b > 0) {
		return
	}
	pct := 100 * (b/a - 1)
	if math.Abs(pct) < c.opt.RideTimePct {
		return
	}
	how := "slower"
	if pct < 0 {
		how = "faster"
	}
	add(analyze.Warning, "speed", "B was ridden %.1f %% %s (%.1f s against %.1f s): speed alone changes how fast and how deep a fork moves.", math.Abs(pct), how, b, a)
}

// sag warns where static sag differs: then load or spring did, whatever was meant to.
func (c *comparing) sag(out *Comparison, add adder) {
	a, okA := meanOf(out.A, func(r *SetRun) analyze.Figure { return r.StaticMM })
	b, okB := meanOf(out.B, func(r *SetRun) analyze.Figure { return r.StaticMM })
	if okA && okB && math.Abs(b-a) > c.opt.SagMM {
		add(analyze.Warning, "sag", "Static sag differs by %.1f mm (%.1f mm in A, %.1f mm in B): spring, load or body position was not the same.", b-a, a, b)
	}
}

// reference notes where packing and return are measured from different things in different runs.
func (c *comparing) reference(add adder) {
	for i := range c.runs {
		if a, b := c.runs[0].Result.Packing.Reference, c.runs[i].Result.Packing.Reference; a != b && a != "" && b != "" {
			add(analyze.Warning, "reference", "Packing, sink and return are measured from %s in some runs and from %s in others: those figures do not mean the same. Give all runs a static sag.", a, b)
			return
		}
	}
}

// settings compares what was noted for the runs.
func (c *comparing) settings(add adder) {
	keys := map[string]bool{}
	for i := range c.runs {
		for k := range c.runs[i].Settings {
			keys[k] = true
		}
	}
	var varied []string
	for _, key := range slices.Sorted(maps.Keys(keys)) {
		a, missA := c.noted(key, 0, c.nA)
		b, missB := c.noted(key, c.nA, len(c.runs))
		if missA+missB > 0 {
			add(analyze.Note, "setting", "%s was not noted for %d of %d runs.", key, missA+missB, len(c.runs))
		}
		if len(a) == 0 || len(b) == 0 || c.same(key, append(slices.Clone(a), b...)) {
			continue
		}
		switch {
		case c.overlap(key, a, b):
			add(analyze.Note, "setting", "%s varied within the sets (A: %s; B: %s).", key, list(a), list(b))
		case !slices.Contains(c.opt.Varied, key):
			add(analyze.Warning, "setting", "%s differs too (A: %s; B: %s) and could explain any difference.", key, list(a), list(b))
		default:
			varied = append(varied, key)
			if !c.same(key, a) || !c.same(key, b) {
				add(analyze.Warning, "setting", "%s is not one value within a set (A: %s; B: %s): the sets are mixtures.", key, list(a), list(b))
			}
		}
	}
	if len(varied) > 1 {
		add(analyze.Warning, "setting", "%s were changed together: their effects cannot be told apart.", strings.Join(varied, ", "))
	}
	if len(c.opt.Varied) > 0 && len(varied) == 0 && len(keys) > 0 {
		add(analyze.Warning, "setting", "%s does not differ between the sets as far as it was noted.", strings.Join(c.opt.Varied, ", "))
	}
}

// noted are the different values of a setting among runs [lo, hi), sorted, and how many runs have none.
func (c *comparing) noted(key string, lo, hi int) (vals []string, missing int) {
	seen := map[string]bool{}
	for i := lo; i < hi; i++ {
		v, ok := c.runs[i].Settings[key]
		if !ok || strings.TrimSpace(v) == "" {
			missing++
			continue
		}
		seen[strings.TrimSpace(v)] = true
	}
	return slices.Sorted(maps.Keys(seen)), missing
}

// same says whether all values count as one: equal texts, or numbers within the tolerance of the setting.
func (c *comparing) same(key string, vals []string) bool {
	low, high := math.Inf(1), math.Inf(-1)
	for _, v := range vals {
		x, err := strconv.ParseFloat(v, 64)
		if err != nil {
			x = math.NaN()
		}
		low, high = min(low, x), max(high, x) // NaN stays
	}
	if math.IsNaN(low) {
		for _, v := range vals {
			if v != vals[0] {
				return false
			}
		}
		return true
	}
	return high-low <= c.opt.Tolerances[key]
}

// overlap says whether some value occurs in both sets.
func (c *comparing) overlap(key string, a, b []string) bool {
	for _, x := range a {
		for _, y := range b {
			if c.same(key, []string{x, y}) {
				return true
			}
		}
	}
	return false
}

// list joins values for reading, at most five.
func list(v []string) string {
	if len(v) > 5 {
		return strings.Join(v[:5], ", ") + ", …"
	}
	return strings.Join(v, ", ")
}

// order warns where the sets were ridden one after the other, so that anything that drifts (temperature, tyres, tiredness, learning the
// trail) could pass for the setting.
func (c *comparing) order(add adder) {
	var a, b []float64
	for i := range c.runs {
		o := float64(c.runs[i].Order)
		if o <= 0 {
			if len(c.runs) > 2 {
				add(analyze.Note, "order", "The order in which the runs were ridden is not known: drift over the day cannot be ruled out.")
			}
			return
		}
		if i < c.nA {
			a = append(a, o)
		} else {
			b = append(b, o)
		}
	}
	u, _ := mannWhitney(a, b)
	apart := math.Abs(2*u/float64(len(a)*len(b)) - 1)
	if apart < c.opt.DriftShare || len(c.runs) == 2 {
		return
	}
	first := "A"
	if u > float64(len(a)*len(b))/2 {
		first = "B"
	}
	add(analyze.Warning, "order", "The runs were not alternated: %s was ridden first, so drift (warming, wear, tiring, learning the trail) could explain a difference. Ride A B A B next time.", first)
}

// sweepSettings warns about settings other than the adjuster that were not the same for all runs.
func (s *SweepResult) sweepSettings(add adder) {
	c := comparing{opt: &s.Options.Options, runs: make([]Run, len(s.Runs))}
	keys := map[string]bool{}
	for i := range s.Runs {
		c.runs[i].Settings = s.Runs[i].Settings
		for k := range s.Runs[i].Settings {
			keys[k] = true
		}
	}
	for _, key := range slices.Sorted(maps.Keys(keys)) {
		v, _ := c.noted(key, 0, len(c.runs))
		if len(v) > 1 && !slices.Contains(s.Options.Varied, key) && !c.same(key, v) {
			add(analyze.Warning, "setting", "%s was not the same for all runs (%s) and could explain responses.", key, list(v))
		}
	}
}
