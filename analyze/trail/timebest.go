package trail

import (
	"fmt"
	"math"
	"slices"

	"stanchion/analyze"
)

// medianOf is the median of x, which has a value.
func medianOf(x []float64) float64 {
	s := slices.Sorted(slices.Values(x))
	return (s[(len(s)-1)/2] + s[len(s)/2]) / 2
}

// best finds the best split of each pair of gates, the ideal time and what each run loses.
func (t *Timing) best(w *PositionError) {
	ideal := 0.0
	missing := analyze.Figure{}
	for k := range len(t.Gates) - 1 {
		b := BestSplit{From: t.Gates[k].Name, To: t.Gates[k+1].Name, Run: -1, TimeS: analyze.Absent("no run has this split"), SigmaS: analyze.Absent("no run has this split"), Verdict: NotJudged}
		for i := range t.Runs {
			if v, ok := t.Runs[i].Splits[k].TimeS.Get(); ok && (b.Run < 0 || v < b.TimeS.Or(0)) {
				b.Run, b.TimeS, b.SigmaS = i, t.Runs[i].Splits[k].TimeS, t.Runs[i].Splits[k].SigmaS
			}
		}
		if b.Run < 0 {
			missing = analyze.Absent("no run has the split from %s to %s", b.From, b.To)
		} else {
			t.Runs[b.Run].Splits[k].Best = true
			ideal += b.TimeS.Or(0)
			b.Verdict = t.overNext(k, b.Run)
		}
		t.Best = append(t.Best, b)
		for i := range t.Runs {
			s := &t.Runs[i].Splits[k]
			s.LossS = s.TimeS
			if v, ok := s.TimeS.Get(); ok {
				s.LossS = analyze.Value(v-b.TimeS.Or(0), 2)
			}
		}
	}
	t.IdealS, t.IdealSigmaS = analyze.Value(ideal, len(t.Best)), analyze.Value(t.idealSigma(w), len(t.Best))
	if missing.Reason() != "not computed" {
		t.IdealS, t.IdealSigmaS = missing, missing
	}
	for i := range t.Runs {
		r := &t.Runs[i]
		r.LossToIdeal = r.TotalS
		if v, ok := r.TotalS.Get(); ok {
			r.LossToIdeal = t.IdealS
			if t.IdealS.OK() {
				r.LossToIdeal = analyze.Value(v-ideal, 1)
			}
		}
	}
}

// idealSigma is the standard uncertainty of the ideal time. Neighbouring best splits of one run have the gate between them in common, which then does not count.
func (t *Timing) idealSigma(w *PositionError) float64 {
	variance := 0.0
	for from := 0; from < len(t.Best); {
		to := from + 1
		for to < len(t.Best) && t.Best[to].Run == t.Best[from].Run {
			to++
		}
		if run := t.Best[from].Run; run >= 0 {
			p := t.Runs[run].Passages
			sigma, _ := w.split(&p[from], &p[to], p[to].TimeS.Or(0)-p[from].TimeS.Or(0))
			variance += sigma * sigma
		}
		from = to
	}
	return math.Sqrt(variance)
}

// overNext judges the best run of a split against the next one.
func (t *Timing) overNext(k, best int) string {
	next := -1
	for i := range t.Runs {
		if v, ok := t.Runs[i].Splits[k].TimeS.Get(); ok && i != best && (next < 0 || v < t.Runs[next].Splits[k].TimeS.Or(0)) {
			next = i
		}
	}
	if next < 0 {
		return NotJudged
	}
	a, b := &t.Runs[best].Splits[k], &t.Runs[next].Splits[k]
	return t.difference(a.TimeS, a.ownS, b.TimeS, b.ownS).Verdict
}

// difference holds a time against another one of another run. Of their uncertainties only the runs' own parts count.
func (t *Timing) difference(a analyze.Figure, ownA float64, b analyze.Figure, ownB float64) Difference {
	va, okA := a.Get()
	vb, okB := b.Get()
	switch {
	case !okA:
		return Difference{a, a, NotJudged}
	case !okB:
		why := analyze.Absent("the other run: %s", b.Reason())
		return Difference{why, why, NotJudged}
	}
	d := Difference{analyze.Value(va-vb, 2), analyze.Value(math.Hypot(ownA, ownB), 2), TooClose}
	switch limit := t.Options.Coverage * d.SigmaS.Or(0); {
	case va-vb > limit:
		d.Verdict = Slower
	case vb-va > limit:
		d.Verdict = Faster
	}
	return d
}

// hold holds every run against one: the one asked for, or the fastest.
func (t *Timing) hold() {
	t.Against = t.Options.Against - 1
	if t.Against < 0 {
		t.Against = 0
		for i := range t.Runs {
			v, ok := t.Runs[i].TotalS.Get()
			if fastest, has := t.Runs[t.Against].TotalS.Get(); ok && (!has || v < fastest) {
				t.Against = i
			}
		}
	}
	o := &t.Runs[t.Against]
	for i := range t.Runs {
		if i == t.Against {
			continue
		}
		r := &t.Runs[i]
		v := Versus{Run: i, Against: t.Against, Total: t.difference(r.TotalS, r.ownS, o.TotalS, o.ownS)}
		for k := range r.Splits {
			v.Splits = append(v.Splits, t.difference(r.Splits[k].TimeS, r.Splits[k].ownS, o.Splits[k].TimeS, o.Splits[k].ownS))
		}
		t.Versus = append(t.Versus, v)
	}
}

// caveats say what a reader must know before trusting the times.
func (t *Timing) caveats() {
	t.Caveats = []analyze.Caveat{}
	add := func(severity, topic, text string, args ...any) {
		t.Caveats = append(t.Caveats, analyze.Caveat{Severity: severity, Topic: topic, Text: fmt.Sprintf(text, args...)})
	}
	for i := range t.Runs {
		r := &t.Runs[i]
		if v, ok := r.CrossRMSM.Get(); ok && v > t.Options.DoubtCrossM {
			add(analyze.Warning, "reception", "%.1f m off the line on average, from poor reception or another line, so that its times are doubtful: %s", v, r.Name)
		}
		lost := 0.0
		for _, s := range r.OffLine {
			lost += s[1] - s[0]
		}
		if lost > 0 {
			add(analyze.Note, "off the line", "off the line or without reception for %.1f s: %s", lost, r.Name)
		}
		missed := 0
		for k := range r.Passages {
			if !r.Passages[k].TimeS.OK() {
				missed++
			}
		}
		if missed > 0 {
			add(analyze.Warning, "gates", "no time at %d of %d gates: %s", missed, len(t.Gates), r.Name)
		}
	}
	if t.By == "markers" {
		add(analyze.Note, "markers", "gates are markers dropped by hand: ±%.1f s each is assumed, as common practice without a source", t.Options.MarkerS)
		return
	}
	slow := 0
	for i := range t.Runs {
		if r := t.Runs[i].RateHz.Or(0); r > 0 && r < 2 {
			slow++
		}
	}
	if slow > 0 {
		add(analyze.Note, "rate", "%d of %d tracks have fewer than 2 positions a second: a receiver that writes 5 or more tells smaller differences", slow, len(t.Runs))
	}
	if t.PositionError.Observations == 0 {
		add(analyze.Note, "uncertainty", "one run cannot show how far positions err: the uncertainty that smoothing states is taken as it is, %.1f m", t.PositionError.SigmaM)
	}
}
