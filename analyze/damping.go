package analyze

import (
	"math"
	"slices"

	"stanchion/analyze/signal"
)

// A Decay is one free decay.
type Decay struct {
	TimeS       float64 `json:"time_s"`
	AmplitudeMM float64 `json:"amplitude_mm"`
	Zeta        float64 `json:"zeta,omitempty"`
	NaturalHz   float64 `json:"natural_hz,omitempty"`
	R2          float64 `json:"r2,omitempty"`
	NoOvershoot bool    `json:"no_overshoot"` // then Zeta, NaturalHz and R2 mean nothing and are left out
}

// Damping is the damping ratio from free decays.
type Damping struct {
	Decays      []Decay `json:"decays"`
	Zeta        Figure  `json:"zeta"`     // median
	ZetaLow     Figure  `json:"zeta_low"` // bootstrap 95 % interval of the median
	ZetaHigh    Figure  `json:"zeta_high"`
	NaturalHz   Figure  `json:"natural_hz"`               // median
	NoOvershoot Figure  `json:"no_overshoot"`             // count of decays that never overshot
	Seed        uint64  `json:"bootstrap_seed,omitempty"` // of the interval; under 2^53, so that JSON keeps it
}

// damping finds the free decays and fits a damped sinusoid with offset to each. A decay that never overshot by
// OvershootMin of its amplitude is counted, not averaged: its damping ratio is over 1 or friction held it.
//
// A fork that extends within the decay (under ExtendedPct of travel) is in the air or meets its top-out: it does not move
// freely about an equilibrium, and leaving a take-off would pass for a decay without overshoot.
//
// The rule that a decay must die down to DecayEndShare leaves out slow ones: with an envelope e^(−2πζft) the ratio of
// the two RMS speeds is about e^(−2πζf·(DecayWindowS−DecayEndS)), so that at the defaults only ζ·f ≳ 0.6 Hz can be seen.
func (r *ride) damping(strokes []Stroke) Damping {
	if r.noVelocity != "" {
		none := Absent("%s", r.noVelocity)
		return Damping{Decays: []Decay{}, Zeta: none, ZetaLow: none, ZetaHigh: none, NaturalHz: none, NoOvershoot: none}
	}
	d := Damping{Decays: []Decay{}}
	for i, turns := range r.turnsBySegment(strokes) {
		d.Decays = append(d.Decays, r.decays(&r.segs[i], turns)...)
	}
	var zeta, hz []float64
	for _, c := range d.Decays {
		if !c.NoOvershoot {
			zeta, hz = append(zeta, c.Zeta), append(hz, c.NaturalHz)
		}
	}
	n, held := len(zeta), len(d.Decays)-len(zeta)
	d.NoOvershoot = Value(float64(held), len(d.Decays))
	if n == 0 {
		none := Absent("no free decay was found: a fork at rest after a hit, with ζ times the natural frequency over %.1f Hz", r.slowestDecay())
		if held > 0 {
			none = Absent("%s without overshoot, ζ ≥ 1 or held by friction, and no other", plural(held, "decay", "decays"))
		}
		d.Zeta, d.ZetaLow, d.ZetaHigh, d.NaturalHz = none, none, none, none
		return d
	}
	var caveats []string
	if n < r.opt.EventsFew {
		caveats = append(caveats, fewPrefix+plural(n, "free decay", "free decays"))
	}
	if held > n {
		caveats = append(caveats, "most decays never overshot and are not in the median: the fork is damped more than this says")
	}
	if n < r.opt.EventsMin {
		none := Absent("only %d of the %d free decays that it needs", n, r.opt.EventsMin)
		d.ZetaLow, d.ZetaHigh = none, none
	} else {
		d.Seed = r.bootstrapSeed()
		low, high := medianInterval(zeta, r.opt.BootstrapN, d.Seed)
		d.ZetaLow, d.ZetaHigh = Value(low, n, caveats...), Value(high, n, caveats...)
	}
	d.Zeta = Value(signal.Median(zeta), n, caveats...)
	d.NaturalHz = Value(signal.Median(hz), n, caveats...)
	return d
}

// slowestDecay is about the least ζ times natural frequency, Hz, that can pass the rule of the dying speed.
func (r *ride) slowestDecay() float64 {
	return -math.Log(r.opt.DecayEndShare) / (2 * math.Pi * (r.opt.DecayWindowS - r.opt.DecayEndS))
}

