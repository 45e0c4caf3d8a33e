package trail

import (
	"math"
	"slices"
)

const (
	leastNoiseM   = 0.05 // a receiver that smooths its own positions shows less noise than it has
	leastSpeedMS  = 0.05
	madToSigma    = 1.4826 // of a normal distribution
	thirdVariance = 20     // 1² + 3² + 3² + 1²
)

// measure finds from the track itself how noisy it is and how briskly the rider moves.
func (s *smoother) measure() {
	var third, speeds []float64
	for _, p := range s.pieces {
		for i := p[0] + 3; i < p[1]; i++ {
			a := s.spots[i-3 : i+1]
			if d := a[3].t - a[0].t; d > 3.3/s.rateHz || d < 2.7/s.rateHz {
				continue // a fix is missing
			}
			third = append(third, math.Abs(a[3].e-3*a[2].e+3*a[1].e-a[0].e), math.Abs(a[3].n-3*a[2].n+3*a[1].n-a[0].n))
			if v := math.Abs(a[3].speed - 3*a[2].speed + 3*a[1].speed - a[0].speed); !math.IsNaN(v) {
				speeds = append(speeds, v)
			}
		}
	}
	s.noiseM = max(leastNoiseM, spread(third))
	s.speedMS = math.NaN()
	if len(speeds) >= 10 && s.speedFits() {
		s.speedMS = max(leastSpeedMS, spread(speeds))
	}
	s.motion = motion{accelMS2: 2, accelS: s.opt.AccelS, wanderM: s.opt.WanderM, wanderS: s.opt.WanderS}
	s.chooseAccel()
	s.chooseWander()
}

// spread is the standard deviation of white noise from the absolute values of its third differences.
func spread(third []float64) float64 {
	if len(third) == 0 {
		return 0
	}
	slices.Sort(third)
	return madToSigma * third[len(third)/2] / math.Sqrt(thirdVariance)
}

// speedFits tells whether the receiver's speed is that of its positions. Speeds in another unit are not used.
func (s *smoother) speedFits() bool {
	const overS = 5
	var ratios []float64
	for _, p := range s.pieces {
		way, lo := 0.0, p[0]
		for i := p[0] + 1; i < p[1]; i++ {
			if step := (s.spots[i].speed + s.spots[i-1].speed) / 2 * (s.spots[i].t - s.spots[i-1].t); !math.IsNaN(step) {
				way += step
			}
			if s.spots[i].t-s.spots[lo].t >= overS {
				chord := math.Hypot(s.spots[i].e-s.spots[lo].e, s.spots[i].n-s.spots[lo].n)
				if chord > 8*s.noiseM+5 { // m: far enough to tell
					ratios = append(ratios, way/chord)
				}
				way, lo = 0, i
			}
		}
	}
	if len(ratios) == 0 {
		return true
	}
	slices.Sort(ratios)
	if r := ratios[len(ratios)/2]; r < 0.8 || r > 1.5 {
		s.notes = append(s.notes, "the receiver's speed is not that of its positions (another unit?) and was not used")
		return false
	}
	return true
}

// longest is the range of the longest piece, at most so many fixes of it.
func (s *smoother) longest(most int) [2]int {
	best := s.pieces[0]
	for _, p := range s.pieces {
		if p[1]-p[0] > best[1]-best[0] {
			best = p
		}
	}
	best[1] = min(best[1], best[0]+most)
	return best
}

// chooseAccel takes the strength of acceleration under which the positions of the longest piece are likeliest.
func (s *smoother) chooseAccel() {
	piece := s.longest(5000)
	if piece[1]-piece[0] < leastFixes {
		return
	}
	var epochs []epoch
	for i := piece[0]; i < piece[1]; i++ {
		epochs = append(epochs, epoch{timeS: s.spots[i].t, fix: i})
		s.set(&epochs[len(epochs)-1], 0, nil, nil, 0)
	}
	best, most := s.motion.accelMS2, math.Inf(-1)
	for _, a := range []float64{0.5, 1, 2, 3, 4.5} {
		s.motion.accelMS2 = a
		if l := s.run(epochs); l > most {
			best, most = a, l
		}
	}
	s.motion.accelMS2 = best
}

// chooseWander takes the slow error under which the longest piece is likeliest: it shows in positions that drift against the
// receiver's speed, and while the rider stands still. Where neither is there to tell, WanderM stays as it is.
func (s *smoother) chooseWander() {
	piece := s.longest(10_000)
	if piece[1]-piece[0] < leastFixes {
		return
	}
	var epochs []epoch
	for i := piece[0]; i < piece[1]; i++ {
		epochs = append(epochs, epoch{timeS: s.spots[i].t, fix: i})
	}
	setAll := func(pass int, found []estimate) {
		var still []bool
		if pass > 0 {
			still = s.standing(epochs, found)
		}
		for k := range epochs {
			s.set(&epochs[k], pass, found, still, k)
		}
	}
	setAll(0, nil)
	s.run(epochs)
	setAll(1, s.motion.backward(epochs))
	const enough = 2 // in log likelihood, to believe the track more than the common value
	best, most := s.motion.wanderM, s.run(epochs)+enough
	for _, w := range []float64{0.05, 0.15, 0.3, 0.5, 0.75, 1, 1.5, 3, 4.5, 7} {
		s.motion.wanderM = w
		if l := s.run(epochs); l > most {
			best, most = w, l
		}
	}
	s.motion.wanderM = best
}
