package trail

import "math"

// unseenS is over how long on either side the speed that a mean estimate lacks is averaged, s.
const unseenS = 1.5

// unseenSpeeds are what the speed of each mean estimate lacks: where the receiver measured speed, as much as what it measured within unseenS on either side is
// faster; elsewhere what is to be expected.
func (s *smoother) unseenSpeeds(epochs []epoch, found []estimate, still []bool) []float64 {
	out := make([]float64, len(epochs))
	sum, n := make([]float64, len(epochs)+1), make([]int, len(epochs)+1) // up to each epoch
	for k := range epochs {
		sum[k+1], n[k+1] = sum[k], n[k]
		speed := math.Hypot(found[k].x[stVel], found[k].x[axisN+stVel])
		if out[k] = found[k].unseenSpeed(speed); math.IsNaN(s.speedMS) || epochs[k].fix < 0 || still[k] {
			continue
		}
		if v := s.spots[epochs[k].fix].speed; v >= turnMS {
			sum[k+1], n[k+1] = sum[k]+v-speed, n[k]+1
		}
	}
	lo, hi := 0, 0
	for k := range epochs {
		for epochs[lo].timeS < epochs[k].timeS-unseenS {
			lo++
		}
		for hi < len(epochs) && epochs[hi].timeS <= epochs[k].timeS+unseenS {
			hi++
		}
		if count := n[hi] - n[lo]; count > 0 {
			out[k] = (sum[hi] - sum[lo]) / float64(count)
		}
	}
	return out
}
