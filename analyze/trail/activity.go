package trail

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"stanchion/analyze"
	"stanchion/ingest"
)

const (
	fineS       = 0.05  // cell of the fine search
	meanS       = 0.5   // dive and braking are means over this on either side
	slowS       = 5.0   // what is slower than this on either side is taken out of the dive
	activeMMS   = 20.0  // fork speeds under this count as standing
	rollingMS   = 0.5   // and riding speeds under this
	forkLagS    = 0.085 // the fork's dive lags the braking: see forkLagSigmaS
	leastFit    = 0.52  // worse fits are none
	leastMatch  = 0.45  // nor are those where dive and braking do not match
	leastMargin = 0.12  // nor are those that another place comes this near to, as a share
	placesS     = 4.0   // matches this far apart are of different places
	overlap     = 0.8   // of the shorter of log and track must be covered
	coarseWork  = 2e8   // pairs of cells that the coarse search may look at
	residualS   = 2.0   // correlation time of what the model does not explain
	// The dive of simulated forks lags the braking by 0.04 to 0.1 s where they are sound, and by up to 0.19 s with much friction or a very slow
	// rebound. That friction and damping cannot be told from the log well enough to correct for them, so they are part of the uncertainty.
	forkLagSigmaS = 0.045
	brakingHz     = 0.25 // where most of the power of braking lies; common practice, no source
)

// A match is one place where the fork fits the receiver.
type match struct {
	offsetS    float64
	match      float64 // correlation of dive and braking, −1 to 1
	rolling    float64 // correlation of the fork's and the bike's speed there
	sigmaS     float64
	confidence float64
	n          int  // cells compared
	noSpeed    bool // the receiver did not measure speed
}

// fit is how well the two comparisons agree together, −1 to 1.
func (m match) fit() float64 { return (m.match + m.rolling) / 2 }

func (m match) offset() Offset {
	o := Offset{
		Method: MethodActivity, OffsetS: analyze.Value(m.offsetS, m.n), SigmaS: analyze.Value(m.sigmaS, m.n), Confidence: m.confidence,
		Notes: []string{fmt.Sprintf("the fork's dive fits the receiver's braking with a correlation of %.2f, its speed the bike's speed with %.2f", m.match, m.rolling)},
	}
	if m.noSpeed {
		o.Notes = append(o.Notes, "the track holds positions without the receiver's speed: a recorder that writes speed ties the clocks better")
	}
	return o
}

// A search looks for the offset at which the fork moves as the receiver says the bike does. Two things are compared: the mean travel, which dives
// while the bike brakes, and how fast the fork moves, which is nothing at a stand and grows with the bike's speed. The first is sharp in time, the
// second tells places apart. Cells are fineS long, on the clock of each.
type search struct {
	path                 *Path
	hasSpeed             bool // the receiver measured speed
	sensorFrom, sensorTo float64
	dive, activity       series // of the fork
	brake, speed         series // of the bike
}

// A series is values on a grid, NaN where there are none.
type series struct {
	fromS float64 // middle of the first cell
	stepS float64
	v     []float64
}

func newSearch(trace *ingest.Trace, path *Path) *search {
	s := &search{path: path, hasSpeed: path != nil && path.HasSpeed}
	s.fork(trace)
	if path != nil && len(path.TimeS) > 1 {
		s.bike(path)
	}
	return s
}

