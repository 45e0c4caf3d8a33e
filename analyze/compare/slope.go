package compare

import (
	"cmp"
	"math"
	"slices"

	"stanchion/analyze/signal"

	"gonum.org/v1/gonum/stat/distuv"
)

// A line is the median of the slopes of all pairs with Sen's interval, which comes from the ranks alone.
type line struct {
	slope, low, high float64
	bounded          bool // low and high are known: there are pairs enough for the level
}

// theilSen fits y over x. The interval is Sen's: the variance of Kendall's S with ties in x and y
// gives the ranks of the pair slopes that bound it (rounded as SciPy does). ok is false where no two x differ.
func theilSen(x, y []float64, confidence float64) (l line, ok bool) {
	var slopes []float64
	for i := range x {
		for j := range i {
			if x[i] != x[j] {
				slopes = append(slopes, (y[i]-y[j])/(x[i]-x[j]))
			}
		}
	}
	if len(slopes) == 0 {
		return line{}, false
	}
	slices.Sort(slopes)
	l.slope = signal.QuantilesSorted(slopes, 0.5)[0]
	n := float64(len(x))
	tied := func(v []float64) (sum float64) {
		s := slices.Sorted(slices.Values(v))
		for lo := 0; lo < len(s); {
			hi := lo + 1
			for hi < len(s) && s[hi] == s[lo] {
				hi++
			}
			k := float64(hi - lo)
			sum += k * (k - 1) * (2*k + 5)
			lo = hi
		}
		return sum
	}
	sigma := math.Sqrt(max(0, n*(n-1)*(2*n+5)-tied(x)-tied(y)) / 18)
	z := distuv.UnitNormal.Quantile((1 + confidence) / 2)
	nt := float64(len(slopes))
	upper := int(math.RoundToEven((nt + z*sigma) / 2))
	lower := int(math.RoundToEven((nt-z*sigma)/2)) - 1
	if upper > len(slopes)-1 || lower < 0 {
		return l, true
	}
	l.low, l.high, l.bounded = slopes[lower], slopes[upper], true
	return l, true
}

// isotonic is the weighted least-squares fit to y that never falls (pool adjacent violators). Weights must be positive.
func isotonic(y, w []float64) []float64 {
	type block struct {
		sum, weight float64
		n           int
	}
	mean := func(b block) float64 { return b.sum / b.weight }
	var blocks []block
	for i := range y {
		blocks = append(blocks, block{y[i] * w[i], w[i], 1})
		for k := len(blocks) - 1; k > 0 && mean(blocks[k-1]) >= mean(blocks[k]); k-- {
			blocks[k-1] = block{blocks[k-1].sum + blocks[k].sum, blocks[k-1].weight + blocks[k].weight, blocks[k-1].n + blocks[k].n}
			blocks = blocks[:k]
		}
	}
	out := make([]float64, 0, len(y))
	for _, b := range blocks {
		m := mean(b)
		for range b.n {
			out = append(out, m)
		}
	}
	return out
}

// monotone is the isotonic or antitonic fit, whichever leaves less; rising where they tie.
func monotone(y, w []float64) (fit []float64, rising bool) {
	down := make([]float64, len(y))
	for i, v := range y {
		down[i] = -v
	}
	up := isotonic(y, w)
	fall := isotonic(down, w)
	rest := func(f, of []float64) (s float64) {
		for i := range f {
			s += w[i] * (f[i] - of[i]) * (f[i] - of[i])
		}
		return s
	}
	if rest(up, y) <= rest(fall, down) {
		return up, true
	}
	for i := range fall {
		fall[i] = -fall[i]
	}
	return fall, false
}

// spread is the run-to-run standard deviation of y over x and its degrees of freedom. Runs at the same x tell it
// directly; where there are none, each inner point is compared with the line through its neighbours, which holds as long as the
// response bends little between three positions (Gasser, Sroka & Jennen-Steinmetz, Biometrika 73 (1986) 625, from memory).
func spread(x, y []float64) (sd float64, df int, repeated bool) {
	order := make([]int, len(x))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int { return cmp.Or(cmp.Compare(x[i], x[j]), cmp.Compare(y[i], y[j])) })
	squares := 0.0
	for lo := 0; lo < len(order); {
		hi := lo + 1
		for hi < len(order) && x[order[hi]] == x[order[lo]] {
			hi++
		}
		group := make([]float64, 0, hi-lo)
		for _, i := range order[lo:hi] {
			group = append(group, y[i])
		}
		squares += describe(group).v2 * float64(hi-lo-1)
		df += hi - lo - 1
		lo = hi
	}
	if df > 0 {
		return math.Sqrt(squares / float64(df)), df, true
	}
	for k := 1; k < len(order)-1; k++ {
		x0, x1, x2 := x[order[k-1]], x[order[k]], x[order[k+1]]
		a := (x2 - x1) / (x2 - x0)
		e := y[order[k]] - a*y[order[k-1]] - (1-a)*y[order[k+1]]
		squares += e * e / (1 + a*a + (1-a)*(1-a))
		df++
	}
	if df == 0 {
		return 0, 0, false
	}
	return math.Sqrt(squares / float64(df)), df, false
}
