package trail

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"stanchion/ingest"
)

// SmoothOptions steer Smooth.
type SmoothOptions struct {
	MaxSpeedMS float64 // faster between two fixes is no ride: one of them is an outlier
	MaxGapS    float64 // without a fix for longer, the path is cut as where reception was lost
	StepS      float64 // points are put between the fixes so that none is further than this from the next
	AccelS     float64 // correlation time of the rider's acceleration
	// WanderM and WanderS are the slow error of one coordinate, standard deviation and correlation time, where the track itself
	// cannot tell (it can where the receiver measured speed). Common practice, no source.
	WanderM float64
	WanderS float64
	StillMS float64 // speed under which a rider may be standing still
	StillS  float64 // for at least this long
}

// DefaultSmoothOptions returns the defaults.
func DefaultSmoothOptions() SmoothOptions {
	return SmoothOptions{MaxSpeedMS: 50, MaxGapS: 10, StepS: 0.1, AccelS: 1, WanderM: 2, WanderS: wanderS, StillMS: 0.6, StillS: 1.5}
}

const (
	maxEpochs  = 300_000
	wanderS    = 60.0
	leastFixes = 4 // in a piece
)

// Smooth turns a track into a path on the plane around its first fix: outliers dropped, each piece smoothed over time in both directions (so that nothing
// lags), with points between the fixes where these are more than StepS apart. Where the receiver measured its speed, that is used too.
//
// The noise of the positions comes from their third differences (20 times the variance of white noise); how briskly the rider moves and how
// large the receiver's slow error is are what makes the track likeliest. While standing still nothing is added to AlongM.
func Smooth(track *ingest.Track, opt SmoothOptions) (*Path, error) {
	if track == nil || len(track.Fixes) == 0 {
		return nil, errors.New("the track has no points")
	}
	s := &smoother{opt: opt, frame: Frame{track.Fixes[0].LatDeg, track.Fixes[0].LonDeg}}
	if err := s.take(track); err != nil {
		return nil, err
	}
	s.measure()
	path := &Path{Frame: s.frame, RateHz: s.rateHz, NoiseM: s.noiseM, WanderM: s.motion.wanderM, WanderS: s.motion.wanderS,
		HasSpeed: !math.IsNaN(s.speedMS), SpeedSigmaMS: s.speedMS, Outliers: s.outliers, Notes: s.notes}
	for _, p := range s.pieces {
		s.smoothPiece(path, p)
	}
	if len(path.TimeS) == 0 {
		return nil, ingest.Hinted{Err: fmt.Errorf("no piece of the track has %d points in a row to make a path of", leastFixes), Hint: "is reception that poor, or is this the wrong track?"}
	}
	return path, nil
}

// A spot is a fix on the plane.
type spot struct {
	t, e, n, ele, speed float64
	piece               int
}

// A smoother holds a track on its way to a path.
type smoother struct {
	opt      SmoothOptions
	frame    Frame
	spots    []spot
	pieces   [][2]int // ranges of spots
	rateHz   float64
	noiseM   float64 // of one coordinate
	speedMS  float64 // noise of the speed, NaN where there is none to use
	motion   motion
	outliers int
	notes    []string
}

// take brings the fixes that have a time onto the plane, without those that no rider could reach, and cuts them into pieces.
func (s *smoother) take(track *ingest.Track) error {
	timed := 0
	for _, f := range track.Fixes {
		if math.IsNaN(f.TimeS) {
			continue
		}
		timed++
		e, n := s.frame.ToPlane(f.LatDeg, f.LonDeg)
		s.spots = append(s.spots, spot{f.TimeS, e, n, f.EleM, f.SpeedMS, f.Piece})
	}
	switch {
	case timed == 0:
		return ingest.Hinted{Err: errors.New("the points of the track have no times"), Hint: "export the activity again with times: without them nothing can be timed"}
	case timed < leastFixes:
		return ingest.Hinted{Err: fmt.Errorf("the track has %d points with a time: at least %d are needed", timed, leastFixes), Hint: "is this the right track?"}
	}
	s.dropTeleports()
	s.cut()
	steps := make([]float64, 0, len(s.spots))
	for _, p := range s.pieces {
		for i := p[0] + 1; i < p[1]; i++ {
			steps = append(steps, s.spots[i].t-s.spots[i-1].t)
		}
	}
	if len(steps) == 0 {
		return ingest.Hinted{Err: fmt.Errorf("the points of the track are over %g s apart", s.opt.MaxGapS), Hint: "set the recorder to write a point every second, or faster"}
	}
	slices.Sort(steps)
	s.rateHz = math.Round(1e6/steps[len(steps)/2]) / 1e6 // without the rounding of times
	return nil
}

