package compare

import (
	"errors"
	"math"
	"slices"
)

// How integrated distances of two runs may differ, and how finely they are brought together.
const (
	maxScaleShare = 0.05 // two wheels or receivers that read 2 % wrong each way, and some slack
	coarseM       = 5.0
	fineM         = 0.5
	coarsePlaces  = 400 // longer trails are searched in longer steps
	maxDriftShare = 0.02
	driftHalfM    = 40
	searchKept    = 12 // of the best coarse fits are refined
)

// bySpeed joins distances integrated from speed. They are proportional to the true ones within some per cent, and drift a little. So the
// places at which the first and the last shared place of the reference lie in the run are searched, scale and shift
// together, for the best correlation of the envelopes by distance.
//
// What drift is left is taken out by warping along the trail within maxDriftShare, smoothed over ±driftHalfM.
func bySpeed(ref, run *envelope, opt *Options) ([]Knot, error) {
	a, err := rising(ref)
	if err != nil {
		return nil, err
	}
	b, err := rising(run)
	if err != nil {
		return nil, err
	}
	from, to, ok := bestLine(a, b)
	if !ok {
		return nil, errors.New("its distances and those of the reference do not overlap")
	}
	var knots []Knot
	length := a.dist[len(a.dist)-1] - a.dist[0]
	off := drift(a, b, from, to, length, opt)
	for k, d := range a.dist {
		at := from + (to-from)*(d-a.dist[0])/length
		at += atPlace(off, (d-a.dist[0])/length*float64(len(off)-1))
		if at < b.dist[0] || at > b.dist[len(b.dist)-1] {
			continue
		}
		if t := interpolate(b.dist, b.t, at); len(knots) == 0 || t > knots[len(knots)-1].RunS {
			knots = append(knots, Knot{a.t[k], t})
		}
	}
	if len(knots) < minCells/2 {
		return nil, errors.New("its distances and those of the reference do not overlap")
	}
	return knots, nil
}

// drift is how much farther than the line the run was, in m, at places spread evenly from the first to the last of a.
func drift(a, b envelope, from, to, length float64, opt *Options) []float64 {
	n := int(min(length, maxWarpCells))
	x, y := make([]float64, n), make([]float64, n)
	for k := range n {
		u := float64(k) / float64(n-1)
		x[k], y[k] = interpolate(a.dist, a.y, a.dist[0]+u*length), interpolate(b.dist, b.y, from+u*(to-from))
	}
	out := make([]float64, n)
	x, okX := standard(x)
	y, okY := standard(y)
	if !okX || !okY {
		return out
	}
	step := length / float64(n-1)
	first, place := warp(x, y, int(math.Ceil(max(5, maxDriftShare*length)/step)), opt.WarpCost, opt.TrimCost)
	for k := range out {
		i := max(0, min(k-first, len(place)-1))
		out[k] = (place[i] - float64(first+i)) * step
	}
	return smooth(out, int(driftHalfM/step))
}

// byPlace is an envelope at places every step m, each the mean over about a step.
type byPlace struct {
	first, step float64
	y           []float64
}

func newByPlace(e envelope, step float64) byPlace {
	first, last := e.dist[0], e.dist[len(e.dist)-1]
	fine := max(1, math.Round(step/fineM)) // samples a step
	n := int((last-first)/step*fine) + 1
	y := make([]float64, n)
	for k := range y {
		y[k] = interpolate(e.dist, e.y, first+float64(k)*step/fine)
	}
	y = smooth(y, int(fine/2))
	out := byPlace{first: first, step: step}
	for k := 0; k < n; k += int(fine) {
		out.y = append(out.y, y[k])
	}
	return out
}

// A fitted line maps the first and the last place of the reference to places of the run, in m.
type fitted struct{ from, to, fit float64 }