// A turn is a turning point at a sample of a segment.
type turn struct {
	at int
	mm float64
}

// turnsBySegment gives back the turning points that the strokes join.
func (r *ride) turnsBySegment(strokes []Stroke) [][]turn {
	turns := make([][]turn, len(r.segs))
	for _, st := range strokes {
		s := &r.segs[st.Segment]
		if len(turns[st.Segment]) == 0 {
			turns[st.Segment] = append(turns[st.Segment], turn{r.sampleAt(s, st.StartS), st.StartMM})
		}
		turns[st.Segment] = append(turns[st.Segment], turn{r.sampleAt(s, st.EndS), st.EndMM})
	}
	return turns
}

// decays are the decays of one segment. They do not overlap: after one, the search goes on behind its window.
func (r *ride) decays(s *segment, turns []turn) []Decay {
	var out []Decay
	free := 0
	for k, t := range turns {
		if t.at < free {
			continue
		}
		if d, ok := r.decayAt(s, turns[k:]); ok {
			out = append(out, d)
			free = t.at + r.count(r.opt.DecayWindowS)
		}
	}
	return out
}

// decayAt says whether a free decay starts at the first of turns, and measures it.
func (r *ride) decayAt(s *segment, turns []turn) (Decay, bool) {
	at := turns[0].at
	window, settle, end := r.count(r.opt.DecayWindowS), r.count(r.opt.DecayEquilibriumS), r.count(r.opt.DecayEndS)
	if at < 0 || at+max(window, settle) > len(s.x) || settle < 1 || end < 1 || end > window {
		return Decay{}, false
	}
	v, x := s.v[at:at+window], s.x[at:at+window]
	if !(signal.RMS(v[window-end:]) < r.opt.DecayEndShare*signal.RMS(v[:end])) {
		return Decay{}, false
	}
	if slices.Min(x) < r.pct(r.opt.ExtendedPct) {
		return Decay{}, false
	}
	rest := medianOf(s.x[at : at+settle])
	amplitude := x[0] - rest
	if math.Abs(amplitude) < r.pct(r.opt.DecayMinPct) || !shrinking(turns, rest, at+window) {
		return Decay{}, false
	}
	d := Decay{TimeS: r.time(s, float64(at)), AmplitudeMM: math.Abs(amplitude)}
	over, overAt := overshoot(x, rest)
	if over < r.opt.OvershootMin {
		d.NoOvershoot = true
		return d, true
	}
	fit, r2, ok := fitDecay(x, 1/r.fs, over, overAt, r.opt.DecayMinR2)
	if !ok || r2 < r.opt.DecayMinR2 {
		return Decay{}, false
	}
	// About the fitted offset: the median of a slow return lies above where it ends, and looks like an overshoot.
	if over, _ := overshoot(x, fit.c); over < r.opt.OvershootMin {
		d.NoOvershoot = true
		return d, true
	}
	d.Zeta, d.NaturalHz, d.R2 = fit.zeta(), fit.naturalHz(), r2
	return d, true
}

// fitDecay fits from the first overshoot: half a period after the start, and smaller by e^(−σ·half a period). Where
// that fits badly, it starts again with other periods and keeps the best.
func fitDecay(x []float64, dt, over float64, overAt int, enough float64) (best dampedSine, r2 float64, ok bool) {
	half := float64(max(overAt, 1)) * dt
	sigma := -math.Log(min(over, 0.99)) / half
	for _, stretch := range [...]float64{1, 1.5, 0.67} {
		fit, q, fitted := fitDampedSine(x, dt, sigma/stretch, math.Pi/(half*stretch))
		if fitted && (!ok || q > r2) {
			best, r2, ok = fit, q, true
		}
		if ok && r2 >= enough {
			break
		}
	}
	return best, r2, ok
}

// shrinking says whether every turning point before sample end lies closer to rest than the one before it.
func shrinking(turns []turn, rest float64, end int) bool {
	for k := 1; k < len(turns) && turns[k].at < end; k++ {
		if math.Abs(turns[k].mm-rest) >= math.Abs(turns[k-1].mm-rest) {
			return false
		}
	}
	return true
}

// overshoot is how far x swings over to the other side of rest, as a share of its first distance from rest, and where.
func overshoot(x []float64, rest float64) (share float64, at int) {
	first := x[0] - rest
	if first == 0 {
		return 0, 0
	}
	for i, v := range x {
		if o := (rest - v) / first; o > share {
			share, at = o, i
		}
	}
	return share, at
}
