package compare

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"stanchion/analyze"
)

// A Run is one run as a comparison needs it.
type Run struct {
	Name    string          // for people, unique among the runs compared; the source of Result where empty
	Result  *analyze.Result // must not be nil
	Signals *analyze.Signals
	// Hash names the content of the log, so that one log given twice is noticed. Empty: not known.
	Hash string
	// Settings are what was set or noted for the run: "rebound_clicks": "5", "temperature_c": "14", "rider": "…".
	Settings map[string]string
	// Order is the place of the run in the order ridden, from 1. 0: not known.
	Order int
}

func (r *Run) name() string { return cmp.Or(r.Name, r.Result.Source) }

// rateTolerance is how far sample rates and filter cutoffs may differ, relative: a logger's clock is not exact.
const rateTolerance = 0.01

// check refuses runs that cannot be compared at all.
func check(runs []Run) error {
	if len(runs) < 2 {
		return fmt.Errorf("%d run(s) given: a comparison needs two or more", len(runs))
	}
	for i := range runs {
		if runs[i].Result == nil {
			return fmt.Errorf("run %d (%s) has no result: analyse it first", i+1, runs[i].Name)
		}
	}
	first := &runs[0]
	for i := 1; i < len(runs); i++ {
		if err := comparable(first, &runs[i]); err != nil {
			return fmt.Errorf("%s and %s cannot be compared: %w", first.name(), runs[i].name(), err)
		}
	}
	if err := oneFork(runs); err != nil {
		return err
	}
	return distinct(runs)
}

// oneFork refuses forks of different names; a run whose fork has none is given the benefit of the doubt.
func oneFork(runs []Run) error {
	var named *Run
	for i := range runs {
		r := &runs[i]
		switch name := r.Result.Fork.Name; {
		case name == "":
		case named == nil:
			named = r
		case name != named.Result.Fork.Name:
			return fmt.Errorf("%s and %s cannot be compared: the forks differ: %q and %q", named.name(), r.name(), named.Result.Fork.Name, name)
		}
	}
	return nil
}

// comparable says why the figures of two runs do not mean the same.
func comparable(a, b *Run) error {
	ra, rb := a.Result, b.Result
	if ra.Fork.TravelMM != rb.Fork.TravelMM {
		return fmt.Errorf("the forks differ: %g mm and %g mm of travel", ra.Fork.TravelMM, rb.Fork.TravelMM)
	}
	fa, fb := ra.Quality.RateHz, rb.Quality.RateHz
	if !alike(fa, fb) {
		return fmt.Errorf("the sample rates differ (%.5g Hz and %.5g Hz), and with them what the filter lets through: resample the faster log", fa, fb)
	}
	oa, ob := sameOptions(ra.Options), sameOptions(rb.Options)
	if !alike(oa.CutoffHz, ob.CutoffHz) {
		return fmt.Errorf("the filter cutoffs differ (%.4g Hz and %.4g Hz): analyse both with the same options", oa.CutoffHz, ob.CutoffHz)
	}
	oa.CutoffHz = ob.CutoffHz
	if oa != ob {
		return errors.New("they were analysed with different thresholds: analyse both with the same options")
	}
	return nil
}

func alike(a, b float64) bool { return math.Abs(a-b) <= rateTolerance*max(math.Abs(a), math.Abs(b)) }

// sameOptions is o without what belongs to the single run.
func sameOptions(o analyze.Options) analyze.Options {
	o.StaticSag, o.SagWindow, o.BootstrapSeed = nil, nil, 0
	return o
}

// distinct refuses a run that is given twice: it would pass for a repetition.
func distinct(runs []Run) error {
	results := map[*analyze.Result]int{}
	hashes := map[string]int{}
	prints := map[uint64]int{}
	for i := range runs {
		r := &runs[i]
		j, twice := results[r.Result]
		if !twice && r.Hash != "" {
			j, twice = hashes[r.Hash]
		}
		print, values := fingerprint(r)
		if !twice && values >= 10 { // so many equal bits are no chance
			j, twice = prints[print]
		}
		if twice {
			return fmt.Errorf("%s and %s are the same run: each run may be given once, in one set", runs[j].name(), r.name())
		}
		results[r.Result], prints[print] = i, i
		if r.Hash != "" {
			hashes[r.Hash] = i
		}
	}
	return nil
}

// fingerprint hashes the figures of a run and says how many have a value. It does not depend on names.
func fingerprint(r *Run) (hash uint64, values int) {
	hash = 14695981039346656037 // FNV-1a over 64-bit words, with a mix; constants from memory
	for _, s := range r.Result.Scalars() {
		v, ok := s.Figure.Get()
		if ok {
			values++
		}
		hash = (hash ^ math.Float64bits(v)) * 1099511628211
		hash ^= hash >> 29
	}
	return hash, values
}

// byContent orders runs by what is in them, so that the order in which they were given does not matter.
func byContent(runs []Run) []int {
	type key struct {
		riding float64
		hash   uint64
	}
	keys := make([]key, len(runs))
	order := make([]int, len(runs))
	for i := range runs {
		h, _ := fingerprint(&runs[i])
		keys[i] = key{runs[i].Result.Ride.RidingS.Or(0), h}
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int {
		return cmp.Or(cmp.Compare(keys[i].riding, keys[j].riding), cmp.Compare(keys[i].hash, keys[j].hash))
	})
	return order
}

// seed is Options.Seed, and where that is 0 a hash of the runs' content that does not depend on their order.
func (o *Options) seed(runs []Run) uint64 {
	if o.Seed != 0 {
		return o.Seed
	}
	sum := uint64(0)
	for i := range runs {
		h, _ := fingerprint(&runs[i])
		sum += h
	}
	return sum & (1<<53 - 1)
}
