package compare

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"stanchion/analyze"
)

// maxReferences bounds how many runs are tried as the reference.
const maxReferences = 12

// candidates are the runs that could be the reference, the one of middling riding time first. Of two runs it is the faster, of many they
// are spread evenly over the riding times. Runs too short to tell a trail by are left out.
func candidates(runs []Run, envelopes []envelope) []int {
	var order []int
	for _, i := range byContent(runs) {
		if len(envelopes[i].t) >= minCells {
			order = append(order, i)
		}
	}
	if len(order) < 2 {
		return nil
	}
	if len(order) == 2 {
		return order[:1]
	}
	n := min(len(order), maxReferences)
	out := make([]int, n)
	for k := range out {
		out[k] = order[(2*k+1)*len(order)/(2*n)]
	}
	middle := (n - 1) / 2
	return append([]int{out[middle]}, slices.Delete(out, middle, middle+1)...)
}

// tooShort says which run is too short to tell a trail by.
func tooShort(runs []Run, envelopes []envelope) string {
	for i := range runs {
		if n := len(envelopes[i].t); n < minCells {
			return fmt.Sprintf("%s has %s", runs[i].name(), shortWords(&envelopes[i]))
		}
	}
	return ""
}

func shortWords(e *envelope) string {
	return fmt.Sprintf("%.3g s of riding: too little to tell a trail by", float64(len(e.t))*e.cell)
}

// A trial is all runs lined up with one reference by one method.
type trial struct {
	method Method
	ref    int
	runs   []RunAlignment // Quality is absent where a run could not be lined up, and then there are no knots
}

// tryMethod lines all runs up with each candidate and takes the one that a majority looks most like (a medoid that a minority of odd
// runs cannot sway). It fails where runs lack what the method needs.
func tryMethod(m Method, runs []Run, envelopes []envelope, candidates []int, opt *Options) (*trial, error) {
	trials, failed := make([]*trial, len(candidates)), make([]error, len(candidates))
	each(len(candidates), func(k int) {
		trials[k], failed[k] = try(m, runs, envelopes, candidates[k], opt)
	})
	var best *trial
	for k, t := range trials {
		if failed[k] != nil {
			return nil, failed[k]
		}
		if best == nil || t.agreed() > best.agreed() {
			best = t
		}
	}
	if n := best.alike(opt); n < len(runs) && 2*n > len(runs) && n > 2 {
		best.again(runs, envelopes, opt)
	}
	return best, nil
}

// again looks at the doubtful runs once more, against the mean of the runs that look alike. The chance details of single runs average out
// in it, so that a run with an extreme setting on the same trail still fits where another trail does not. On simulated trails of one
// layout, with damping up to four times as strong, the chance that a pair of the same trail fits better than one of two trails rose
// from 0.974 to 0.995.
func (t *trial) again(runs []Run, envelopes []envelope, opt *Options) {
	mean := t.mean(envelopes, opt)
	for i := range t.runs {
		if t.fits(i, opt) || len(envelopes[i].t) < minCells {
			continue
		}
		knots, err := lineUp(t.method, &runs[t.ref], &mean, &runs[i], &envelopes[i], opt)
		if err != nil {
			continue
		}
		r := RunAlignment{Name: t.runs[i].Name, full: knots, Knots: thin(knots, 0.05)}
		if r.Quality = match(&mean, &envelopes[i], &r, t.method); r.Quality.Or(math.Inf(-1)) >= opt.MinMatch {
			t.runs[i] = r
		}
	}
}

// mean is the mean envelope of the runs that look alike, over the cells of the reference.
func (t *trial) mean(envelopes []envelope, opt *Options) envelope {
	out := envelopes[t.ref]
	out.y = slices.Clone(out.y)
	count := make([]float64, len(out.y))
	for k := range count {
		count[k] = 1
	}
	for i := range t.runs {
		if i == t.ref || !t.fits(i, opt) {
			continue
		}
		cells, y := along(&envelopes[t.ref], &envelopes[i], &t.runs[i], meanPaceHalf)
		for j, k := range cells {
			out.y[k] += y[j]
			count[k]++
		}
	}
	for k := range out.y {
		out.y[k] /= count[k]
	}
	return out
}