// fork makes the series of the fork.
func (s *search) fork(trace *ingest.Trace) {
	if len(trace.Segments) == 0 || !(trace.RateHz > 0) {
		return
	}
	first, last := &trace.Segments[0], &trace.Segments[len(trace.Segments)-1]
	s.sensorFrom, s.sensorTo = first.StartS, last.StartS+float64(len(last.TravelMM))/trace.RateHz
	n := int((s.sensorTo - s.sensorFrom) / fineS)
	travel, active := newSeries(s.sensorFrom+fineS/2, fineS, n), newSeries(s.sensorFrom+fineS/2, fineS, n)
	lag := max(1, int(math.Round(trace.RateHz*0.01)))
	for k := range trace.Segments {
		seg := &trace.Segments[k]
		x := seg.TravelMM
		for c := max(0, int(math.Ceil((seg.StartS-s.sensorFrom)/fineS-1e-6))); c < n; c++ {
			from := s.sensorFrom + float64(c)*fineS - seg.StartS
			lo, hi := int(math.Ceil(from*trace.RateHz-1e-6)), int(math.Ceil((from+fineS)*trace.RateHz-1e-6))
			if hi > len(x) {
				break
			}
			if lo < 0 || lo == hi {
				continue
			}
			sum, squares := 0.0, 0.0
			for i := lo; i < hi; i++ {
				sum += x[i]
				d := (x[i] - x[max(0, i-lag)]) * trace.RateHz / float64(lag)
				squares += d * d
			}
			m := float64(hi - lo)
			travel.v[c], active.v[c] = sum/m, math.Log(math.Sqrt(squares/m)+activeMMS)
		}
	}
	dive := travel.mean(meanS)
	dive.subtract(dive.mean(slowS))
	s.dive, s.activity = dive, active.mean(meanS)
}

// bike makes the series of the receiver: braking is the loss of speed over 2·meanS, which is the mean deceleration of that time.
func (s *search) bike(p *Path) {
	from, to := p.TimeS[0], p.TimeS[len(p.TimeS)-1]
	n := min(int((to-from)/fineS), maxEpochs*10)
	speed := newSeries(from+fineS/2, fineS, n)
	j := 0
	for c := range speed.v {
		t := speed.fromS + float64(c)*fineS
		for j+2 < len(p.TimeS) && p.TimeS[j+1] < t {
			j++
		}
		if p.Piece[j] == p.Piece[j+1] {
			f := (t - p.TimeS[j]) / (p.TimeS[j+1] - p.TimeS[j])
			speed.v[c] = p.SpeedMS[j] + f*(p.SpeedMS[j+1]-p.SpeedMS[j])
		}
	}
	h := int(math.Round(meanS / fineS))
	brake := newSeries(speed.fromS, fineS, n)
	for c := h; c+h < n; c++ {
		brake.v[c] = max(0, (speed.v[c-h]-speed.v[c+h])/(2*meanS))
		if math.IsNaN(speed.v[c-h]) || math.IsNaN(speed.v[c+h]) {
			brake.v[c] = math.NaN()
		}
	}
	brake.subtract(brake.mean(slowS))
	s.brake = brake
	for c, v := range speed.v {
		speed.v[c] = math.Log(v + rollingMS)
	}
	s.speed = speed.mean(meanS)
}

func newSeries(fromS, stepS float64, n int) series {
	s := series{fromS: fromS, stepS: stepS, v: make([]float64, max(0, n))}
	for i := range s.v {
		s.v[i] = math.NaN()
	}
	return s
}

// mean is the mean over halfS on either side, of the cells that have a value; NaN where the cell itself has none.
func (s series) mean(halfS float64) series {
	h := int(math.Round(halfS / s.stepS))
	out := newSeries(s.fromS, s.stepS, len(s.v))
	sums, counts := make([]float64, len(s.v)+1), make([]int, len(s.v)+1)
	for i, v := range s.v {
		sums[i+1], counts[i+1] = sums[i], counts[i]
		if !math.IsNaN(v) {
			sums[i+1], counts[i+1] = sums[i]+v, counts[i]+1
		}
	}
	for i, v := range s.v {
		lo, hi := max(0, i-h), min(len(s.v), i+h+1)
		if n := counts[hi] - counts[lo]; n > 0 && !math.IsNaN(v) {
			out.v[i] = (sums[hi] - sums[lo]) / float64(n)
		}
	}
	return out
}

func (s series) subtract(o series) {
	for i := range s.v {
		s.v[i] -= o.v[i]
	}
}

