package compare

import "math"

// maxWarpCells bounds the memory of warping: longer envelopes are averaged in pairs until they fit. 16384 cells of 0.25 s are 68 min;
// a band of 10 % then takes 54 MB.
const maxWarpCells = 1 << 14

// The steps of a warping path.
const (
	pathStart = byte(iota)
	pathBoth  // both go on by a cell
	pathFirst // only a goes on
	pathOther // only b goes on
)

// warp aligns two envelopes of equal length by dynamic time warping within a Sakoe–Chiba band of ±band cells. Cost is the squared
// difference, plus warpCost for a step in which only one goes on. Either may leave cells out at its start and end, at trimCost a cell.
// It returns for cells first … first+len(place)−1 of a the place in b, as the mean of the cells on the path. Memory: two
// rows of the band and a byte a cell of it.
func warp(a, b []float64, band int, warpCost, trimCost float64) (first int, place []float64) {
	n := len(a)
	band = max(1, min(band, n-1))
	width := 2*band + 1
	steps := make([]byte, n*width)
	last, row := make([]float64, width), make([]float64, width)
	best, bi, bj := math.Inf(1), 0, 0
	for i := range n {
		for k := range row {
			j := i + k - band
			if j < 0 || j >= n {
				row[k] = math.Inf(1)
				continue
			}
			cost, step := math.Inf(1), pathStart
			if i == 0 || j == 0 {
				cost = trimCost * float64(i+j)
			}
			if i > 0 && last[k] <= cost {
				cost, step = last[k], pathBoth
			}
			if i > 0 && k+1 < width && last[k+1]+warpCost < cost {
				cost, step = last[k+1]+warpCost, pathFirst
			}
			if k > 0 && row[k-1]+warpCost < cost {
				cost, step = row[k-1]+warpCost, pathOther
			}
			d := a[i] - b[j]
			row[k], steps[i*width+k] = cost+d*d, step
			if i == n-1 || j == n-1 {
				if total := row[k] + trimCost*float64(n-1-i+n-1-j); total < best {
					best, bi, bj = total, i, j
				}
			}
		}
		last, row = row, last
	}
	return trace(steps, width, band, bi, bj)
}

// trace walks the path back from (i, j).
func trace(steps []byte, width, band, i, j int) (first int, place []float64) {
	sum, count := make([]float64, i+1), make([]float64, i+1)
	for {
		sum[i] += float64(j)
		count[i]++
		switch steps[i*width+j-i+band] {
		case pathBoth:
			i, j = i-1, j-1
		case pathFirst:
			i--
		case pathOther:
			j--
		default:
			for k := i; k < len(sum); k++ {
				place = append(place, sum[k]/count[k])
			}
			return i, place
		}
	}
}

// smooth is the moving average of a over ±half places, fewer near the ends. A rising sequence stays rising.
func smooth(a []float64, half int) []float64 {
	sums := make([]float64, len(a)+1)
	for i, v := range a {
		sums[i+1] = sums[i] + v
	}
	out := make([]float64, len(a))
	for i := range a {
		h := min(half, i, len(a)-1-i)
		out[i] = (sums[i+h+1] - sums[i-h]) / float64(2*h+1)
	}
	return out
}
