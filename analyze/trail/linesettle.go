package trail

import (
	"math"
	"slices"
)

// How a line is settled on the fixes: their mean distance from it within about settleM, a standard deviation, along it.
const (
	settleM      = 10.0
	settleRounds = 2
)

// settle moves the line to where the fixes of its runs are on average, with the runs at the stations that their speed tells. A line of smoothed paths is right from one bend to
// the next, but may have drifted from the fixes along itself; what it moves by is a mean over a long stretch, so that its bends stay as they are.
func (l *Line) settle(paths []*Path, middle int, opt LineOptions) (*Line, error) {
	for range settleRounds {
		placed, err := placeAll(paths, l, middle, opt)
		if err != nil {
			return nil, err
		}
		n := len(l.EastM)
		offE, offN := make([][]float64, n), make([][]float64, n)
		for i, q := range placed {
			q.residuals(l, paths[i], offE, offN)
		}
		out := *l
		out.EastM, out.NorthM = make([]float64, n), make([]float64, n)
		for j := range n {
			e, _ := robustMean(offE[j])
			north, _ := robustMean(offN[j])
			out.EastM[j], out.NorthM[j] = l.EastM[j]+e, l.NorthM[j]+north
		}
		l = &out
	}
	return l, nil
}

// allHaveSpeed tells whether the receiver measured speed in every run.
func allHaveSpeed(paths []*Path) bool {
	return !slices.ContainsFunc(paths, func(p *Path) bool { return !p.HasSpeed || len(p.Fixes) == 0 })
}

// residuals adds, for each point of the line, how far the run's fixes lie from it on average: a Gaussian mean along the line, where enough of them are.
func (q *Placed) residuals(l *Line, p *Path, offE, offN [][]float64) {
	n := len(l.EastM)
	sumE, sumN, count := make([]float64, n), make([]float64, n), make([]float64, n)
	if q.estimate == nil {
		return
	}
	for _, f := range p.Fixes {
		s := q.StationM[f.At]
		j := int(math.Round(s / l.StepM))
		if q.estimate.of[f.At] < 0 || j < 0 || j >= n || p.SpeedMS[f.At] == 0 {
			continue
		}
		e, north, _, _ := l.at(s)
		sumE[j], sumN[j], count[j] = sumE[j]+f.EastM-e, sumN[j]+f.NorthM-north, count[j]+1
	}
	half := int(math.Ceil(2.5 * settleM / l.StepM))
	for j := range n {
		var e, north, weight, fixes float64
		for k := max(0, j-half); k <= min(n-1, j+half); k++ {
			x := float64(k-j) * l.StepM / settleM
			w := math.Exp(-x * x / 2)
			e, north, weight, fixes = e+w*sumE[k], north+w*sumN[k], weight+w*count[k], fixes+count[k]
		}
		if fixes >= leastFixes && weight > 1e-3 {
			offE[j], offN[j] = append(offE[j], e/weight), append(offN[j], north/weight)
		}
	}
}
