package trial

import (
	"fmt"

	"stanchion/analyze"
	"stanchion/ingest"
	"stanchion/sampledata/ridesim"
	"stanchion/sampledata/ridesim/faults"
)

// HeldOutSeed is where the seeds of the published table begin. Limits were set on seeds under it, on other courses and other forks. (A first table
// of limits, set on two forks and two courses only, changed sound forks of a third on a third course in 9 of 20 cases; these cases were then
// used to set limits too, and the held-out ones drawn anew.)
const HeldOutSeed = 2001

// HeldOut lists the cases of the published table: every fault, and sound forks, for so many seeds each. The bikes and courses that limits
// were set on and those that they were not take turns, so that a quarter of the cases has both new and a quarter none.
func HeldOut(seeds int) []faults.Case {
	bikes := append(faults.HeldOutBikes(), faults.Bikes()...)
	courses := append(faults.HeldOutCourses(), faults.Courses()...)
	return cases(seeds, HeldOutSeed, func(i int) (faults.Bike, faults.Course) {
		bike, course := bikes[0], courses[0]
		if i%2 == 1 {
			bike = bikes[1+(i/4)%(len(bikes)-1)]
		}
		if i/2%2 == 1 {
			course = courses[1+(i/8)%(len(courses)-1)]
		}
		return bike, course
	})
}

// Training lists the cases that limits were set on.
func Training(seeds int) []faults.Case {
	bikes, courses := faults.Bikes(), faults.Courses()
	return cases(seeds, 1, func(i int) (faults.Bike, faults.Course) {
		return bikes[i%len(bikes)], courses[i/len(bikes)%len(courses)]
	})
}

func cases(seeds int, first uint64, where func(i int) (faults.Bike, faults.Course)) []faults.Case {
	var out []faults.Case
	for _, f := range append([]faults.Fault{faults.Sound}, faults.List()...) {
		for i := range seeds {
			bike, course := where(i)
			out = append(out, faults.New(f, bike, course, first+uint64(i)))
		}
	}
	return out
}

// Figures rides a case and its sag log, and computes the figures as the program does from logs.
func Figures(c faults.Case) (*analyze.Result, error) {
	opt := analyze.DefaultOptions()
	trace, err := traced(c.SagLog, "sag")
	if err != nil {
		return nil, err
	}
	sag, err := analyze.AnalyzeSag(trace, opt)
	if err != nil {
		return nil, fmt.Errorf("sag log of %s: %w", c.Fault, err)
	}
	if mm, ok := sag.SagMM.Get(); ok {
		opt.StaticSag = &analyze.SagOverride{SagMM: mm, Source: "sag log", FrictionBandMM: sag.FrictionBandMM}
	}
	if trace, err = traced(c.Ride, "run"); err != nil {
		return nil, err
	}
	res, _, err := analyze.Run(trace, opt)
	if err != nil {
		return nil, fmt.Errorf("run of %s: %w", c.Fault, err)
	}
	return res, nil
}

func traced(p ridesim.Params, name string) (*ingest.Trace, error) {
	log, _, err := ridesim.Ride(p)
	if err != nil {
		return nil, fmt.Errorf("simulate the %s: %w", name, err)
	}
	trace, err := ingest.Prepare(log.Recording(name), log.Setup(p.Fork), ingest.DefaultPrepareOptions())
	if err != nil {
		return nil, fmt.Errorf("prepare the %s: %w", name, err)
	}
	return trace, nil
}
