package compare

import (
	"stanchion/analyze"
)

// Half widths of moving averages over envelopes, in cells.
const (
	slowHalf   = 8  // ±2 s: what is slower than this says what kind of ground it was, not which
	jitterHalf = 2  // ±0.5 s: places from markers are good to about that
	warpHalf   = 1  // ±0.25 s: and places from distance, or from warping where the pace is even, to about that
	paceHalf   = 32 // ±8 s: a rider's pace does not change from bump to bump
)

// meanPaceHalf (±2 s) straightens maps for the mean of several runs.
const meanPaceHalf = 8

// match is the correlation of the two envelopes over the cells of the reference that the map covers.
//
// It is of the detail that is left when the moving average over ±2 s is taken away, by ranks (Spearman), which edges between kinds of
// ground sway less: trails laid out alike correlate at 0.97 without that. Warping picks the places at which the envelopes
// agree best, and can bring the ground of any two trails together bump by bump; so its map is first straightened to a pace
// that changes slowly. Places between markers are good to half a second at best, too little for detail: there the envelopes are compared
// as they are, smoothed over that.
// testdata/coverage.md shows how well that tells trails.
func match(ref, run *envelope, r *RunAlignment, m Method) analyze.Figure {
	pace := 0
	if m == ByRoughness {
		pace = paceHalf
	}
	cells, y := along(ref, run, r, pace)
	if len(cells) < minCells {
		return analyze.Absent("the shared ground is too short to tell a trail by")
	}
	x := make([]float64, len(cells))
	for i, k := range cells {
		x[i] = ref.y[k]
	}
	var c float64
	var ok bool
	if m != ByMarkers {
		c, _, ok = spearman(detail(smooth(x, warpHalf)), detail(smooth(y, warpHalf)))
	} else {
		c, ok = pearson(smooth(x, jitterHalf), smooth(y, jitterHalf))
	}
	if !ok {
		return analyze.Absent("the roughness does not vary")
	}
	return analyze.Value(c, len(x))
}

// along is the envelope of a run at the cells of the reference that the map covers, with the map straightened over ±pace cells.
func along(ref, run *envelope, r *RunAlignment, pace int) (cells []int, y []float64) {
	for k, t := range ref.t {
		if t < r.full[0].ReferenceS || t > r.full[len(r.full)-1].ReferenceS {
			continue
		}
		cells, y = append(cells, k), append(y, run.place(r.At(t)))
	}
	if pace > 0 {
		y = smooth(y, pace)
	}
	for i, p := range y {
		y[i] = atPlace(run.y, p)
	}
	return cells, y
}

// detail is y less its moving average over ±slowHalf cells.
func detail(y []float64) []float64 {
	out := smooth(y, slowHalf)
	for i, v := range y {
		out[i] = v - out[i]
	}
	return out
}
