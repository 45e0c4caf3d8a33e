package trail

import (
	"cmp"
	"errors"
	"fmt"

	"stanchion/analyze/signal"
)

// Read reads a trail from one or several runs of it: what its sections were like, where it was harsh and whether the runs agree on that, jumps, braking,
// packing, bottom-outs and how roughness grows with speed. gates part the trail into sections; with fewer than two, sections are of equal length.
// Runs without positions take part in what needs none. It fails only on runs that cannot be read together: none, without a result, or of forks of
// different travel.
func Read(runs []RunOnTrail, gates []Gate, opt ReadingOptions) (*Reading, error) {
	if err := checkRuns(runs); err != nil {
		return nil, err
	}
	if err := opt.check(); err != nil {
		return nil, err
	}
	r := &Reading{Options: opt, Runs: make([]RunReading, len(runs))}
	grounds, fs := make([]*ground, len(runs)), make([]float64, len(runs))
	jumps, braking := make([][]Jump, len(runs)), make([][]Braking, len(runs))
	for k := range runs {
		grounds[k] = newGround(&runs[k])
		if runs[k].Signals != nil {
			fs[k] = runs[k].Signals.RateHz
		}
	}
	fine, coarse := newGrid(grounds, opt.StepM), newGrid(grounds, opt.ProfileM)
	all, found := make([][]sums, len(runs)), make([]seen, len(runs))
	signal.OnAllCores(len(runs), func() func(int) {
		return func(k int) {
			var whyJumps, whyBraking string
			jumps[k], whyJumps = jumpsOf(k, &runs[k], grounds[k], &opt)
			braking[k], whyBraking = brakingOf(k, &runs[k], grounds[k], &opt)
			r.Runs[k] = newRunReading(&runs[k], grounds[k], jumps[k], whyJumps, braking[k], whyBraking)
			all[k] = sumsAlong(&runs[k], grounds[k], coarse)
			found[k] = r.Runs[k].harsh(sumsAlong(&runs[k], grounds[k], fine), fs[k], &opt, hasVelocity(&runs[k]))
		}
	})
	r.Places = placesOf(found, fine, &opt)
	measurePlaces(r.Places, runs, grounds, &opt)
	r.Sections = readSections(runs, grounds, gates, coarse, &opt)
	r.Jumps = joinJumps(jumps, grounds, opt.JoinM)
	r.Braking = joinBraking(braking, grounds, opt.JoinM)
	var bottoms, packing []ClusterEvent
	for k := range runs {
		bottoms = append(bottoms, bottomEvents(k, &runs[k], grounds[k])...)
		packing = append(packing, packingEvents(k, &runs[k], grounds[k])...)
	}
	r.Bottoms, r.Packing = clusters(bottoms, grounds, opt.JoinM), clusters(packing, grounds, opt.JoinM)
	r.Speed = fitSpeed(all, fs, opt.RefSpeedMS)
	r.Profile = profile(all, coarse, fs, runs[0].Result.Fork.TravelMM, &r.Speed)
	r.Coach = coach(r, &opt)
	r.note()
	return r, nil
}

func checkRuns(runs []RunOnTrail) error {
	if len(runs) == 0 {
		return errors.New("no run given: reading a trail needs at least one")
	}
	for i := range runs {
		if runs[i].Result == nil {
			return fmt.Errorf("run %d (%s) has no result: analyse it first", i+1, runs[i].Name)
		}
		if a, b := runs[0].Result.Fork.TravelMM, runs[i].Result.Fork.TravelMM; a != b {
			return fmt.Errorf("runs 1 and %d cannot be read together: the forks differ: %g mm and %g mm of travel", i+1, a, b)
		}
	}
	return nil
}

// note puts into words what could not be read.
func (r *Reading) note() {
	unplaced, byDistance := 0, 0
	for i := range r.Runs {
		switch r.Runs[i].Basis {
		case BasisNone:
			unplaced++
		case BasisDistance, BasisSpeed:
			byDistance++
		}
		if why := r.Runs[i].NoBraking; why != "" {
			r.Notes = append(r.Notes, fmt.Sprintf("%s: braking was not looked for: %s.", r.Runs[i].Name, why))
		}
		if why := r.Runs[i].NoJumps; why != "" {
			r.Notes = append(r.Notes, fmt.Sprintf("%s: %s.", r.Runs[i].Name, why))
		}
	}
	if unplaced > 0 {
		r.Notes = append(r.Notes, fmt.Sprintf(
			"%d of %d runs have no positions and take no part in what is told by place: give a track or a distance channel.", unplaced, len(r.Runs)))
	}
	if byDistance > 0 && len(r.Runs) > 1 {
		r.Notes = append(r.Notes, "Places of runs without a track come from the distance or speed channel of their logs, which is taken to begin at the same spot in every run and to measure alike.")
	}
}

func (r *RunOnTrail) name() string { return cmp.Or(r.Name, r.Result.Source) }
