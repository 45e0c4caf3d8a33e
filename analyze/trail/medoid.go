package trail

import (
	"fmt"
	"math"
)

// maxCandidates bounds how many runs are tried as the one to begin a line with.
const maxCandidates = 8

// missCostM is what ground that only one of two runs covers counts, in m of distance, when the run to begin a line with is chosen.
const missCostM = 10

// shareOn is the share of the distance ridden that lies on the line on which the run was placed.
func (p *Path) shareOn(q *Placed) float64 {
	on, all := 0.0, 1e-9
	for i := 1; i < len(p.AlongM); i++ {
		gone := p.AlongM[i] - p.AlongM[i-1]
		all += gone
		if !q.off(q.TimeS[i-1], q.TimeS[i]) {
			on += gone
		}
	}
	return on / all
}

// medoid is the run that the others fit best: the one whose line most runs follow, and of those the one from which they lie least far away.
// Where no two runs were ridden on one trail, the error is a *StrangersError.
func medoid(paths []*Path, alone []*Line, opt LineOptions) (int, error) {
	best, bestRuns, bestCost := 0, -1, math.Inf(1)
	coarse := make([]*Path, len(paths))
	for i, p := range paths {
		coarse[i] = p.thin(2 * nodeM)
	}
	for i := range min(len(paths), maxCandidates) {
		runs, cost := 0, 0.0
		for k := range paths {
			if k == i {
				continue
			}
			q, share := alone[i].follow(coarse[k], opt.Place)
			if share < opt.MinShare {
				continue
			}
			runs++
			cost += q.CrossRMSM + missCostM*(2-share-coarse[k].shareOn(q))
		}
		if cost /= float64(max(1, runs)); runs > bestRuns || runs == bestRuns && cost < bestCost {
			best, bestRuns, bestCost = i, runs, cost
		}
	}
	if bestRuns == 0 {
		_, share := alone[0].follow(coarse[1], opt.Place)
		reason := strange(coarse[1], alone[0], share, opt.name(0), opt)
		if len(paths) > 2 {
			reason += fmt.Sprintf(", and no two of the %d runs share a trail", len(paths))
		}
		return 0, &StrangersError{Runs: []Stranger{{1, opt.name(1), reason}}}
	}
	return best, nil
}

// thin keeps a position every so many m, and both sides of a loss of reception.
func (p *Path) thin(stepM float64) *Path {
	out := &Path{Frame: p.Frame, RateHz: p.RateHz, NoiseM: p.NoiseM}
	last := -1
	for i := range p.TimeS {
		edge := i == 0 || i+1 == len(p.TimeS) || p.Piece[i] != p.Piece[i-1] || p.Piece[i+1] != p.Piece[i]
		if !edge && p.AlongM[i]-p.AlongM[last] < stepM {
			continue
		}
		last = i
		out.TimeS, out.EastM, out.NorthM = append(out.TimeS, p.TimeS[i]), append(out.EastM, p.EastM[i]), append(out.NorthM, p.NorthM[i])
		out.EleM, out.SpeedMS, out.AlongM = append(out.EleM, p.EleM[i]), append(out.SpeedMS, p.SpeedMS[i]), append(out.AlongM, p.AlongM[i])
		out.SigmaM, out.Piece = append(out.SigmaM, p.SigmaM[i]), append(out.Piece, p.Piece[i])
	}
	return out
}