// bestLine finds the places in b of the first and the last place of a.
func bestLine(a, b envelope) (from, to float64, ok bool) {
	first, length := a.dist[0], a.dist[len(a.dist)-1]-a.dist[0]
	step := max(coarseM, length/coarsePlaces)
	reach := math.Ceil(max(20, 0.1*length)/step) * step
	stretch := math.Ceil(maxScaleShare*length/step) * step
	pa, pb := newByPlace(a, step), newByPlace(b, step)
	var found []fitted
	for shift := -reach; shift <= reach; shift += step {
		for more := -stretch; more <= stretch; more += step {
			l := fitted{from: first + shift, to: first + shift + length + more}
			if l.fit, ok = fitAlong(pa, pb, l, length); ok {
				found = append(found, l)
			}
		}
	}
	if len(found) == 0 {
		return 0, 0, false
	}
	better := func(x, y fitted) int {
		if x.fit != y.fit {
			return int(math.Copysign(1, y.fit-x.fit))
		}
		return int(math.Copysign(1, math.Abs(x.from-first)+math.Abs(x.to-x.from-length)-math.Abs(y.from-first)-math.Abs(y.to-y.from-length)))
	}
	slices.SortStableFunc(found, better)
	found = found[:min(len(found), searchKept)]
	da, db := newByPlace(a, 1).detail(), newByPlace(b, 1).detail()
	for i, l := range found {
		found[i] = refine(da, db, l, length, step)
	}
	slices.SortStableFunc(found, better)
	return found[0].from, found[0].to, true
}

// refine looks within reach m at both ends for the line along which the detail of a and b fits best, first by whole metres, then by halves.
func refine(a, b byPlace, l fitted, length, reach float64) fitted {
	for _, step := range []float64{1, fineM} {
		best := l
		best.fit = math.Inf(-1)
		for u := -reach; u <= reach; u += step {
			for v := -reach; v <= reach; v += step {
				try := fitted{from: l.from + u, to: l.to + v}
				if math.Abs(try.to-try.from-length) > maxScaleShare*length+coarseM {
					continue
				}
				var ok bool
				if try.fit, ok = fitAlong(a, b, try, length); ok && try.fit > best.fit {
					best = try
				}
			}
		}
		l, reach = best, 1
	}
	return l
}

// detail is e less its moving average over ±12 m: what tells a place from the next.
func (p byPlace) detail() byPlace {
	half := int(12 / p.step)
	slow := smooth(p.y, half)
	out := byPlace{first: p.first, step: p.step, y: make([]float64, len(p.y))}
	for i, v := range p.y {
		out.y[i] = v - slow[i]
	}
	return out
}

// fitAlong is the correlation of a with b along a line. ok is false where they share less than four fifths of a. It is called for every line that
// is searched, so it walks the shared places once, without copies.
func fitAlong(a, b byPlace, l fitted, length float64) (fit float64, ok bool) {
	at, step := (l.from-b.first)/b.step, (l.to-l.from)/length*a.step/b.step // place in b of k is at + k·step
	last := float64(len(b.y) - 1)
	lo, hi := 0, len(a.y)-1
	if at < 0 {
		lo = int(math.Ceil(-at / step))
	}
	if end := math.Floor((last - at) / step); end < float64(hi) {
		hi = int(end)
	}
	count := hi - lo + 1
	if !(step > 0) || count < 10 || float64(count) < 0.8*float64(len(a.y)) {
		return 0, false
	}
	var sx, sy, sxx, syy, sxy float64
	for k := lo; k <= hi; k++ {
		p := min(at+float64(k)*step, last)
		i := min(int(p), len(b.y)-2)
		x, y := a.y[k], b.y[i]+(p-float64(i))*(b.y[i+1]-b.y[i])
		sx, sy = sx+x, sy+y
		sxx, syy, sxy = sxx+x*x, syy+y*y, sxy+x*y
	}
	n := float64(count)
	vx, vy := sxx-sx*sx/n, syy-sy*sy/n
	if !(vx > 0) || !(vy > 0) {
		return 0, false
	}
	return (sxy - sx*sy/n) / math.Sqrt(vx*vy), true
}