// every keeps one value in k, the mean of each k.
func (s series) every(k int) series {
	out := newSeries(s.fromS+float64(k-1)/2*s.stepS, s.stepS*float64(k), len(s.v)/k)
	for i := range out.v {
		sum, n := 0.0, 0.0
		for _, v := range s.v[i*k : i*k+k] {
			if !math.IsNaN(v) {
				sum, n = sum+v, n+1
			}
		}
		if n > 0 {
			out.v[i] = sum / n
		}
	}
	return out
}

// correlation is Pearson's, of a at t + offset and b at t, over the cells where both have a value. The offset is rounded to cells.
func correlation(a, b series, offsetS float64) (r float64, n int) {
	shift := int(math.Round((b.fromS + offsetS - a.fromS) / a.stepS)) // cell of a for the first of b
	var sa, sb, saa, sbb, sab float64
	for i := max(0, -shift); i < len(b.v) && i+shift < len(a.v); i++ {
		x, y := a.v[i+shift], b.v[i]
		if x != x || y != y { // NaN
			continue
		}
		n++
		sa, sb, saa, sbb, sab = sa+x, sb+y, saa+x*x, sbb+y*y, sab+x*y
	}
	if n < 2 {
		return 0, n
	}
	m := float64(n)
	va, vb := saa-sa*sa/m, sbb-sb*sb/m
	if !(va > 1e-9*saa) || !(vb > 1e-9*sbb) {
		return 0, n
	}
	return (sab - sa*sb/m) / math.Sqrt(va*vb), n
}

// anywhere is the best match of all; why says why there is none.
func (s *search) anywhere() (m match, why string) {
	if why := s.unfit(); why != "" {
		return m, why
	}
	b0, b1 := s.path.TimeS[0], s.path.TimeS[len(s.path.TimeS)-1]
	return s.within(s.sensorFrom-b1, s.sensorTo-b0)
}

// unfit says why nothing can be compared at all.
func (s *search) unfit() string {
	switch {
	case len(s.dive.v) == 0:
		return "the log is too short"
	case len(s.brake.v) == 0:
		return "the track is too short"
	}
	top := math.Inf(-1)
	for _, v := range s.speed.v {
		if v > top {
			top = v
		}
	}
	if top < math.Log(1.5+rollingMS) {
		return "nothing is ridden in the track"
	}
	return ""
}

// within is the best match at offsets from lo to hi.
func (s *search) within(lo, hi float64) (m match, why string) {
	if why := s.unfit(); why != "" {
		return m, why
	}
	need := overlap * min(s.sensorTo-s.sensorFrom, float64(len(s.brake.v))*fineS)
	if need < sharedLeastS {
		return m, "log and track are too short to compare them"
	}
	var best []match
	for _, c := range s.coarse(lo, hi, need) {
		if f, ok := s.fine(c, need); ok {
			best = append(best, f)
		}
	}
	byFit := func(a, b match) int { return cmp.Compare(b.fit(), a.fit()) }
	slices.SortStableFunc(best, byFit)
	if len(best) == 0 {
		return m, "log and track do not cover the same time"
	}
	m = best[0]
	second := 0.0
	for _, o := range best[1:] {
		if math.Abs(o.offsetS-m.offsetS) > placesS {
			second = max(second, o.fit())
			break
		}
	}
	m.confidence = max(0, min(1, (m.fit()-second)/max(m.fit(), 1e-9)))
	switch {
	case m.fit() < leastFit || m.match < leastMatch:
		return m, fmt.Sprintf("the fork's activity fits nowhere on the track (best correlations %.2f and %.2f): is it the track of another ride?", m.match, m.rolling)
	case m.confidence < leastMargin:
		return m, fmt.Sprintf("the fork's activity fits the track in more than one place (correlations %.2f and %.2f)", m.fit(), second)
	}
	return m, ""
}

