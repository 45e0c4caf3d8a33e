package analyze

import (
	"fmt"
	"math"

	"stanchion/ingest"
)

// A Settle is a rest after the fork was let go slowly, from below (let up) or from above (let down).
type Settle struct {
	Span     Span    `json:"span"`
	MedianMM float64 `json:"median_mm"`
	From     string  `json:"from"` // "deeper" (pushed down and let up), "higher" (lifted and let down) or "unknown"
}

// Where a fork came from before it settled.
const (
	FromDeeper  = "deeper"
	FromHigher  = "higher"
	FromUnknown = "unknown"
)

// SagLog is what a sag log of its own says.
type SagLog struct {
	Settles        []Settle `json:"settles"`
	SagMM          Figure   `json:"sag_mm"`
	SagPct         Figure   `json:"sag_pct"`
	FrictionBandMM Figure   `json:"friction_band_mm"` // needs both settles
	Caveats        []Caveat `json:"caveats"`
}

// AnalyzeSag reads a sag log: the rider stands on the bike in riding position, pushes the fork down and lets it up
// slowly until it rests, then lifts it and lets it down slowly until it rests, each over 5 s or more. Sag is the mean of the two rests
// and the friction band their difference, which is about twice the friction over the spring rate. With rests from one side
// only, sag is theirs and the band is absent. It fails as Run does.
func AnalyzeSag(trace *ingest.Trace, opt Options) (*SagLog, error) {
	r, err := newRide(trace, opt)
	if err != nil {
		return nil, err
	}
	out := &SagLog{Settles: r.settles(), Caveats: []Caveat{}}
	sums, n := map[string]float64{}, map[string]int{}
	for _, s := range out.Settles {
		sums[s.From] += s.MedianMM
		n[s.From]++
	}
	level := func(from string) float64 { return sums[from] / float64(n[from]) }
	deeper, higher := n[FromDeeper] > 0, n[FromHigher] > 0
	switch {
	case len(out.Settles) == 0:
		out.SagMM = Absent("the fork never rested for %g s deeper than %g %% of travel", opt.StationaryMinS, opt.StaticSagMinPct)
		out.FrictionBandMM = out.SagMM
	case deeper && higher:
		out.SagMM = Value((level(FromDeeper)+level(FromHigher))/2, n[FromDeeper]+n[FromHigher])
		out.FrictionBandMM = band(level(FromDeeper)-level(FromHigher), n[FromDeeper]+n[FromHigher])
	default:
		from := FromUnknown
		if deeper {
			from = FromDeeper
		} else if higher {
			from = FromHigher
		}
		out.SagMM = Value(level(from), n[from], "rests from one side only: off by up to half of the friction band")
		out.FrictionBandMM = Absent("it needs a rest after pushing down and one after lifting")
	}
	out.SagPct = out.SagMM
	if v, ok := out.SagMM.Get(); ok {
		out.SagPct = Value(100*v/r.T, out.SagMM.N(), out.SagMM.Caveats()...)
	}
	out.addCaveats()
	return out, nil
}

// band is the friction band figure. The fork rests deeper when it comes from deeper; anything else is a mistake.
func band(mm float64, n int) Figure {
	if mm < 0 {
		return Absent("the fork rested %.1f mm higher when it came from deeper: the weight must have shifted between the rests", -mm)
	}
	return Value(mm, n, "a lower bound: letting go faster than over 5 s, or shaking, makes it smaller")
}

func (l *SagLog) addCaveats() {
	add := func(severity, topic, text string) { l.Caveats = append(l.Caveats, Caveat{severity, topic, text}) }
	unknown := 0
	for _, s := range l.Settles {
		if s.From == FromUnknown {
			unknown++
		}
	}
	if unknown > 0 {
		add(Note, "friction", fmt.Sprintf("%s came too fast, or from nowhere in the log, to tell on which side of the friction band it lies.", plural(unknown, "rest", "rests")))
	}
	if !l.FrictionBandMM.OK() {
		add(Warning, "friction", "No friction band: "+l.FrictionBandMM.Reason()+".")
		return
	}
	for _, c := range l.FrictionBandMM.Caveats() {
		add(Note, "friction", fmt.Sprintf("The friction band is %s.", c))
	}
}