func try(m Method, runs []Run, envelopes []envelope, ref int, opt *Options) (*trial, error) {
	t := &trial{method: m, ref: ref, runs: make([]RunAlignment, len(runs))}
	for i := range runs {
		r := &t.runs[i]
		r.Name, r.Knots = runs[i].name(), []Knot{}
		if len(envelopes[i].t) < minCells {
			r.Quality = analyze.Absent("it has %s", shortWords(&envelopes[i]))
			continue
		}
		if i == ref {
			r.full = whole(m, &runs[i], &envelopes[i])
			r.Knots, r.Quality = slices.Clone(r.full), analyze.Value(1, len(envelopes[i].t))
			continue
		}
		knots, err := lineUp(m, &runs[ref], &envelopes[ref], &runs[i], &envelopes[i], opt)
		switch {
		case err != nil && m != ByRoughness:
			return nil, fmt.Errorf("%s: %w", runs[i].name(), err)
		case err != nil:
			r.Quality = analyze.Absent("%v", err)
			continue
		}
		r.full, r.Knots = knots, thin(knots, 0.05)
		r.Quality = match(&envelopes[ref], &envelopes[i], r, m)
	}
	return t, nil
}

// agreed is the fit that the reference reaches with as many other runs as make a majority together with it.
func (t *trial) agreed() float64 {
	var fits []float64
	for i := range t.runs {
		if i != t.ref {
			fits = append(fits, t.runs[i].Quality.Or(math.Inf(-1)))
		}
	}
	slices.SortFunc(fits, func(a, b float64) int { return cmp.Compare(b, a) })
	return fits[len(t.runs)/2-1]
}

func (t *trial) fits(i int, opt *Options) bool {
	q, ok := t.runs[i].Quality.Get()
	return ok && q >= opt.MinMatch
}

// alike is how many runs look like the reference, itself among them.
func (t *trial) alike(opt *Options) int {
	n := 0
	for i := range t.runs {
		if t.fits(i, opt) {
			n++
		}
	}
	return n
}

// settle decides which runs go on.
func (t *trial) settle(runs []Run, envelopes []envelope, opt *Options, lacking func([]int) string) Alignment {
	out := Alignment{Method: t.method, Reference: t.runs[t.ref].Name}
	var kept []int
	for i := range t.runs {
		if t.fits(i, opt) {
			kept = append(kept, i)
			continue
		}
		d := DoubtfulRun{Name: t.runs[i].Name, Fit: t.runs[i].Quality, Why: t.why(i, envelopes, opt), Kept: opt.KeepDoubtful, run: i}
		out.Doubtful = append(out.Doubtful, d)
	}
	switch why := lacking(kept); {
	case len(out.Doubtful) == 0:
	case opt.KeepDoubtful:
		kept = nil
		for i := range t.runs {
			if kept = append(kept, i); len(t.runs[i].full) == 0 {
				out.Refused = fmt.Sprintf("%s could not be lined up with the rest: %s", t.runs[i].Name, t.runs[i].Quality.Reason())
			}
		}
	case len(runs) == 2:
		t.refusePair(&out, 1-t.ref, envelopes, opt)
	case 2*len(kept) <= len(runs):
		t.refuse(&out, fmt.Sprintf("the runs do not look like one trail: no more than %d of %d look alike", len(kept), len(runs)))
	case why != "":
		t.refuse(&out, fmt.Sprintf("the runs do not look like one trail: without those that look like another, %s", why))
	}
	if out.Refused != "" {
		kept = nil
		for i := range t.runs {
			kept = append(kept, i)
		}
	}
	t.take(&out, kept)
	return out
}

// take fills in the runs that go on and the ground that they share.
func (t *trial) take(out *Alignment, kept []int) {
	out.kept = kept
	out.StartS, out.EndS = math.Inf(-1), math.Inf(1)
	for k, i := range kept {
		r := t.runs[i]
		if i == t.ref {
			out.reference = k
		}
		if n := len(r.full); n > 0 {
			out.StartS, out.EndS = max(out.StartS, r.full[0].ReferenceS), min(out.EndS, r.full[n-1].ReferenceS)
		}
		out.Runs = append(out.Runs, r)
	}
	if !(out.EndS > out.StartS) {
		out.StartS, out.EndS = 0, 0
		if out.Refused == "" {
			out.Refused = "the runs share no ground"
		}
	}
	for i := range out.Runs {
		r := &out.Runs[i]
		r.StartS, r.EndS = r.At(out.StartS), r.At(out.EndS)
	}
}

// why says why run i is doubtful.
func (t *trial) why(i int, envelopes []envelope, opt *Options) string {
	q, ok := t.runs[i].Quality.Get()
	if !ok {
		return t.runs[i].Quality.Reason()
	}
	return fmt.Sprintf("lined up, its roughness correlates with that of %s at %.2f, under %.2g%s", t.runs[t.ref].Name, q, opt.MinMatch, lengthHint(&envelopes[t.ref], &envelopes[i]))
}

