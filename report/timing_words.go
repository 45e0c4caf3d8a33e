package report

import (
	"fmt"
	"math"
	"strings"

	"stanchion/analyze"
	"stanchion/analyze/trail"
)

// lapTime writes a time between gates, "34.2" or "2:34.2", with the given decimals.
func lapTime(s float64, decimals int) string {
	unit := math.Pow(10, float64(decimals))
	t := int64(math.Round(s * unit))
	minute := int64(60 * unit)
	if t < minute {
		return fixed(s, decimals)
	}
	width := 3 + decimals
	if decimals == 0 {
		width = 2
	}
	return fmt.Sprintf("%d:%0*.*f", t/minute, width, decimals, float64(t%minute)/unit)
}

// timingDecimals is how many decimals times are worth: two where some uncertainty is under 0.1 s.
func timingDecimals(t *trail.Timing) int {
	for i := range t.Runs {
		for k := range t.Runs[i].Splits {
			if s, ok := t.Runs[i].Splits[k].SigmaS.Get(); ok && s < 0.095 {
				return 2
			}
		}
	}
	return 1
}

// plusMinus writes a time with its standard uncertainty.
func plusMinus(time, sigma analyze.Figure, decimals int) string {
	v, ok := time.Get()
	if !ok {
		return absentMark
	}
	return lapTime(v, decimals) + gap + "±" + fixed(sigma.Or(0), decimals)
}

// signedSeconds writes a difference of times with its sign.
func signedSeconds(v float64, decimals int) string { return measure{1, decimals, "s"}.signed(v) }

// judgeTiming puts a timing into words.
func judgeTiming(t *trail.Timing) verdict {
	var v verdict
	for _, c := range t.Caveats {
		if c.Severity == analyze.Warning {
			v.Poor = append(v.Poor, sentence(strings.TrimSuffix(c.Text, ".")))
		}
	}
	d := timingDecimals(t)
	o := &t.Runs[t.Against]
	if !o.TotalS.OK() {
		v.Line = fmt.Sprintf("%s has no time from %s to %s: %s.", o.Name, t.Gates[0].Name, t.Gates[len(t.Gates)-1].Name, o.TotalS.Reason())
		return v
	}
	v.Line = fmt.Sprintf("%s took %s"+gap+"s (standard uncertainty %s"+gap+"s) from %s to %s.", o.Name, lapTime(o.TotalS.Or(0), d), fixed(o.SigmaS.Or(0), d), t.Gates[0].Name, t.Gates[len(t.Gates)-1].Name)
	var slower, faster, close []string
	for i := range t.Versus {
		w := &t.Versus[i]
		name := fmt.Sprintf("%s (%s"+gap+"s)", t.Runs[w.Run].Name, signedSeconds(w.Total.DifferenceS.Or(0), d))
		switch w.Total.Verdict {
		case trail.Slower:
			slower = append(slower, name)
		case trail.Faster:
			faster = append(faster, name)
		case trail.TooClose:
			close = append(close, name)
		}
	}
	for _, g := range []struct {
		names     []string
		one, many string
	}{{faster, "is clearly faster", "are clearly faster"}, {slower, "is clearly slower", "are clearly slower"}, {close, "is too close to call", "are too close to call"}} {
		if len(g.names) > 0 {
			verb := g.one
			if len(g.names) > 1 {
				verb = g.many
			}
			v.Line += " " + listed(shortList(g.names, 4)) + " " + verb + "."
		}
	}
	if ideal, ok := t.IdealS.Get(); ok && len(t.Best) > 1 && len(t.Runs) > 1 {
		v.Line += fmt.Sprintf(" The best splits together make %s"+gap+"s.", lapTime(ideal, d))
	}
	return v
}

// shortList keeps at most n of a list and says how many more there are.
func shortList(s []string, n int) []string {
	if len(s) <= n {
		return s
	}
	return append(append([]string(nil), s[:n-1]...), fmt.Sprintf("%d more", len(s)-n+1))
}

