package main

import (
	"fmt"

	"stanchion/analyze/trail"
	"stanchion/ingest"
	"stanchion/ingest/setup"
	"stanchion/report"
)

// A grounded run is a run on its own track: what its page shows of the trail.
type grounded struct {
	ground *report.Ground
	timing *trail.Timing // nil without gates
}

// onTrail reads the trail of one run from its own track; nil where it has none, or where the clocks could not be laid on one another.
func (run *analysed) onTrail(gates setup.GateFile) (*grounded, error) {
	if run.path == nil || !run.offset.OffsetS.OK() {
		return nil, nil
	}
	name := resultName(run.log)
	opt := trail.DefaultLineOptions()
	opt.Names = []string{name}
	line, err := trail.NewLine([]*trail.Path{run.path}, opt)
	if err != nil {
		return nil, err
	}
	placed, err := line.Place(run.path, opt.Place)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	shift := run.offset.OffsetS.Or(0)
	out := &grounded{ground: &report.Ground{Line: line, Runs: []report.GroundRun{{Name: name, Placed: placed, ShiftS: shift}}}}
	if len(gates.Gates) > 0 {
		timing := trail.DefaultTimingOptions()
		if out.ground.Gates, err = line.PlaceGates(gateSpecs(gates), timing.GateAwayM); err != nil {
			return nil, ingest.Hinted{Err: fmt.Errorf("gates of %s: %w", name, err), Hint: "stations count along the track from where the rider began to move; run without --gates to see it"}
		}
		lap := trail.TimedLap{Name: name, Source: run.result.Position.Source, Path: run.path, Placed: placed}
		if out.timing, err = trail.Time(line, out.ground.Gates, []trail.TimedLap{lap}, timing); err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
	}
	out.ground.Reading, err = trail.Read([]trail.RunOnTrail{run.placedOn(name, placed)}, out.ground.Gates, trail.DefaultReadingOptions())
	return out, err
}

// placedOn is the run for the reading of its trail.
func (run *analysed) placedOn(name string, placed *trail.Placed) trail.RunOnTrail {
	return trail.RunOnTrail{Name: name, Result: run.result, Signals: run.signals, Placed: placed, OffsetS: run.offset.OffsetS.Or(0)}
}

// onGround and times are what the page needs; nil of nil.
func (g *grounded) onGround() *report.Ground {
	if g == nil {
		return nil
	}
	return g.ground
}

func (g *grounded) times() *trail.Timing {
	if g == nil {
		return nil
	}
	return g.timing
}

// read makes the map of timed runs and reads the trail from those whose logs lie on it; nil where there is no line.
func (t *timedRuns) read(runs []*locatedRun) (*report.Ground, error) {
	if t.line == nil {
		return nil, nil
	}
	g := &report.Ground{Line: t.line, Gates: t.gates}
	var read []trail.RunOnTrail
	for i, r := range runs {
		zero := t.timing.Runs[i].Passages[0].TimeS.Or(t.placed[i].TimeS[0])
		g.Runs = append(g.Runs, report.GroundRun{Name: t.names[i], Placed: t.placed[i], ShiftS: -zero})
		if r.log != nil && r.log.offset.OffsetS.OK() {
			read = append(read, r.log.placedOn(t.names[i], t.placed[i]))
		}
	}
	opt := trail.DefaultReadingOptions()
	if len(read) == 0 {
		p := trail.SpeedProfile(t.line, t.placed, opt.ProfileM)
		g.Profile = &p
		return g, nil
	}
	var err error
	g.Reading, err = trail.Read(read, t.gates, opt)
	return g, err
}

// badPoints tells about points of the run's track that were left out.
func (run *analysed) badPoints() string {
	if run.position == nil {
		return ""
	}
	return badPoints(run.position.Source, run.rows)
}
