package report

import (
	"fmt"
	"strings"

	"stanchion/analyze"
	"stanchion/analyze/trail"
)

// agreement says in how many runs a thing was found: "rough in 5 of 5 runs".
func agreement(what string, s trail.Sighting) string {
	if s.PassedBy == 1 {
		return what + " in the only run"
	}
	return fmt.Sprintf("%s in %d of %d runs", what, s.FoundIn, s.PassedBy)
}

// placeCause is the cause of a harsh place in a sentence.
func placeCause(key string) string {
	switch key {
	case analyze.CauseBottoming:
		return "The fork comes to the end of its travel here"
	case analyze.CausePacking:
		return "Hits follow faster than the fork comes back, so it works ever deeper"
	case trail.CauseBraking:
		return "Braking pushes the fork down just where the ground is rough"
	case trail.CauseLanding:
		return "A jump lands in it"
	case analyze.CauseChatter:
		return "Many small, quick hits"
	case analyze.CauseBigHits:
		return "Single big hits"
	}
	return "Rough all along, without one reason that stands out"
}

// alsoCause is a further cause, to go on after "also: ".
func alsoCause(key string) string {
	switch key {
	case analyze.CauseBottoming:
		return "bottoms out"
	case analyze.CausePacking:
		return "works ever deeper over the hits"
	case trail.CauseBraking:
		return "braking in it"
	case trail.CauseLanding:
		return "a landing in it"
	case analyze.CauseChatter:
		return "many quick hits"
	case analyze.CauseBigHits:
		return "single big hits"
	}
	return key
}

// tryRiding and trySetup say what a key means. Common practice, no source.
func tryRiding(key string) string {
	switch key {
	case trail.RideOtherLine:
		return "Walk it and look for a smoother line."
	case trail.RideLighter:
		return "Be light on the front wheel and let the bike move under you."
	case trail.RideSlowBefore:
		return "Be done with braking before it begins."
	case trail.RideAbsorb:
		return "Meet it with bent arms and legs, and land on the slope where there is one."
	case trail.RideCarrySpeed:
		return "Brake earlier and softer, so that the fork has travel left where it is rough."
	case trail.RideLookFurther:
		return "Look further ahead, so that it does not come as a surprise."
	}
	return sentence(key) + "."
}

func trySetup(key string) string {
	switch key {
	case trail.SetFasterRebound:
		return "One click faster rebound, so that the fork is back before the next hit."
	case trail.SetSlowerRebound:
		return "One click slower rebound."
	case trail.SetMoreAir:
		return "A little more pressure, if sag stays where you want it."
	case trail.SetSpacer:
		return "One more volume spacer: firmer towards the end only."
	case trail.SetMoreCompression:
		return "One click more low-speed compression, against dive."
	case trail.SetLessHighSpeed:
		return "One click less high-speed compression, so that sharp hits get through less."
	case trail.SetMoreHighSpeed:
		return "One click more high-speed compression, against the end of the travel."
	case trail.SetTyre:
		return "Look at tyre pressure first."
	case trail.SetCheckSag:
		return "Check sag before anything else."
	}
	return sentence(key) + "."
}

// evidenceWords lists the figures that a person wants beside a place.
func evidenceWords(list []trail.Evidence) string {
	var out []string
	add := func(key, format string, write func(float64) string, from float64) {
		for _, e := range list {
			if v, ok := e.Value.Get(); e.Key == key && ok && v >= from {
				out = append(out, fmt.Sprintf(format, write(v)))
			}
		}
	}
	add(trail.KeyRMS, "roughness %s", mmps, 0)
	add(trail.KeyPeakPct, "deepest %s of travel", percent, 0)
	add(trail.KeyPeakComp, "fastest hit %s", mmps, 0)
	add(trail.KeyFastBands, "%s of the movement is quick", func(v float64) string { return percent(100 * v) }, 0.25)
	add(trail.KeySpeed, "ridden at %s", mps, 0)
	return strings.Join(out, ", ")
}

func mps(v float64) string { return fixed(v, 1) + gap + "m/s" }

// jumpWords is a jump in a clause.
func jumpWords(j *trail.JumpPlace) string {
	var parts []string
	if v, ok := j.AirS.Median.Get(); ok {
		parts = append(parts, fixed(v, 2)+gap+"s in the air")
	}
	if v, ok := j.LandingPct.Median.Get(); ok {
		parts = append(parts, "landing to "+percent(v)+" of travel")
	}
	if v := landingWords(j.Verdicts, len(j.Jumps)); v != "" {
		parts = append(parts, v)
	}
	return strings.Join(parts, ", ")
}

// landingWords is what is to be said of the landings: "clean", or all that was found, with the runs where not all agree.
func landingWords(votes []trail.Vote, of int) string {
	var out []string
	for _, v := range votes {
		s := v.Key
		if s == trail.LandingHard {
			s = "bottomed hard"
		}
		if v.Runs < of {
			s += fmt.Sprintf(" (%d of %d)", v.Runs, of)
		}
		out = append(out, s)
	}
	return strings.Join(out, ", ")
}

// stretch writes where a stretch lies.
func stretch(fromM, toM float64) string { return fixed(fromM, 0) + " to " + metres(toM) }
