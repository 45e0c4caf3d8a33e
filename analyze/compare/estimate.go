package compare

import (
	"math"

	"stanchion/analyze"
)

// values are the values of the figures that are present.
func values(f []analyze.Figure) (out []float64) {
	for _, a := range f {
		if v, ok := a.Get(); ok {
			out = append(out, v)
		}
	}
	return out
}

// absentReason is the first reason for which one of the figures is absent, "" where none is.
func absentReason(f []analyze.Figure) string {
	for _, a := range f {
		if !a.OK() {
			return a.Reason()
		}
	}
	return ""
}

// estimate compares the run values of two sets.
func estimate(a, b []analyze.Figure) Estimate {
	sa, sb := describe(values(a)), describe(values(b))
	e := Estimate{RunsA: sa.n, RunsB: sb.n, Verdict: NotJudged}
	e.A, e.SpreadA = setFigures(sa, a)
	e.B, e.SpreadB = setFigures(sb, b)
	switch {
	case sa.n == 0:
		return e.without("absent from A: " + absentReason(a))
	case sb.n == 0:
		return e.without("absent from B: " + absentReason(b))
	}
	e.Difference = analyze.Value(sb.mean-sa.mean, sa.n+sb.n)
	if sa.n < 2 && sb.n < 2 {
		return e.unjudged("one run a side has no run-to-run spread")
	}
	var r tTest
	var ok bool
	if sa.n < 2 || sb.n < 2 {
		r, ok = single(sa, sb)
		e.Method = SingleT
	} else {
		if r, ok = welch(sa, sb); ok {
			r = newTTest(r.diff, r.se, min(r.df, float64(2*(min(sa.n, sb.n)-1))))
		}
		e.Method = WelchT
	}
	if !ok {
		return e.unjudged("all runs of a set gave the same value: no run-to-run spread to judge by")
	}
	n := sa.n + sb.n
	e.Low, e.High, e.P = analyze.Value(r.low, n), analyze.Value(r.high, n), analyze.Value(r.p, n)
	return e
}

func setFigures(s sample, f []analyze.Figure) (mean, spread analyze.Figure) {
	switch s.n {
	case 0:
		a := analyze.Absent("%s", absentReason(f))
		return a, a
	case 1:
		return analyze.Value(s.mean, 1), analyze.Absent("one run has no run-to-run spread")
	}
	return analyze.Value(s.mean, s.n), analyze.Value(s.sd(), s.n)
}

// without is e for a figure that is absent from a set.
func (e Estimate) without(why string) Estimate {
	e.Difference = analyze.Absent("%s", why)
	return e.unjudged(why)
}

// unjudged is e without interval and verdict.
func (e Estimate) unjudged(why string) Estimate {
	a := analyze.Absent("%s", why)
	e.Method, e.Low, e.High, e.P, e.HolmP, e.Verdict, e.Why = "", a, a, a, a, NotJudged, why
	return e
}

// judge corrects the p values of a family for their number and words the verdicts. It returns how many were judged.
func judge(family []*Estimate) int {
	var p []float64
	var judged []*Estimate
	for _, e := range family {
		if v, ok := e.P.Get(); ok {
			p, judged = append(p, v), append(judged, e)
		}
	}
	for i, adjusted := range holm(p) {
		e := judged[i]
		e.HolmP = analyze.Value(adjusted, len(p))
		e.Verdict = NoClear
		higher, lower := Higher, Lower
		if e.Method == Bootstrap {
			higher, lower = HigherPair, LowerPair
		}
		switch d := e.Difference.Or(0); {
		case adjusted > 1-level || d == 0:
		case d > 0:
			e.Verdict = higher
		default:
			e.Verdict = lower
		}
	}
	return len(p)
}

// size words how a difference compares with the smallest change worth feeling.
func size(e *Estimate, step float64) string {
	d, ok := e.Difference.Get()
	if !ok {
		return SizeUnknown
	}
	low, okLow := e.Low.Get()
	high, okHigh := e.High.Get()
	beyond := math.Abs(d) >= step
	switch {
	case !okLow || !okHigh:
		return SizeUnknown
	case (low >= step || high <= -step) && e.Verdict != NoClear: // the interval is not corrected for the number of figures
		return SizeWorth
	case low > -step && high < step:
		return SizeSmall
	case beyond:
		return SizeMaybe
	}
	return SizeMaybeNo
}

// needed is how many runs a side would resolve the difference seen, in a family of so many tests.
func needed(e *Estimate, family int, power float64) analyze.Figure {
	va, okA := e.SpreadA.Get()
	vb, okB := e.SpreadB.Get()
	var sd float64
	switch {
	case okA && okB:
		sd = math.Sqrt((va*va + vb*vb) / 2)
	case okA:
		sd = va
	case okB:
		sd = vb
	default:
		return analyze.Absent("run-to-run variation unknown")
	}
	d, ok := e.Difference.Get()
	switch {
	case !ok:
		return analyze.Absent("%s", e.Difference.Reason())
	case d == 0:
		return analyze.Absent("no difference seen")
	case !(sd > 0):
		return analyze.Absent("no run-to-run spread")
	}
	n, ok := runsNeeded(d, sd, (1-level)/float64(max(1, family)), power)
	if !ok {
		return analyze.Absent("more than %d", maxRunsNeeded)
	}
	return analyze.Value(float64(n), e.RunsA+e.RunsB)
}
