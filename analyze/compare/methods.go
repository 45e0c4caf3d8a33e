package compare

import (
	"errors"
	"math"
	"slices"
)

// byMarkers joins markers of the same label: all of them where both runs hold the same labels in the same order, else
// those whose label occurs once in each.
func byMarkers(ref, run *Run) ([]Knot, error) {
	ta, la := markerTimes(ref)
	tb, lb := markerTimes(run)
	var knots []Knot
	if slices.Equal(la, lb) {
		for i := range ta {
			knots = append(knots, Knot{ta[i], tb[i]})
		}
	} else {
		once := func(labels []string, l string) bool {
			n := 0
			for _, other := range labels {
				if other == l {
					n++
				}
			}
			return n == 1
		}
		for i, l := range la {
			if !once(la, l) || !once(lb, l) {
				continue
			}
			k := Knot{ta[i], tb[slices.Index(lb, l)]}
			if n := len(knots); n > 0 && k.RunS <= knots[n-1].RunS {
				return nil, errors.New("its markers are in another order")
			}
			knots = append(knots, k)
		}
	}
	if len(knots) < 2 {
		return nil, errors.New("it shares fewer than two markers with the reference")
	}
	return knots, nil
}

// maxPlaceM is the longest trail that is lined up by distance: 100 km.
const maxPlaceM = 1e5

// byDistance joins equal distances. Where the counting began may differ: the shift by whole metres, up to a tenth of the trail, at
// which the roughness by distance correlates best, is taken out.
func byDistance(ref, run *envelope) ([]Knot, error) {
	if ref.sped || run.sped {
		return nil, errors.New("distances were not logged, only speed")
	}
	a, err := rising(ref)
	if err != nil {
		return nil, err
	}
	b, err := rising(run)
	if err != nil {
		return nil, err
	}
	shift := bestShift(a, b)
	var knots []Knot
	first, last := b.dist[0], b.dist[len(b.dist)-1]
	for k, d := range a.dist {
		if d+shift >= first && d+shift <= last {
			knots = append(knots, Knot{a.t[k], interpolate(b.dist, b.t, d+shift)})
		}
	}
	if len(knots) < 2 {
		return nil, errors.New("its distances and those of the reference do not overlap")
	}
	return knots, nil
}

// rising keeps the cells in which distance went on.
func rising(e *envelope) (envelope, error) {
	if e.dist == nil {
		return envelope{}, errors.New("it has no distance channel and no speed channel")
	}
	out := envelope{cell: e.cell}
	for k, d := range e.dist {
		if n := len(out.dist); !(math.Abs(d) <= maxPlaceM) || (n > 0 && d <= out.dist[n-1]) {
			continue
		}
		out.t, out.y, out.dist = append(out.t, e.t[k]), append(out.y, e.y[k]), append(out.dist, d)
	}
	if len(out.dist) < minCells {
		return envelope{}, errors.New("its distance channel hardly moves")
	}
	return out, nil
}

// bestShift is the whole number of metres to add to a's distance to find the place in b.
func bestShift(a, b envelope) float64 {
	first, last := a.dist[0], a.dist[len(a.dist)-1]
	reach := math.Ceil(max(20, 0.1*(last-first)))
	step := max(1, math.Ceil((last-first)/5000)) // 5000 places are plenty
	best, shift := math.Inf(-1), 0.0
	for i := 0.0; i <= reach; i += step {
		for _, s := range [2]float64{i, -i} { // the smallest shift wins a tie
			var x, y []float64
			for d := first; d <= last; d += step {
				if d+s >= b.dist[0] && d+s <= b.dist[len(b.dist)-1] {
					x, y = append(x, interpolate(a.dist, a.y, d)), append(y, interpolate(b.dist, b.y, d+s))
				}
			}
			if float64(len(x))*step < 0.8*(last-first) {
				continue
			}
			if c, ok := pearson(x, y); ok && c > best {
				best, shift = c, s
			}
		}
	}
	return shift
}

// smoothCells is the half width over which the warping path is smoothed: it moves in whole cells.
const smoothCells = 4

// byRoughness warps the envelopes onto one another. Both are first brought to zero mean, unit variance and the reference's length, so
// that the band holds what is left after an even stretch: with a band of 10 %, runs of which one half is ridden 15 %
// faster and the other 15 % slower still fit, since they are apart by 7.5 % at most.
func byRoughness(ref, run *envelope, opt *Options) ([]Knot, error) {
	pool := 1
	for len(ref.y)/pool > maxWarpCells {
		pool *= 2
	}
	n := len(ref.y) / pool
	a, okA := standard(pooled(ref.y, n, pool))
	b, okB := standard(resample(run.y, n))
	if !okA || !okB {
		return nil, errors.New("its roughness does not vary, so nothing tells where it was ridden")
	}
	first, place := warp(a, b, int(math.Ceil(opt.Band*float64(n))), opt.WarpCost, opt.TrimCost)
	place = smooth(place, smoothCells)
	scale := float64(len(run.t)-1) / float64(n-1)
	var knots []Knot
	for i, p := range place {
		k := Knot{ref.t[min((first+i)*pool+pool/2, len(ref.t)-1)], atPlace(run.t, p*scale)}
		if m := len(knots); m > 0 && k.RunS <= knots[m-1].RunS {
			continue
		}
		knots = append(knots, k)
	}
	if len(knots) < minCells/2 {
		return nil, errors.New("too little of it matches the reference")
	}
	return knots, nil
}

// pooled is y averaged in groups of size, n groups.
func pooled(y []float64, n, size int) []float64 {
	if size == 1 {
		return y
	}
	out := make([]float64, n)
	for i := range out {
		for _, v := range y[i*size : (i+1)*size] {
			out[i] += v / float64(size)
		}
	}
	return out
}
