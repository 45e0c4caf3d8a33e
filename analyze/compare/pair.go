package compare

import (
	"fmt"
	"math/rand/v2"
	"slices"

	"stanchion/analyze"
	"stanchion/analyze/signal"
)

// A PairAlarm is how often one run a side calls a main figure different although nothing was changed.
type PairAlarm struct {
	RidingS float64 // riding time of each run
	OfTen   int     // pairs out of ten
}

// PairAlarms are measured on simulated pairs of rides of one setting by a practised rider (testdata/coverage.md). The longer the run,
// the narrower the interval within it, while two runs differ as much as before.
func PairAlarms() [2]PairAlarm { return [2]PairAlarm{{40, 4}, {170, 6}} }

// SameSettingPairs says in words how often one run a side misleads.
func SameSettingPairs() string {
	short, long := PairAlarms()[0], PairAlarms()[1]
	return fmt.Sprintf("between two simulated runs of one and the same setting a main figure was called different in %d (runs of %.0f s) to %d (runs of %.0f min) of 10 cases",
		short.OfTen, short.RidingS, long.OfTen, long.RidingS/60)
}

// minBlocks is the fewest blocks whose resampling says anything.
const minBlocks = 6

// pair compares one run with one run, second by second of the shared ground. Blocks of BlockS seconds are drawn with
// replacement at any second, the same ground from both runs, until there is as much ground as there was; the interval is that of the
// 2.5 and 97.5 % quantiles of the differences, p is twice the smaller share of them on one side of zero.
func pair(runs []Run, units [2][]tally, opt *Options, seed uint64) map[string]Estimate {
	gauges := [2]gauge{newGauge(&runs[0]), newGauge(&runs[1])}
	whole := [2]tally{total(units[0]), total(units[1])}
	figures := partials()
	out := make(map[string]Estimate, len(figures))
	n := len(units[0])
	size := max(1, opt.BlockS)
	blocks := (n + size - 1) / size
	enough := blocks >= minBlocks && opt.Resamples > 0
	draws := make([][]float64, len(figures))
	if enough {
		draws = resampled(figures, gauges, units, blocks, size, opt.Resamples, seed)
	}
	for i, f := range figures {
		a, okA := f.of(&whole[0], &gauges[0])
		b, okB := f.of(&whole[1], &gauges[1])
		if !okA || !okB {
			continue
		}
		e := Estimate{
			RunsA: 1, RunsB: 1, Verdict: NotJudged, A: analyze.Value(a, n), B: analyze.Value(b, n), Difference: analyze.Value(b-a, n),
			SpreadA: analyze.Absent("run-to-run variation unknown"), SpreadB: analyze.Absent("run-to-run variation unknown"),
		}
		d := draws[i]
		switch {
		case !enough:
			e = e.unjudged(fmt.Sprintf("%d s of shared ground are too little: %d are needed", n, size*minBlocks))
		case len(d) < opt.Resamples*9/10:
			e = e.unjudged("too many parts of the ground have nothing to compute it from")
		case slices.Min(d) == slices.Max(d):
			e = e.unjudged("no part of the ground differs in it")
		default:
			q := signal.Quantiles(d, (1-level)/2, (1+level)/2)
			e.Method, e.Low, e.High = Bootstrap, analyze.Value(q[0], blocks), analyze.Value(q[1], blocks)
			e.P = analyze.Value(tails(d), blocks)
		}
		out[f.key] = e
	}
	return out
}

// tails is the two-sided p of a bootstrap distribution: it is never 0, since more draws could have crossed.
func tails(d []float64) float64 {
	below, above := 0, 0
	for _, v := range d {
		if v <= 0 {
			below++
		}
		if v >= 0 {
			above++
		}
	}
	return min(1, 2*float64(min(below, above)+1)/float64(len(d)+1))
}

// resampled are the differences of each figure over the draws.
func resampled(figures []partial, gauges [2]gauge, units [2][]tally, blocks, size, draws int, seed uint64) [][]float64 {
	n := len(units[0])
	places := n - size + 1
	sums := [2][]tally{movingSums(units[0], size), movingSums(units[1], size)}
	rng := rand.New(rand.NewPCG(seed, uint64(n)))
	out := make([][]float64, len(figures))
	both := [2]tally{newTally(), newTally()}
	for range draws {
		for k := range both {
			both[k].sum = [tallySums]float64{}
			clear(both[k].hist)
		}
		for range blocks {
			at := rng.IntN(places)
			both[0].add(&sums[0][at])
			both[1].add(&sums[1][at])
		}
		for i, f := range figures {
			a, okA := f.of(&both[0], &gauges[0])
			b, okB := f.of(&both[1], &gauges[1])
			if okA && okB {
				out[i] = append(out[i], b-a)
			}
		}
	}
	return out
}

// movingSums are the tallies of all blocks of size units.
func movingSums(units []tally, size int) []tally {
	out := make([]tally, len(units)-size+1)
	for i := range out {
		out[i] = total(units[i : i+size])
	}
	return out
}
