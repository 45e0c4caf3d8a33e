package ridesim

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"

	"stanchion/ingest"
)

// TrailRuns is one trail ridden several times: run i at Paces[i] times the base's speeds, and otherwise varied as Again does it, each with a
// track of its own errors.
type TrailRuns struct {
	Base      Params
	Shape     Shape
	Seed      uint64    // of all that differs from run to run
	Paces     []float64 // one a run; 1 = the base's
	Variation Variation // the zero value: nothing varies but the pace and the line
	LineM     float64   // RMS distance of each run's line from the middle of the trail
	Receiver  Receiver  // its seed is replaced, run by run
	// OffsetStepS is added to the receiver's ClockOffsetS from run to run, so that no two runs have the same.
	OffsetStepS float64
	Gates       []Gate
}

// A TrailRun is one run of TrailRuns. Truth.Summary holds the gates and the receiver too.
type TrailRun struct {
	Params  Params
	Log     Log
	Passage Passage // with Trail and Truth
	Track   *ingest.Track
	Offset  float64 // s: sensor time = receiver time + Offset
}

// Ride rides all runs. Same input, same runs.
func (t TrailRuns) Ride() ([]TrailRun, error) {
	if len(t.Paces) == 0 {
		return nil, errors.New("trail runs: no paces: give one a run")
	}
	trail, err := t.Base.Course.Trail(t.Shape)
	if err != nil {
		return nil, err
	}
	rng := rand.New(rand.NewPCG(t.Seed, 0x72756e73))
	out := make([]TrailRun, 0, len(t.Paces))
	for i, pace := range t.Paces {
		p := t.Base.Again(rng.Uint64()|1, t.Variation)
		p.Course = p.Course.atPace(pace)
		r := t.Receiver
		r.Seed = rng.Uint64()
		r.ClockOffsetS += float64(i) * t.OffsetStepS
		line := Line{Seed: rng.Uint64(), RMSM: t.LineM}
		run, err := RideTrail(trail, p, line, r, t.Gates, fmt.Sprintf("run %d", i+1))
		if err != nil {
			return nil, fmt.Errorf("trail runs: run %d at pace %g: %w", i+1, pace, err)
		}
		out = append(out, run)
	}
	return out, nil
}

// RideTrail is one ride along a trail, with the track that r made of it. The trail is that of p's course, at whatever speeds; source names the
// track. The truth's summary holds the gates and the receiver too.
func RideTrail(trail *Trail, p Params, line Line, r Receiver, gates []Gate, source string) (TrailRun, error) {
	log, truth, err := Ride(p)
	if err != nil {
		return TrailRun{}, err
	}
	run := TrailRun{Params: p, Log: log, Passage: Passage{Trail: trail, Truth: &truth, Line: line}, Offset: r.OffsetS()}
	if run.Track, err = r.Track(run.Passage, source); err != nil {
		return TrailRun{}, err
	}
	if truth.Summary.Gates, err = run.Passage.Gates(gates); err != nil {
		return TrailRun{}, err
	}
	truth.Summary.Receiver = r.Reception()
	return run, nil
}

// atPace is the course with all its speeds times pace.
func (c Course) atPace(pace float64) Course {
	c.Sections = slices.Clone(c.Sections)
	for i := range c.Sections {
		c.Sections[i].SpeedMS *= pace
	}
	return c
}
