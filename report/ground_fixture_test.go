package report

import (
	"math"
	"testing"

	"stanchion/analyze"
	"stanchion/analyze/trail"
)

// bentLine is a line of n m with two bends that falls by a tenth.
func bentLine(n int) *trail.Line {
	l := &trail.Line{Frame: trail.Frame{LatDeg: 31.5, LonDeg: -41.25}, StepM: 1, Runs: 1}
	heading, e, q := 0.4, 0.0, 0.0
	for i := range n + 1 {
		l.EastM, l.NorthM = append(l.EastM, e), append(l.NorthM, q)
		l.EleM, l.SpreadM = append(l.EleM, 600-0.1*float64(i)), append(l.SpreadM, 0)
		heading += 0.02 * math.Sin(float64(i)/60)
		e, q = e+math.Cos(heading), q+math.Sin(heading)
	}
	return l
}

// placedRun rides the line in the time of the rider's log, with changes of speed.
func placedRun(l *trail.Line, seconds float64) *trail.Placed {
	p := &trail.Placed{CrossRMSM: 1.2}
	n := int(seconds * 5)
	mean := l.LengthM() / seconds
	for i := range n + 1 {
		t := float64(i) / 5
		p.TimeS = append(p.TimeS, t)
		p.StationM = append(p.StationM, min(l.LengthM(), mean*(t+2*(1-math.Cos(t/5)))))
		p.SpeedMS = append(p.SpeedMS, mean*(1+0.4*math.Sin(t/5)))
		p.CrossM, p.SigmaM = append(p.CrossM, 0), append(p.SigmaM, 1)
	}
	return p
}

// grounded reads the trail from runs of one rider and one or more others, and times them at three gates.
func grounded(t testing.TB, runs int) (*Ground, *trail.Timing, *analyze.Result, *analyze.Signals) {
	t.Helper()
	line := bentLine(600)
	g := &Ground{Line: line, Gates: []trail.Gate{{Name: "start", StationM: 20}, {Name: "bridge", StationM: 300}, {Name: "finish", StationM: 580}}}
	var on []trail.RunOnTrail
	var laps []trail.TimedLap
	var first *analyze.Result
	var signals *analyze.Signals
	for k := range runs {
		d := usual()
		d.again = uint64(k)
		r, s := d.run(t)
		if k == 0 {
			first, signals = r, s
		}
		placed := placedRun(line, d.seconds-2*float64(k))
		name := []string{"first", "second", "third"}[k]
		on = append(on, trail.RunOnTrail{Name: name, Result: r, Signals: s, Placed: placed})
		laps = append(laps, trail.TimedLap{Name: name, Source: name + ".gpx", Placed: placed})
		g.Runs = append(g.Runs, GroundRun{Name: name, Placed: placed})
	}
	var err error
	if g.Reading, err = trail.Read(on, g.Gates, trail.DefaultReadingOptions()); err != nil {
		t.Fatal(err)
	}
	timing, err := trail.Time(line, g.Gates, laps, trail.DefaultTimingOptions())
	if err != nil {
		t.Fatal(err)
	}
	return g, timing, first, signals
}