// dropTeleports drops the fixes that the rider would have had to reach, and to leave, faster than MaxSpeedMS. Where a jump is not undone by
// any of the next few fixes, it is the new place that holds, and the path is cut there.
func (s *smoother) dropTeleports() {
	const ahead = 10
	reach := func(a, b *spot) bool {
		return math.Hypot(b.e-a.e, b.n-a.n) <= s.opt.MaxSpeedMS*(b.t-a.t)+15 // m of noise
	}
	kept := s.spots[:0:0]
	jumps := 0
	for i := 0; i < len(s.spots); i++ {
		here := s.spots[i]
		if len(kept) > 0 && !reach(&kept[len(kept)-1], &here) {
			back := -1
			for j := i + 1; j < min(i+1+ahead, len(s.spots)); j++ {
				if reach(&kept[len(kept)-1], &s.spots[j]) {
					back = j
					break
				}
			}
			switch {
			case back > 0 || i == len(s.spots)-1:
				s.outliers++
				continue
			case len(kept) == 1: // the first fix was wrong
				s.outliers++
				kept = kept[:0]
			default:
				jumps++
			}
		}
		here.piece += jumps
		kept = append(kept, here)
	}
	s.spots = kept
}

// cut lists the pieces: where the recorder began a new one and where nothing was received for long.
func (s *smoother) cut() {
	lo := 0
	for i := 1; i <= len(s.spots); i++ {
		if i < len(s.spots) && s.spots[i].piece == s.spots[i-1].piece && s.spots[i].t-s.spots[i-1].t <= s.opt.MaxGapS {
			continue
		}
		s.pieces = append(s.pieces, [2]int{lo, i})
		lo = i
	}
}

// smoothPiece smooths the spots of one piece and adds them to the path.
func (s *smoother) smoothPiece(path *Path, piece [2]int) {
	if piece[1]-piece[0] < leastFixes {
		return
	}
	epochs := s.epochs(piece)
	found := s.passes(epochs)
	still := s.standing(epochs, found)
	number := 0
	if k := len(path.Piece); k > 0 {
		number = path.Piece[k-1] + 1
	}
	ele := s.elevation(piece, epochs)
	along := 0.0
	if k := len(path.AlongM); k > 0 {
		along = path.AlongM[k-1]
	}
	dirE, dirN := heading(found)
	unseen := s.unseenSpeeds(epochs, found, still)
	for k, f := range found {
		speed := math.Hypot(f.x[stVel], f.x[axisN+stVel])
		if still[k] {
			speed = 0
		} else {
			dirE, dirN = f.x[stVel]/speed, f.x[axisN+stVel]/speed
			speed = max(speed+unseen[k], speed/2)
		}
		if k > 0 {
			along += (speed + path.SpeedMS[len(path.SpeedMS)-1]) / 2 * (epochs[k].timeS - epochs[k-1].timeS)
		}
		path.TimeS = append(path.TimeS, epochs[k].timeS)
		path.EastM = append(path.EastM, f.x[stPos])
		path.NorthM = append(path.NorthM, f.x[axisN+stPos])
		path.EleM = append(path.EleM, ele[k])
		path.SpeedMS = append(path.SpeedMS, speed)
		path.AlongM = append(path.AlongM, along)
		path.SigmaM = append(path.SigmaM, math.Sqrt(max(0, dirE*dirE*f.posVar[0]+dirN*dirN*f.posVar[1]+2*dirE*dirN*f.posVar[2])))
		path.Piece = append(path.Piece, number)
		switch fix := epochs[k].fix; {
		case fix < 0:
		case !epochs[k].trust:
			path.Outliers++
		default:
			at := &s.spots[fix]
			raw := PathFix{At: len(path.TimeS) - 1, EastM: at.e, NorthM: at.n, SpeedMS: at.speed}
			if !path.HasSpeed {
				raw.SpeedMS = math.NaN()
			}
			path.Fixes = append(path.Fixes, raw)
		}
	}
}

