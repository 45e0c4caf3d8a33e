package analyze

import "stanchion/analyze/signal"

// An ExtendedSpell is a time in which the fork stayed extended while riding: possible air.
type ExtendedSpell struct {
	StartS    float64 `json:"start_s"` // crossings interpolated
	EndS      float64 `json:"end_s"`
	DurationS float64 `json:"duration_s"`
	Jump      bool    `json:"jump"` // at least Options.JumpMinS
	// The landing is left out where the recording ends before the next peak, its speed where there is no velocity.
	LandingPeakMMS   float64 `json:"landing_peak_mm_s,omitempty"` // largest v from landing to the next peak
	LandingTravelMM  float64 `json:"landing_travel_mm,omitempty"` // travel at that peak
	LandingTravelPct float64 `json:"landing_travel_pct,omitempty"`
}

// Air is what the fork did off the ground, as far as a travel sensor can tell.
type Air struct {
	Spells    []ExtendedSpell `json:"spells"`
	SpellsN   Figure          `json:"extended_spells"`
	Jumps     Figure          `json:"jumps"`
	ExtendedS Figure          `json:"extended_s"` // total time of the spells
}

func (r *ride) air(strokes []Stroke) Air {
	out := Air{Spells: []ExtendedSpell{}}
	next := 0 // the first stroke that may hold a landing
	for k := range r.segs {
		s := &r.segs[k]
		for _, p := range r.extended(s) {
			spell := r.spell(s, p)
			for next < len(strokes) && (strokes[next].Segment < k || strokes[next].Segment == k && strokes[next].hi < p.hi) {
				next++
			}
			for j := next; j < len(strokes) && strokes[j].Segment == k; j++ {
				if strokes[j].Compression {
					r.land(s, &spell, p.hi, strokes[j].hi)
					break
				}
			}
			out.Spells = append(out.Spells, spell)
		}
	}
	if r.all.n == 0 {
		a := Absent(noRiding)
		out.SpellsN, out.Jumps, out.ExtendedS = a, a, a
		return out
	}
	jumps, total := 0, 0.0
	for _, s := range out.Spells {
		total += s.DurationS
		if s.Jump {
			jumps++
		}
	}
	const caveat = "a travel sensor sees extension, not flight"
	n := len(out.Spells)
	out.SpellsN, out.Jumps = Value(float64(n), n, caveat), Value(float64(jumps), jumps, caveat)
	out.ExtendedS = Value(total, n, caveat)
	return out
}

// extended lists the runs of samples of s under Options.ExtendedPct that begin and end while riding and last long enough. A run that
// outlasts the riding is somebody getting off.
func (r *ride) extended(s *segment) []span {
	limit := r.pct(r.opt.ExtendedPct)
	var out []span
	for i := 0; i < len(s.x); i++ {
		if s.x[i] >= limit {
			continue
		}
		lo := i
		for i < len(s.x) && s.x[i] < limit {
			i++
		}
		p := span{lo, i}
		a, b := r.edges(s, p)
		if (b-a)/r.fs >= r.opt.ExtendedMinS-1e-9 && r.ridingAt(s, lo) && r.ridingAt(s, i-1) {
			out = append(out, p)
		}
	}
	return out
}

// edges are the interpolated crossings of the limit, in samples, at the ends of an extended run. At the end of a
// segment there is none: there the run's own end counts.
func (r *ride) edges(s *segment, p span) (from, to float64) {
	limit := r.pct(r.opt.ExtendedPct)
	from, to = float64(p.lo), float64(p.hi)
	if p.lo > 0 {
		from += signal.Crossing(s.x[p.lo-1], s.x[p.lo], limit) - 1
	}
	if p.hi < len(s.x) {
		to += signal.Crossing(s.x[p.hi-1], s.x[p.hi], limit) - 1
	}
	return from, to
}

func (r *ride) spell(s *segment, p span) ExtendedSpell {
	from, to := r.edges(s, p)
	d := (to - from) / r.fs
	return ExtendedSpell{StartS: r.time(s, from), EndS: r.time(s, to), DurationS: d, Jump: d >= r.opt.JumpMinS-1e-9}
}

// land fills in the landing between sample from and the peak at sample peak.
func (r *ride) land(s *segment, spell *ExtendedSpell, from, peak int) {
	from = min(from, peak)
	spell.LandingTravelMM = largest(s.x[from : peak+1])
	spell.LandingTravelPct = 100 * spell.LandingTravelMM / r.T
	if r.noVelocity == "" {
		spell.LandingPeakMMS = largest(s.v[from : peak+1])
	}
}