// timingSays lists what the times show and what they do not.
func timingSays(t *trail.Timing) (can, cannot []string) {
	d := timingDecimals(t)
	o := t.Runs[t.Against].Name
	open := 0
	if s, ok := t.Runs[t.Against].SigmaS.Get(); ok {
		can = append(can, fmt.Sprintf("When a run passed start and finish, and so its time: that of %s is right to ±%s"+gap+"s in about 95 of 100 cases.", o, fixed(2*s, d)))
	}
	for i := range t.Versus {
		w := &t.Versus[i]
		var won, lost []string
		for k := range w.Splits {
			s := &w.Splits[k]
			part := fmt.Sprintf("%s to %s (%s"+gap+"s)", t.Gates[k].Name, t.Gates[k+1].Name, signedSeconds(s.DifferenceS.Or(0), d))
			switch s.Verdict {
			case trail.Faster:
				won = append(won, part)
			case trail.Slower:
				lost = append(lost, part)
			case trail.TooClose:
				open++
			}
		}
		if len(lost) > 0 {
			can = append(can, fmt.Sprintf("%s lost time on %s from %s.", t.Runs[w.Run].Name, o, listed(shortList(lost, 4))))
		}
		if len(won) > 0 {
			can = append(can, fmt.Sprintf("%s gained time on %s from %s.", t.Runs[w.Run].Name, o, listed(shortList(won, 4))))
		}
	}
	if open > 0 {
		cannot = append(cannot, fmt.Sprintf("Who was faster in %s: the differences are smaller than %g standard uncertainties.", counted(open, "split against "+o, "splits against "+o), t.Options.Coverage))
	}
	if len(t.Runs) > 1 && len(t.Best) > 1 {
		cannot = append(cannot, "That the ideal time can be ridden. It takes the best of several uncertain splits, so it is more often too short than too long.")
	}
	return can, append(cannot, "Why time was lost: a split is the rider, the line, the bike and the day together.")
}

// uncertaintyWords says where the uncertainty comes from.
func uncertaintyWords(t *trail.Timing) string {
	if t.By == "markers" {
		return fmt.Sprintf("Gates are markers that were dropped by hand. Each is taken to be right to %s"+gap+"s (one standard uncertainty), which is common practice without a source.", fixed(t.Options.MarkerS, 1))
	}
	e := t.PositionError
	s := fmt.Sprintf("A receiver does not know where it is to the metre, so it does not know when a gate was passed: the position along the trail has a standard uncertainty of %s"+gap+"m, and a metre is a long time where the run is slow. ", fixed(e.SigmaM, 1))
	if e.Observations > 0 {
		s += fmt.Sprintf("How the runs lie beside one another shows that the uncertainty that smoothing states has to be taken times %s, and that errors change over about %s"+gap+"s. ", fixed(e.Scale, 2), fixed(e.TauS, 0))
	} else {
		s += fmt.Sprintf("With one run nothing shows whether that is true, so it is taken as smoothing states it, and errors are taken to change over %s"+gap+"s. ", fixed(e.TauS, 0))
	}
	return s + fmt.Sprintf("Errors that last make both ends of a short split late or early together, and so matter less there. ± is one standard uncertainty; about 95 of 100 times lie within twice as much. A difference is called only from %g standard uncertainties.", t.Options.Coverage)
}

func timingMethod(t *trail.Timing) string {
	if t.By == "markers" {
		return "A gate is a marker of the log; a split is the time between two of them."
	}
	return "Positions are smoothed over time, both ways. The reference line is the robust mean of all runs, and each run is laid on it as a whole, so that switchbacks and crossings do not make it jump. " +
		"A gate is a station of that line; the time at which a run passes it is interpolated between positions by a cubic with the speeds. A split is the time between two gates, and splits add up to the run. " +
		"The gap is the time lost on the other run since the first gate, at the same place of the trail."
}
