package trail

import "math"

// A PositionError describes how far positions along the line err, and for how long they err alike. It is what the times stand or fall with.
//
// Smoothing states an uncertainty for every position (Placed.SigmaM). How runs lie across the line tells whether that is true: an error has no preferred
// direction, so what it does across the line it does along it. A rider's own line counts as error too, which makes the estimate too large rather
// than too small. Few runs tell little, so the stated uncertainty goes in as well, with the weight of a few independent observations.
//
// The error at two times t apart is alike with a correlation of (1 − quick)·exp(−t/τ): a slow part that wanders (a first-order Gauss–Markov process, the
// usual model of what the air, the satellites in view and reflections do) and a quick part that is new each time.
type PositionError struct {
	Scale  float64 `json:"scale"`   // of the stated uncertainty, 1 = as stated
	SigmaM float64 `json:"sigma_m"` // standard uncertainty along the line, scaled; root mean square over all runs
	Quick  float64 `json:"quick"`   // share of the variance that is new each time
	TauS   float64 `json:"tau_s"`
	FloorM float64 `json:"floor_m"` // least standard uncertainty, new at each gate, that is added
	// Observations is about how many independent ones the scale rests on, 0 = none: it is 1, and τ is assumed.
	Observations float64 `json:"observations"`

	lineSigmaM float64 // standard uncertainty of a coordinate of the line itself, common to all runs
}

// quickWithout is the quick share where it cannot be seen from several runs.
const quickWithout = 0.3

// positionError estimates it from runs on their line.
func positionError(l *Line, placed []*Placed, opt *TimingOptions) PositionError {
	w := runsError(l, placed, opt)
	// The uncertainty is itself known from few observations: Student's t instead of the normal distribution, by its expansion to 1/ν
	// (Abramowitz and Stegun, 26.7.5, from memory).
	z, nu := opt.Coverage, opt.StatedWeight+w.Observations
	w.lineSigmaM = w.SigmaM / math.Sqrt(float64(max(1, l.Runs))) * (1 + (z*z+1)/(4*nu))
	return w
}

func runsError(l *Line, placed []*Placed, opt *TimingOptions) PositionError {
	w := PositionError{Scale: 1, FloorM: opt.FloorM, Quick: quickWithout, TauS: opt.WanderS}
	var runs [][]float64
	stated, square, count, seconds := 0.0, 0.0, 0.0, 0.0
	for _, q := range placed {
		cross, s := q.crossEachSecond(l.LengthM())
		stated += s
		for _, c := range cross {
			if !math.IsNaN(c) {
				square += c * c
				count++
			}
		}
		if len(cross) >= 10 {
			runs = append(runs, cross)
			seconds += float64(len(cross))
		}
	}
	if count == 0 || stated == 0 {
		return w
	}
	w.SigmaM = math.Sqrt(stated / count)
	if len(runs) < 2 || l.Runs < 2 {
		return w
	}
	taken := float64(l.Runs) / float64(l.Runs-1) // the line is the runs' own mean
	square *= taken
	w.Quick, w.TauS = forgets(runs, square/count, taken)
	// Of an error that wanders, seconds/2τ values are independent; one run's worth went into the line.
	w.Observations = max(1, seconds/(2*w.TauS)/taken)
	w.Scale = math.Sqrt((opt.StatedWeight + w.Observations*square/stated) / (opt.StatedWeight + w.Observations))
	w.SigmaM *= w.Scale
	return w
}

// crossEachSecond is the distance off the line every second, NaN where it is not known, and the sum of the squares of the standard uncertainty of those
// that are.
func (q *Placed) crossEachSecond(lengthM float64) (cross []float64, squares float64) {
	i := 1
	stated := q.pathSigmaM
	if stated == nil { // not made by Place
		stated = q.SigmaM
	}
	for t := q.TimeS[0]; t <= q.TimeS[len(q.TimeS)-1]; t++ {
		for i+1 < len(q.TimeS) && q.TimeS[i] < t {
			i++
		}
		f := (t - q.TimeS[i-1]) / (q.TimeS[i] - q.TimeS[i-1])
		s := q.StationM[i-1] + f*(q.StationM[i]-q.StationM[i-1])
		if s < 0 || s > lengthM || q.off(q.TimeS[i-1], q.TimeS[i]) {
			if len(cross) > 0 {
				cross = append(cross, math.NaN())
			}
			continue
		}
		cross = append(cross, q.CrossM[i-1]+f*(q.CrossM[i]-q.CrossM[i-1]))
		squares += stated[i] * stated[i]
	}
	for len(cross) > 0 && math.IsNaN(cross[len(cross)-1]) {
		cross = cross[:len(cross)-1]
	}
	return cross, squares
}

// forgets finds the quick share and the time constant in s at which changes of the error over 1, 2, 4 … s are most like those found: the mean square of a
// change over t is 2σ²(1 − (1 − quick)·exp(−t/τ)).
func forgets(runs [][]float64, square, taken float64) (quick, tauS float64) {
	type change struct{ lag, share float64 }
	var changes []change
	for lag := 1; lag <= 256; lag *= 2 {
		sum, n := 0.0, 0
		for _, r := range runs {
			for i := lag; i < len(r); i++ {
				if d := r[i] - r[i-lag]; !math.IsNaN(d) {
					sum += d * d
					n++
				}
			}
		}
		if n > 2*lag {
			changes = append(changes, change{float64(lag), sum / float64(n) * taken / max(2*square, 1e-12)})
		}
	}
	least := math.Inf(1)
	for q := 0.0; q < 0.95; q += 0.1 {
		for tau := 1.0; tau <= 1000; tau *= 1.15 {
			miss := 0.0
			for _, c := range changes {
				d := c.share - (1 - (1-q)*math.Exp(-c.lag/tau))
				miss += d * d
			}
			if miss < least {
				quick, tauS, least = q, tau, miss
			}
		}
	}
	return quick, tauS
}