func (t *trial) refusePair(out *Alignment, other int, envelopes []envelope, opt *Options) {
	a, b := t.runs[t.ref].Name, t.runs[other].Name
	if q, ok := t.runs[other].Quality.Get(); ok {
		out.OtherTrail = true
		out.Refused = fmt.Sprintf("%s and %s do not look like the same trail: their aligned roughness correlates at %.2f, under %.2g%s",
			a, b, q, opt.MinMatch, lengthHint(&envelopes[t.ref], &envelopes[other]))
		return
	}
	out.Refused = fmt.Sprintf("%s and %s cannot be told apart or together: %s", a, b, t.runs[other].Quality.Reason())
}

// refuse names the doubtful runs. Where nothing but missing fits speaks against one trail, it is not called another.
func (t *trial) refuse(out *Alignment, what string) {
	var fits []string
	for _, d := range out.Doubtful {
		out.OtherTrail = out.OtherTrail || d.Fit.OK()
		fits = append(fits, d.Name+" "+d.fitWords())
	}
	out.Refused = fmt.Sprintf("%s (fit with %s: %s)", what, out.Reference, strings.Join(fits, ", "))
}

// fitWords are the fit of a doubtful run, or why there is none.
func (d *DoubtfulRun) fitWords() string {
	if q, ok := d.Fit.Get(); ok {
		return fmt.Sprintf("%.2f", q)
	}
	return d.Fit.Reason()
}

// lengthHint is what to try where one run holds far more riding than the other.
func lengthHint(a, b *envelope) string {
	x, y := float64(len(a.t))*a.cell, float64(len(b.t))*b.cell
	if max(x, y) < 1.25*min(x, y) {
		return ""
	}
	return fmt.Sprintf(" (they hold %.0f s and %.0f s of riding: cut both to the same ground or set markers)", x, y)
}

// rest are the runs that go on.
func (a *Alignment) rest(runs []Run) []Run {
	if a.kept == nil {
		return runs
	}
	out := make([]Run, len(a.kept))
	for k, i := range a.kept {
		out[k] = runs[i]
	}
	return out
}

// leftOut are the places of the runs that do not go on, ascending.
func (a *Alignment) leftOut() []int {
	var out []int
	for k := range a.Doubtful {
		if i := a.Doubtful[k].run; a.kept != nil && !slices.Contains(a.kept, i) {
			out = append(out, i)
		}
	}
	return out
}

// doubt is why run i is doubtful.
func (a *Alignment) doubt(i int) DoubtfulRun {
	for _, d := range a.Doubtful {
		if d.run == i {
			return d
		}
	}
	return DoubtfulRun{}
}

// emptied says which set has no run left, if any; the first nA runs are those of A.
func emptied(kept []int, nA int) string {
	a := 0
	for _, i := range kept {
		if i < nA {
			a++
		}
	}
	switch {
	case a == 0:
		return "no run of A is left"
	case a == len(kept):
		return "no run of B is left"
	}
	return ""
}

// trailCaveats say what the alignment shows of the trail: first of all which runs were left out.
func trailCaveats(al *Alignment, opt *Options, add adder) {
	switch {
	case al.OtherTrail:
		add(analyze.Warning, "trail", "%s. No verdict is given: another trail explains any difference. If you know that it is one trail, keep all runs.", al.Refused)
	case al.Refused != "":
		add(analyze.Note, "alignment", "The runs were not lined up along the trail: %s. Whether they are of one trail was not checked.", al.Refused)
	}
	if al.OtherTrail || len(al.Doubtful) == 0 || (al.Refused != "" && !opt.KeepDoubtful) {
		return
	}
	var names []string
	for _, d := range al.Doubtful {
		names = append(names, fmt.Sprintf("%s (%s)", d.Name, d.fitWords()))
	}
	look, it := "it does", "it is"
	if len(names) > 1 {
		look, it = "they do", "they are"
	}
	if opt.KeepDoubtful {
		add(analyze.Warning, "trail", "Kept as you asked, though %s not look like the same trail as the rest (fit under %.2g): %s. If %s of another trail, no verdict holds.",
			look, opt.MinMatch, strings.Join(names, ", "), it)
		return
	}
	add(analyze.Warning, "trail", "Left out, since %s not look like the same trail as the rest (fit under %.2g): %s. Nothing here counts %s. If you know that %s of the same trail, keep all runs.",
		look, opt.MinMatch, strings.Join(names, ", "), map[bool]string{true: "it", false: "them"}[len(names) == 1], it)
}