// coarse lists the offsets where both comparisons together are best, the best first, none within placesS of a better one.
func (s *search) coarse(lo, hi, needS float64) []float64 {
	k := 5
	for float64(len(s.dive.v)/k)*(hi-lo)/(fineS*float64(k)) > coarseWork {
		k *= 2
	}
	dive, activity, brake, speed := s.dive.every(k), s.activity.every(k), s.brake.every(k), s.speed.every(k)
	step := dive.stepS
	var found []match
	for i := 0; lo+float64(i)*step <= hi+step/2; i++ {
		at := lo + float64(i)*step
		r, n := correlation(dive, brake, at)
		if float64(n)*step < needS {
			continue
		}
		a, _ := correlation(activity, speed, at)
		found = append(found, match{offsetS: at, match: r, rolling: a})
	}
	slices.SortStableFunc(found, func(a, b match) int { return cmp.Compare(b.fit(), a.fit()) })
	var out []float64
	for _, f := range found {
		if !slices.ContainsFunc(out, func(o float64) bool { return math.Abs(o-f.offsetS) <= placesS }) {
			if out = append(out, f.offsetS); len(out) == 5 {
				break
			}
		}
	}
	return out
}

// fine finds the best match of dive and braking within 1.5 s of an offset; between cells by the parabola through the best three.
func (s *search) fine(near, needS float64) (m match, ok bool) {
	const reachS = 1.5
	m.match, m.noSpeed = math.Inf(-1), !s.hasSpeed
	steps := int(reachS / fineS)
	at := func(k int) float64 { return near + float64(k)*fineS }
	best := 0
	for k := -steps; k <= steps; k++ {
		if r, n := correlation(s.dive, s.brake, at(k)); r > m.match && float64(n)*fineS >= needS*0.95 {
			m.match, m.n, best = r, n, k
		}
	}
	if math.IsInf(m.match, -1) {
		return m, false
	}
	before, _ := correlation(s.dive, s.brake, at(best-1))
	after, _ := correlation(s.dive, s.brake, at(best+1))
	curve := 2*m.match - before - after
	shift := 0.0
	if curve > 0 {
		shift = max(-0.5, min(0.5, (after-before)/(2*curve)))
	}
	// The grids of log and track do not meet: correlation rounds to cells, so take the offset that it really used.
	cells := math.Round((s.brake.fromS + at(best) - s.dive.fromS) / fineS)
	m.offsetS = s.dive.fromS + (cells+shift)*fineS - s.brake.fromS - forkLagS
	m.sigmaS = s.sigma(m, curve)
	m.rolling, _ = correlation(s.activity, s.speed, at(best))
	return m, true
}

// sigma is the standard uncertainty of the best offset: that of a shift in a regression of correlation r, where the curvature of
// the match at its top is curve per cell² and cells are independent every residualS.
func (s *search) sigma(m match, curve float64) float64 {
	r := max(m.match, 0.05)
	independent := max(1, float64(m.n)*fineS/residualS)
	perS2 := max(curve, 1e-6) / (fineS * fineS) / r
	sigma := math.Sqrt((1 - r*r) / (r * r * perS2 * independent))
	if !s.hasSpeed {
		sigma = math.Hypot(sigma, s.receiverSigma())
	}
	return math.Hypot(sigma, forkLagSigmaS)
}

// receiverSigma is how well the positions alone can tell when the bike brakes. A shift δ changes the speed by the deceleration times δ, so that in white noise of
// the speed with power q its standard deviation is √(q/∫b²dt), the Cramér–Rao bound of a delay. A wander of standard deviation σ and correlation time τ is
// within seconds a random walk, q = 2σ²/τ; white noise σ of positions at the rate f adds (σ²/f)·ω² at the frequency ω of braking.
func (s *search) receiverSigma() float64 {
	energy := 0.0
	for _, b := range s.brake.v {
		if b > 0 {
			energy += b * b * s.brake.stepS
		}
	}
	omega := 2 * math.Pi * brakingHz
	q := 2*s.path.WanderM*s.path.WanderM/wanderS + s.path.NoiseM*s.path.NoiseM/s.path.RateHz*omega*omega
	return math.Sqrt(q / max(energy, 1e-3))
}
