package trail

import "stanchion/analyze"

// Causes of a harsh place beyond those of analyze.HarshSection.
const (
	CauseLanding = "landing" // a jump lands in it
	CauseBraking = "braking" // the rider brakes in it and the fork stands deep
)

// Keys of what a rider can try. The words are the report's.
const (
	RideOtherLine   = "other line"      // look for another line
	RideLighter     = "ride it lighter" // unweight the front, let the bike move
	RideSlowBefore  = "brake before"    // be done with braking before it begins
	RideAbsorb      = "absorb landing"  // land on the slope, arms ready
	RideCarrySpeed  = "carry speed"     // do not brake in it: the fork works higher in its travel
	RideLookFurther = "look further"    // see it earlier, be loose
)

// Keys of what can be tried on the fork.
const (
	SetFasterRebound   = "faster rebound"
	SetSlowerRebound   = "slower rebound"
	SetMoreAir         = "more air pressure"
	SetSpacer          = "volume spacer"
	SetMoreCompression = "more low-speed compression"
	SetLessHighSpeed   = "less high-speed compression"
	SetMoreHighSpeed   = "more high-speed compression"
	SetTyre            = "check tyre pressure"
	SetCheckSag        = "check sag"
)

// trials are what to try for a cause, in order. Common practice, no source.
func trials(cause string) (riding, setup []string) {
	switch cause {
	case analyze.CauseBottoming:
		return []string{RideAbsorb, RideOtherLine}, []string{SetSpacer, SetMoreAir, SetMoreHighSpeed}
	case analyze.CausePacking:
		return []string{RideLighter, RideOtherLine}, []string{SetFasterRebound, SetMoreAir}
	case CauseBraking:
		return []string{RideSlowBefore, RideCarrySpeed}, []string{SetMoreCompression, SetMoreAir}
	case CauseLanding:
		return []string{RideAbsorb, RideLookFurther}, []string{SetSpacer, SetMoreHighSpeed}
	case analyze.CauseChatter:
		return []string{RideLighter, RideOtherLine}, []string{SetLessHighSpeed, SetFasterRebound, SetTyre}
	case analyze.CauseBigHits:
		return []string{RideLighter, RideOtherLine}, []string{SetLessHighSpeed, SetCheckSag}
	}
	return []string{RideLookFurther, RideOtherLine}, []string{SetTyre, SetCheckSag}
}

// coach lists the first places with their cause: the causes that at least half of the runs that found the place show, in a fixed order.
func coach(read *Reading, opt *ReadingOptions) []CoachItem {
	out := []CoachItem{}
	for i := range read.Places {
		p := &read.Places[i]
		if len(out) == opt.CoachPlaces {
			break
		}
		if minority(p, opt) == 1 {
			continue
		}
		causes := placeCauses(read, p)
		item := CoachItem{Rank: len(out) + 1, Place: i, Cause: causes[0], Also: causes[1:], Evidence: evidence(p)}
		seen := map[string]bool{}
		add := func(list *[]string, keys []string) {
			for _, k := range keys {
				if !seen[k] {
					seen[k] = true
					*list = append(*list, k)
				}
			}
		}
		for _, c := range causes {
			riding, setup := trials(c)
			add(&item.Riding, riding)
			add(&item.Setup, setup)
		}
		out = append(out, item)
	}
	return out
}

// placeCauses are the causes that hold for a place, the one that weighs most first; rough ground where no other does.
func placeCauses(read *Reading, p *HarshPlace) []string {
	holds := func(cause string) bool {
		for _, v := range p.Causes {
			if v.Key == cause {
				return 2*v.Runs >= p.FoundIn
			}
		}
		return false
	}
	var out []string
	for _, c := range []string{analyze.CauseBottoming, analyze.CausePacking} {
		if holds(c) {
			out = append(out, c)
		}
	}
	if brakedIn(read, p) {
		out = append(out, CauseBraking)
	}
	if landedIn(read, p) {
		out = append(out, CauseLanding)
	}
	for _, c := range []string{analyze.CauseChatter, analyze.CauseBigHits} {
		if holds(c) {
			out = append(out, c)
		}
	}
	if len(out) == 0 {
		out = append(out, analyze.CauseRough)
	}
	return out
}

// brakedIn says whether the runs brake in the place, half of them at least, over a quarter of it, with the fork standing deeper than usual by 5 % of travel.
func brakedIn(read *Reading, p *HarshPlace) bool {
	for i := range read.Braking {
		z := &read.Braking[i]
		from, to := max(p.StartM, z.StartM.Median.Or(0)), min(p.EndM, z.EndM.Median.Or(0))
		if 2*z.FoundIn >= z.PassedBy && to-from >= (p.EndM-p.StartM)/4 && z.DivePct.Median.Or(0) >= 5 {
			return true
		}
	}
	return false
}

// landedIn says whether a jump that half of the runs take lands in the place.
func landedIn(read *Reading, p *HarshPlace) bool {
	for i := range read.Jumps {
		j := &read.Jumps[i]
		n := 0
		for k := range j.Jumps {
			if m, ok := j.Jumps[k].LandingM.Get(); ok && m >= p.StartM && m <= p.EndM {
				n++
			}
		}
		if 2*n >= j.PassedBy && n > 0 {
			return true
		}
	}
	return false
}

// evidence is the figures that a person wants beside a place.
func evidence(p *HarshPlace) []Evidence {
	var out []Evidence
	for _, key := range [...]string{KeyRMS, KeyFast, KeyPeakComp, KeyPeakPct, KeyBottoms, KeyPacking, KeyBand, KeyFastBands, KeySpeed} {
		if f := p.Figure(key); f != nil {
			out = append(out, Evidence{Key: key, Unit: f.Unit, Value: f.Over.Median})
		}
	}
	return out
}