// unseenSpeed is how much faster than its mean estimate a rider goes on average: of the speed √(a² + b²), a along the direction estimated and b across, with a
// mean of 0, it is b²/2v.
func (f *estimate) unseenSpeed(speed float64) float64 {
	ve, vn := unit(f.x[stVel], f.x[axisN+stVel])
	cross := max(0, vn*vn*f.velVar[0]+ve*ve*f.velVar[1]-2*ve*vn*f.velVar[2])
	return min(cross/(2*max(speed, turnMS)), speed/2)
}

// heading is the direction of the first estimate that moves, north where none does.
func heading(found []estimate) (e, n float64) {
	for _, f := range found {
		if v := math.Hypot(f.x[stVel], f.x[axisN+stVel]); v > 1 {
			return f.x[stVel] / v, f.x[axisN+stVel] / v
		}
	}
	return 0, 1
}

// epochs are the moments of a piece: its fixes and points between them.
func (s *smoother) epochs(piece [2]int) []epoch {
	spots := s.spots[piece[0]:piece[1]]
	between := len(s.spots)+int((spots[len(spots)-1].t-spots[0].t)/s.opt.StepS) < maxEpochs
	var out []epoch
	for i := range spots {
		if i > 0 && between {
			dt := spots[i].t - spots[i-1].t
			n := int(math.Ceil(dt/s.opt.StepS - 0.01))
			for k := 1; k < n; k++ {
				out = append(out, epoch{timeS: spots[i-1].t + dt*float64(k)/float64(n), fix: -1})
			}
		}
		out = append(out, epoch{timeS: spots[i].t, fix: piece[0] + i})
	}
	return out
}

// passes smooths with positions alone first; with that, the direction of the receiver's speed and the spells of standing still are
// known, and with these twice again.
func (s *smoother) passes(epochs []epoch) []estimate {
	var found []estimate
	for pass := range 3 {
		var still []bool
		if pass > 0 {
			still = s.standing(epochs, found)
		}
		for k := range epochs {
			s.set(&epochs[k], pass, found, still, k)
		}
		s.run(epochs)
		found = s.motion.backward(epochs)
	}
	return found
}

// run is the forward pass from a first guess about the first fix.
func (s *smoother) run(epochs []epoch) float64 {
	var x vector
	var p matrix
	first := s.spots[epochs[0].fix]
	m := s.motion
	for o := 0; o < stateN; o += axisN {
		p[o+stPos][o+stPos], p[o+stVel][o+stVel] = 1e4, 225
		p[o+stAcc][o+stAcc], p[o+stWander][o+stWander] = m.accelMS2*m.accelMS2, m.wanderM*m.wanderM
	}
	x[stPos], x[axisN+stPos] = first.e, first.n
	return m.forward(epochs, x, p)
}

const (
	rimS    = 0.8  // s at either end of a spell of standing still that may be rolling
	standMS = 0.05 // how surely a rider who stands still stands still
	turnMS  = 0.7  // under this speed the direction of travel is not known well enough to lay a measured speed along it
)

