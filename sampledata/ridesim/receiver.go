package ridesim

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"stanchion/ingest"
)

// A Receiver is a satellite receiver on the bike and its recorder. Its errors are those of the position, in the tangent plane of the trail:
// white noise, new with each fix, and a first-order Gauss–Markov wander, whose autocorrelation is exp(−t/τ). Both are given as the root mean
// square of the horizontal distance, so that each axis has 1/√2 of it.
type Receiver struct {
	Seed   uint64
	RateHz float64 // of the fixes, 0.1 to 100

	NoiseM       float64 // horizontal RMS of the white noise
	WanderM      float64 // horizontal RMS of the wander
	WanderS      float64 // its correlation time τ; must be over 0 where it wanders
	EleNoiseM    float64 // RMS of the elevation's white noise
	EleWanderM   float64 // RMS of its wander, with the same τ
	SpeedNoiseMS float64 // RMS of the white noise of the speed, which is measured apart from the position
	NoSpeed      bool    // the recorder does not write speed
	NoEle        bool    // nor elevation

	LatencyS float64 // a fix shows where the rider was this long before its stamp
	Dropouts int     // times that reception is lost, spread over the track
	DropoutS float64 // for how long each

	Start time.Time // what the receiver's clock shows at the first fix; zero = 2024-05-18 09:30:00 UTC
	// ClockOffsetS is the sensor's time at the first fix: sensor time = ingest.Fix.TimeS + ClockOffsetS. It is under 0 where the receiver began
	// first; the rider then stands at the start.
	ClockOffsetS float64
	TailS        float64 // the receiver runs on for this long after the sensor's last sample, the rider standing
}

// OpenGround is a sound receiver under an open sky: 3 m of horizontal error (root mean square of the distance, so that 95 % lie within about 5 m,
// which is what hand-held receivers are said to reach under an open sky; from memory, no source at hand). Nearly all of it wanders slowly, since
// the air, the satellites' orbits and reflections change over a minute or so and the receiver filters what is faster: 0.5 m is white,
// √8.75 = 2.96 m wanders with τ = 60 s. The vertical is 1.6 times worse. Speed comes from the Doppler shift and is far better than the
// positions' differences, 0.1 m/s. Split and τ are common practice, no source.
//
// Such a wander moves a gate's crossing along the trail by 2.1 m RMS. At 6 m/s that is 0.35 s, which nothing in a single track can mend.
func OpenGround(rateHz float64) Receiver {
	white, wander := 0.5, math.Sqrt(8.75)
	return Receiver{
		RateHz: rateHz, NoiseM: white, WanderM: wander, WanderS: 60,
		EleNoiseM: 1.6 * white, EleWanderM: 1.6 * wander, SpeedNoiseMS: 0.1,
	}
}

// FineReceiver is one that corrects itself by a reference station nearby or by several frequencies: 0.5 m of horizontal error, split as in
// OpenGround. Common practice, no source.
func FineReceiver(rateHz float64) Receiver {
	r := OpenGround(rateHz)
	for _, v := range []*float64{&r.NoiseM, &r.WanderM, &r.EleNoiseM, &r.EleWanderM} {
		*v /= 6
	}
	r.SpeedNoiseMS = 0.05
	return r
}

// CleanReceiver has no errors but the rounding of what it writes.
func CleanReceiver(rateHz float64) Receiver { return Receiver{RateHz: rateHz} }

// What a recorder writes: degrees to 1e-7 (11 mm), speed and elevation to a hundredth, times to the ms.
const (
	degreeSteps = 1e7
	valueSteps  = 100
	timeSteps   = 1000
)

// OffsetS is what turns receiver time into sensor time as the positions show it: sensor time = TimeS + OffsetS. Latency counts in.
func (r Receiver) OffsetS() float64 { return r.ClockOffsetS - r.LatencyS }

func (r Receiver) start() time.Time {
	if r.Start.IsZero() {
		return time.Date(2024, 5, 18, 9, 30, 0, 0, time.UTC)
	}
	return r.Start.UTC()
}

// Validate reports the first thing that is wrong with the receiver.
func (r Receiver) Validate() error {
	switch {
	case !(r.RateHz >= 0.1 && r.RateHz <= 100):
		return fmt.Errorf("receiver: rate is %g Hz: must be 0.1 to 100", r.RateHz)
	case (r.WanderM > 0 || r.EleWanderM > 0) && !(r.WanderS > 0):
		return fmt.Errorf("receiver: it wanders with a correlation time of %g s: set WanderS over 0", r.WanderS)
	case min(r.NoiseM, r.WanderM, r.EleNoiseM, r.EleWanderM, r.SpeedNoiseMS, r.DropoutS, r.TailS) < 0 || r.Dropouts < 0:
		return fmt.Errorf("receiver: a noise, drop-out or tail is under 0")
	case !(math.Abs(r.ClockOffsetS) <= maxRideS && math.Abs(r.LatencyS) <= 60 && r.TailS <= maxRideS):
		return fmt.Errorf("receiver: offset %g s, latency %g s, tail %g s: at most %d, 60 and %d s", r.ClockOffsetS, r.LatencyS, r.TailS, maxRideS, maxRideS)
	}
	return nil
}

