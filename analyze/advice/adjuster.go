package advice

import (
	"maps"
	"slices"

	"stanchion/analyze"
)

// Keys of what is known about an adjuster beside the run: how many clicks it stands outside of the range in which it does something.
const (
	pastOpen   = "past_open"
	pastClosed = "past_closed"
)

func adjusterKey(name, what string) string { return "adjuster." + name + "." + what }

// adjusterScalars tells for each adjuster whose usable range is known how far it stands outside of its usable range.
func adjusterScalars(in *Input) []analyze.Scalar {
	var out []analyze.Scalar
	for _, name := range slices.Sorted(maps.Keys(in.Limits.Adjusters)) {
		if a := in.Limits.Adjusters[name]; a.UsableTo <= a.UsableFrom {
			continue
		}
		a, b := outside(in, name)
		out = append(out,
			analyze.Scalar{Key: adjusterKey(name, pastOpen), Group: "Setup", Label: "clicks that " + settingWords(name) + " is open beyond its usable range", Figure: a},
			analyze.Scalar{Key: adjusterKey(name, pastClosed), Group: "Setup", Label: "clicks that " + settingWords(name) + " is closed beyond its usable range", Figure: b})
	}
	return out
}

func outside(in *Input, name string) (open, closed analyze.Figure) {
	now, known := in.Now[name]
	a := in.Limits.Adjusters[name]
	if !known {
		none := analyze.Absent("how it was set is not known")
		return none, none
	}
	return analyze.Value(max(0, now-a.UsableTo), 1), analyze.Value(max(0, a.UsableFrom-now), 1)
}