// set puts down what was measured at an epoch.
func (s *smoother) set(e *epoch, pass int, found []estimate, still []bool, k int) {
	e.measured = e.measured[:0]
	velocity := func(east, north, sigma float64) {
		e.measured = append(e.measured, scalar{i1: stVel, c1: 1, z: east, r: sigma * sigma}, scalar{i1: axisN + stVel, c1: 1, z: north, r: sigma * sigma})
	}
	if e.fix < 0 {
		return
	}
	at := &s.spots[e.fix]
	r := s.noiseM * s.noiseM
	e.measured = append(e.measured,
		scalar{i1: stPos, i2: stWander, c1: 1, c2: 1, z: at.e, r: r},
		scalar{i1: axisN + stPos, i2: axisN + stWander, c1: 1, c2: 1, z: at.n, r: r})
	if pass == 0 {
		return
	}
	ve, vn := found[k].x[stVel], found[k].x[axisN+stVel]
	v := math.Hypot(ve, vn)
	measured := !math.IsNaN(s.speedMS) && !math.IsNaN(at.speed)
	switch {
	case still[k]:
		velocity(0, 0, standMS)
	case measured && (v < turnMS || at.speed < turnMS):
		velocity(0, 0, max(at.speed, 2*s.speedMS))
	case measured:
		less := found[k].unseenSpeed(at.speed) // without this the way comes out too long
		e.measured = append(e.measured, scalar{i1: stVel, i2: axisN + stVel, c1: ve / v, c2: vn / v, z: at.speed - less, r: s.speedMS*s.speedMS + 2*less*less})
	}
}

// standing marks the epochs at which the rider stands still: the speed is under StillMS for at least StillS. The receiver's own speed goes
// before what follows from positions, which cannot be told from standing still to better than their own uncertainty.
func (s *smoother) standing(epochs []epoch, found []estimate) []bool {
	slow := make([]bool, len(epochs))
	known := !math.IsNaN(s.speedMS)
	last := math.NaN()
	for k := range epochs {
		if epochs[k].fix >= 0 {
			last = s.spots[epochs[k].fix].speed
		}
		if known && !math.IsNaN(last) {
			slow[k] = last < max(4*s.speedMS, s.opt.StillMS/2)
			continue
		}
		f := &found[k]
		slow[k] = math.Hypot(f.x[stVel], f.x[axisN+stVel]) < max(s.opt.StillMS, 2.5*math.Sqrt(max(f.velVar[0], f.velVar[1], 0)))
	}
	for lo := 0; lo < len(slow); {
		hi := lo
		for hi < len(slow) && slow[hi] == slow[lo] {
			hi++
		}
		// From positions alone a slow roll looks like standing: the rim of a spell is left to the positions, so that neither
		// its begin nor its end is pulled towards it.
		rim := 0.0
		if !known {
			rim = rimS
		}
		from, to := epochs[lo].timeS, epochs[hi-1].timeS
		for k := lo; k < hi; k++ {
			t := epochs[k].timeS
			slow[k] = slow[k] && to-from >= s.opt.StillS && (lo == 0 || t >= from+rim) && (hi == len(slow) || t <= to-rim)
		}
		lo = hi
	}
	return slow
}

// elevation is that of the least-squares line through the elevations within 2 s on either side of each epoch.
func (s *smoother) elevation(piece [2]int, epochs []epoch) []float64 {
	const halfS = 2
	out := make([]float64, len(epochs))
	spots := s.spots[piece[0]:piece[1]]
	lo := 0
	for k := range epochs {
		t := epochs[k].timeS
		for spots[lo].t < t-halfS {
			lo++
		}
		// A line through them, not their mean, so that the ends of a slope keep their height.
		var n, st, sy, stt, sty float64
		for i := lo; i < len(spots) && spots[i].t <= t+halfS; i++ {
			if y := spots[i].ele; !math.IsNaN(y) {
				d := spots[i].t - t
				n, st, sy, stt, sty = n+1, st+d, sy+y, stt+d*d, sty+d*y
			}
		}
		switch det := n*stt - st*st; {
		case n == 0:
			out[k] = math.NaN()
		case n < 3 || det <= 0:
			out[k] = sy / n
		default:
			out[k] = (sy*stt - st*sty) / det
		}
	}
	return out
}