// Track is what the recorder wrote of a ride.
func (r Receiver) Track(p Passage, source string) (*ingest.Track, error) {
	if err := r.Validate(); err != nil {
		return nil, err
	}
	last := float64(len(p.Truth.DistanceM)-1)/p.Truth.RateHz + r.TailS
	n := int(math.Floor((last-r.ClockOffsetS)*r.RateHz+1e-6)) + 1
	if n < 1 {
		return nil, fmt.Errorf("receiver: it begins at %g s, after the ride has ended", r.ClockOffsetS)
	}
	white := rand.New(rand.NewPCG(r.Seed, 0x66697865))
	lost := r.lost(n)
	east, north, up := r.wander(0x65617374, r.WanderM/math.Sqrt2), r.wander(0x6e6f7274, r.WanderM/math.Sqrt2), r.wander(0x7570, r.EleWanderM)
	t := &ingest.Track{Source: source, Start: r.start()}
	piece, away := 0, false
	for k := range n {
		// Every fix draws its noise, lost or not, so that drop-outs change nothing else.
		e := east.next() + r.NoiseM/math.Sqrt2*white.NormFloat64()
		no := north.next() + r.NoiseM/math.Sqrt2*white.NormFloat64()
		ele := up.next() + r.EleNoiseM*white.NormFloat64()
		speed := r.SpeedNoiseMS * white.NormFloat64()
		if lost[k] {
			away = len(t.Fixes) > 0
			continue
		}
		if away {
			piece, away = piece+1, false
		}
		at := float64(k) / r.RateHz
		f := r.fix(p, at+r.OffsetS(), e, no, ele, speed)
		f.TimeS, f.Piece = steps(at, timeSteps), piece
		t.Fixes = append(t.Fixes, f)
	}
	t.Rows = ingest.RowCount{Data: len(t.Fixes)}
	return t, nil
}

// fix is the ride at sensor time s, with errors, as it is written.
func (r Receiver) fix(p Passage, s, east, north, ele, speed float64) ingest.Fix {
	station := p.StationM(s)
	e, n := p.Trail.Plan(station, p.Line.rightM(station))
	at := p.Trail.plane.place(e+east, n+north, p.Trail.EleM(station)+ele)
	f := ingest.Fix{
		LatDeg: steps(at.LatDeg, degreeSteps), LonDeg: wrapLon(steps(at.LonDeg, degreeSteps)),
		EleM: steps(at.EleM, valueSteps), SpeedMS: steps(math.Abs(p.SpeedMS(s)+speed), valueSteps),
	}
	if r.NoEle {
		f.EleM = math.NaN()
	}
	if r.NoSpeed {
		f.SpeedMS = math.NaN()
	}
	return f
}

func steps(v, perUnit float64) float64 { return math.Round(v*perUnit) / perUnit }

// lost marks the fixes of the drop-outs, spread evenly with a random shift; the first and the last fix stay.
func (r Receiver) lost(n int) []bool {
	out := make([]bool, n)
	rng := rand.New(rand.NewPCG(r.Seed, 0x6c6f7374))
	length := int(math.Round(r.DropoutS * r.RateHz))
	for k := range r.Dropouts {
		from := int((float64(k) + 0.2 + 0.6*rng.Float64()) / float64(r.Dropouts) * float64(n))
		for i := max(1, from); i < min(from+length, n-1); i++ {
			out[i] = true
		}
	}
	return out
}

// markov is a first-order Gauss–Markov process sampled at even steps: x ← φ·x + σ·√(1−φ²)·w with φ = exp(−Δt/τ) and w white of variance 1. It
// begins in its stationary state, so that its variance is σ² from the first value on.
type markov struct {
	rng         *rand.Rand
	x, keep, in float64
}

func (r Receiver) wander(stream uint64, sigma float64) *markov {
	m := &markov{rng: rand.New(rand.NewPCG(r.Seed, stream))}
	if sigma > 0 {
		m.keep = math.Exp(-1 / (r.RateHz * r.WanderS))
		m.in = sigma * math.Sqrt(1-m.keep*m.keep)
		m.x = sigma * m.rng.NormFloat64()
	}
	return m
}

// next returns the present value and steps on.
func (m *markov) next() float64 {
	x := m.x
	m.x = m.keep*x + m.in*m.rng.NormFloat64()
	return x
}

// Reception is what is true of a receiver's track, for the summary.
type Reception struct {
	OffsetS float64 `json:"offset_s"` // sensor time = receiver time (s from its first fix) + OffsetS
	RateHz  float64 `json:"rate_hz"`
	ErrorM  float64 `json:"error_m"` // horizontal, root mean square
}

// Reception is the truth about the receiver.
func (r Receiver) Reception() *Reception {
	return &Reception{OffsetS: r.OffsetS(), RateHz: r.RateHz, ErrorM: steps(math.Hypot(r.NoiseM, r.WanderM), 1e4)}
}
