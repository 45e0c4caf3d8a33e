package compare

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// midranks are the ranks of values from 1, ties sharing the mean of theirs. tieSum is Σ(t³ − t) over the groups of ties.
func midranks(values []float64) (ranks []float64, tieSum float64) {
	order := make([]int, len(values))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(values[i], values[j]) })
	ranks = make([]float64, len(values))
	for lo := 0; lo < len(order); {
		hi := lo + 1
		for hi < len(order) && values[order[hi]] == values[order[lo]] {
			hi++
		}
		for _, i := range order[lo:hi] {
			ranks[i] = float64(lo+hi+1) / 2
		}
		t := float64(hi - lo)
		tieSum += t*t*t - t
		lo = hi
	}
	return ranks, tieSum
}

// mannWhitneyExactMax is the largest n·m for which the exact distribution is counted.
const mannWhitneyExactMax = 2500

// mannWhitney is the U statistic of x (pairs in which x is larger, ties half) and its two-sided p: exact without ties for
// small samples, else the normal approximation with tie and continuity corrections. Both must hold a value.
func mannWhitney(x, y []float64) (u, p float64) {
	n, m := len(x), len(y)
	ranks, ties := midranks(slices.Concat(x, y))
	for _, r := range ranks[:n] {
		u += r
	}
	u -= float64(n*(n+1)) / 2
	if ties == 0 && n*m <= mannWhitneyExactMax {
		return u, mannWhitneyExact(u, n, m)
	}
	return u, mannWhitneyNormal(u, n, m, ties)
}

func mannWhitneyNormal(u float64, n, m int, ties float64) float64 {
	nm, total := float64(n*m), float64(n+m)
	variance := nm / 12 * (total + 1 - ties/(total*(total-1)))
	if !(variance > 0) {
		return 1
	}
	z := max(0, math.Abs(u-nm/2)-0.5) / math.Sqrt(variance)
	return 2 * distuv.UnitNormal.Survival(z)
}

// mannWhitneyExact counts the orders of n and m values by U with the recurrence
// f(u; n, m) = f(u − m; n − 1, m) + f(u; n, m − 1) (Mann & Whitney 1947), as shares.
func mannWhitneyExact(u float64, n, m int) float64 {
	// row[j][u] holds the shares for i x values and j y values, i growing.
	row := make([][]float64, m+1)
	for j := range row {
		row[j] = []float64{1}
	}
	for i := 1; i <= n; i++ {
		next := make([][]float64, m+1)
		next[0] = []float64{1}
		for j := 1; j <= m; j++ {
			f := make([]float64, i*j+1)
			px, py := float64(i)/float64(i+j), float64(j)/float64(i+j) // whether the largest is an x or a y
			for k, v := range row[j] {
				f[k+j] += px * v
			}
			for k, v := range next[j-1] {
				f[k] += py * v
			}
			next[j] = f
		}
		row = next
	}
	tail := 0.0
	f := row[m]
	for k := int(math.Round(max(u, float64(n*m)-u))); k < len(f); k++ {
		tail += f[k]
	}
	return min(1, 2*tail)
}

// pearson is the correlation of x and y, ok false where either does not vary.
func pearson(x, y []float64) (r float64, ok bool) {
	n := float64(len(x))
	mx, my := 0.0, 0.0
	for i := range x {
		mx += x[i] / n
		my += y[i] / n
	}
	xx, yy, xy := 0.0, 0.0, 0.0
	for i := range x {
		dx, dy := x[i]-mx, y[i]-my
		xx, yy, xy = xx+dx*dx, yy+dy*dy, xy+dx*dy
	}
	if !(xx > 0) || !(yy > 0) {
		return 0, false
	}
	return max(-1, min(1, xy/math.Sqrt(xx)/math.Sqrt(yy))), true
}

// spearmanExactMax is the most pairs for which every order is tried: 9! = 362 880.
const spearmanExactMax = 9

// spearman is the rank correlation of x and y and its two-sided p: over all orders for up to spearmanExactMax pairs, else by
// Student's t with n − 2 degrees of freedom. ok is false for under 3 pairs or where either does not vary.
func spearman(x, y []float64) (rho, p float64, ok bool) {
	rx, _ := midranks(x)
	ry, _ := midranks(y)
	n := len(x)
	rho, ok = pearson(rx, ry)
	if !ok || n < 3 {
		return 0, 0, false
	}
	if n <= spearmanExactMax {
		return rho, spearmanExact(rx, ry), true
	}
	return rho, spearmanT(rho, n), true
}

func spearmanT(rho float64, n int) float64 {
	df := float64(n - 2)
	if math.Abs(rho) >= 1 {
		return 0
	}
	return 2 * distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Survival(math.Abs(rho)*math.Sqrt(df/(1-rho*rho)))
}

// spearmanExact is the share of the orders of y whose |Σ rx·ry − mean| is at least that seen. Doubled midranks are whole
// numbers, so sums are exact. Orders come from Heap's algorithm.
func spearmanExact(rx, ry []float64) float64 {
	n := len(rx)
	a, b := make([]int, n), make([]int, n)
	sum, sx, sy := 0, 0, 0
	for i := range a {
		a[i], b[i] = int(math.Round(2*rx[i])), int(math.Round(2*ry[i]))
		sum, sx, sy = sum+a[i]*b[i], sx+a[i], sy+b[i]
	}
	distance := func(s int) int { // n times the distance from the mean over all orders
		d := n*s - sx*sy
		return max(d, -d)
	}
	seen := distance(sum)
	all, far := 1, 1 // the order as it is
	c := make([]int, n)
	for i := 0; i < n; {
		if c[i] >= i {
			c[i] = 0
			i++
			continue
		}
		j := 0
		if i%2 == 1 {
			j = c[i]
		}
		sum += (a[i] - a[j]) * (b[j] - b[i])
		b[i], b[j] = b[j], b[i]
		all++
		if distance(sum) >= seen {
			far++
		}
		c[i]++
		i = 0
	}
	return float64(far) / float64(all)
}