// settles finds the rests of a sag log and where the fork came from before each. Rests at full extension are not
// settles, nor are rests in which the fork was held pushed down or lifted: the next letting-go starts at them.
func (r *ride) settles() []Settle {
	out := []Settle{}
	for k := range r.segs {
		s := &r.segs[k]
		rests := r.settleRests(s)
		from := r.origins(s, rests)
		held := r.held(s, rests, from)
		for i, p := range rests {
			if held[i] {
				continue
			}
			out = append(out, Settle{
				Span:     Span{r.time(s, float64(p.lo)), r.time(s, float64(p.hi))},
				MedianMM: medianOf(s.x[p.lo:p.hi]), From: from[i],
			})
		}
	}
	return out
}

// settleRests lists the rests of s that are deeper than Options.StaticSagMinPct. A slow letting-go may be slower than
// Options.StationaryMMS; the limit on creep, Options.SettleDriftMMS, keeps it apart from rest.
func (r *ride) settleRests(s *segment) []span {
	half := r.opt.CellWindowS / 2
	quiet := func(s *segment, c cell) bool {
		if c.rms >= r.opt.StationaryMMS {
			return false
		}
		middle := (c.lo + c.hi) / 2
		lo, hi := max(0, middle-r.count(half)), min(len(s.x), middle+r.count(half))
		quarter := max(1, (hi-lo)/4)
		drift := mean(s.x[hi-quarter:hi]) - mean(s.x[lo:lo+quarter])
		seconds := float64(hi-lo-quarter) / r.fs // between the middles of the two quarters
		return math.Abs(drift) <= r.opt.SettleDriftMMS*seconds
	}
	var out []span
	for _, p := range r.rests(s, quiet) {
		if medianOf(s.x[p.lo:p.hi]) > r.pct(r.opt.StaticSagMinPct) {
			out = append(out, p)
		}
	}
	return out
}

// origins says from where the fork came to each rest: the side of the last excursion, of a stroke's size or more,
// since the rest before. After less than that, it stands where it stood. A fork that came in fast, as when the
// rider gets on, may have bounced and could stand anywhere in the friction band: unknown.
func (r *ride) origins(s *segment, rests []span) []string {
	out := make([]string, len(rests))
	for i, p := range rests {
		start, origin := 0, FromUnknown
		if i > 0 {
			start, origin = rests[i-1].hi, out[i-1]
		}
		level := medianOf(s.x[p.lo:p.hi])
		for j := p.lo - 1; j >= start; j-- {
			if d := s.x[j] - level; d >= r.opt.StrokeGateMM || d <= -r.opt.StrokeGateMM {
				origin = FromHigher
				if d > 0 {
					origin = FromDeeper
				}
				if max(fastest(s.v[j:p.lo], true), fastest(s.v[j:p.lo], false)) > r.opt.SettleArriveMMS {
					origin = FromUnknown
				}
				break
			}
		}
		out[i] = origin
	}
	return out
}

// held says which rests were holds: the fork was let go from there to the next rest that was none, with no excursion
// past it. Worked out from the last to the first.
func (r *ride) held(s *segment, rests []span, from []string) []bool {
	out := make([]bool, len(rests))
	for i := len(rests) - 2; i >= 0; i-- {
		if out[i+1] {
			continue
		}
		level, next := medianOf(s.x[rests[i].lo:rests[i].hi]), medianOf(s.x[rests[i+1].lo:rests[i+1].hi])
		low, high := level, level
		for _, x := range s.x[rests[i].hi:rests[i+1].lo] {
			low, high = min(low, x), max(high, x)
		}
		const tolerance = 1 // mm of shaking at the hold
		switch from[i+1] {
		case FromDeeper:
			out[i] = level-next >= r.opt.StrokeGateMM && high <= level+tolerance
		case FromHigher:
			out[i] = next-level >= r.opt.StrokeGateMM && low >= level-tolerance
		}
	}
	return out
}
