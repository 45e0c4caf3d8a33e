package report

import (
	"fmt"
	"strconv"

	"stanchion/analyze/spring"
)

// pressureWords writes a pressure in both units.
func pressureWords(p *spring.Pressure) string {
	return fixed(p.PSI(), 1) + gap + "psi (" + fixed(p.Bar(), 2) + gap + "bar)"
}

func sagWords(f *spring.SettingNums) string {
	return mmFine(f.SagMM) + " (" + fixed(f.SagPct, 1) + gap + "%)"
}

// springLine is the answer in a few sentences.
func springLine(a *spring.Answer) string {
	if a.Kind == "coil" {
		return coilLine(a)
	}
	var s string
	if a.AsSet != nil {
		s = "At " + pressureWords(a.AsSet.Figures.Pressure) + " the fork sags " + sagWords(a.AsSet.Figures) + ". "
	}
	if t := a.Target; t != nil {
		s += "For " + sagWords(t.Figures) + " pump " + pressureWords(t.Figures.Pressure) + ". "
	}
	if m := a.Moved; m != nil {
		from := "As set"
		if a.AsSet == nil {
			from = "Pumped so"
		}
		s += fmt.Sprintf("%s, at %s the gauge reads %s and the fork sags %s. ", from, place(m.To), pressureWords(m.There.Figures.Pressure), sagWords(m.There.Figures))
		if f := m.TopUp.Figures; f != nil {
			s += "Pump " + pressureWords(f.Pressure) + " there for " + mmFine(f.SagMM) + ". "
		}
	}
	return s + bottomLine(a)
}

// bottomLine names the mildest way to hold the bottom-outs, where there is one.
func bottomLine(a *spring.Answer) string {
	if a.Bottom == nil {
		return ""
	}
	for i := range a.Bottom.Ways {
		w := &a.Bottom.Ways[i]
		if f := w.Setting.Figures; f != nil {
			what := pressureWords(f.Pressure)
			if w.Setting.Spacers > a.AsSet.Spacers {
				what = counted(w.Setting.Spacers, "spacer", "spacers") + " with " + what
			}
			goal := w.Goal
			if a.Bottom.Count == 1 {
				goal = "the one bottom-out"
			}
			return "To hold " + goal + " of the run, by estimate: " + what + "."
		}
	}
	return "No change within the limits would have held the bottom-outs of this run, by estimate."
}

func coilLine(a *spring.Answer) string {
	s := "A coil of " + rate(a.Coil.RateNMM) + " with " + mmFine(a.Coil.PreloadMM) + " of preload sags " + sagWords(a.AsSet.Figures) + ". "
	if a.Target == nil {
		return s
	}
	s += "For " + sagWords(a.Target.Figures) + " it takes " + rate(*a.Coil.WantedRateNMM)
	if p := a.Coil.WantedPreloadMM; p != nil {
		s += ", or " + mmFine(*p) + " of preload with this coil"
	}
	return s + ". "
}

// springCan lists what the answer is good for.
func springCan(a *spring.Answer) []string {
	out := []string{"Which way and about how far to go: measure sag again after the change, and ask once more with the new pair."}
	if a.Kind == "air" && a.LoadFrom != "" && a.AsSet != nil {
		out = append(out, "What sag another pressure gives, within about ±20"+gap+"% of the pressure at which sag was measured.")
	}
	if len(a.Spacer) > 1 {
		out = append(out, "How much firmer spacers make the end of the travel, at the same sag.")
	}
	return out
}

// springCannot lists what it is not good for.
func springCannot(a *spring.Answer) []string {
	out := []string{"Which sag is right for you. Figures say what the spring does, not how the fork rides.",
		"What the fork does while moving: damping, bump stop and tyre are not in the spring."}
	if a.Kind == "air" {
		out = append(out, "How many bottom-outs the next run will have.")
	}
	return out
}

// springMethod is how it was computed, in words.
func springMethod(a *spring.Answer) string {
	if a.Kind == "coil" {
		return "Force = rate × (travel + preload); energy is its integral from full extension; sag is where the force equals the load."
	}
	return "Each chamber follows p·Vⁿ = constant with absolute pressures: F(x) = A⁺[(p⁺+pa)(V⁺/(V⁺−A⁺x))ⁿ − pa] − A⁻[(p⁻+pa)(V⁻/(V⁻+A⁻x))ⁿ − pa], with V⁺ less the spacers. " +
		"A self-equalised negative chamber has the positive one's pressure where the port joins them. The load is the spring's force at the measured sag, the gas at the fork's temperature (n at rest); curves, rates and energies use n when riding. " +
		"For another place the amount of gas is kept: absolute pressure goes with absolute temperature, and the gauge reads it against the standard atmosphere there (ISO 2533). " +
		"Energies of bottom-outs: what the spring holds by the travel at which a bottom-out is counted, and ½·m·v² of what was still moving then, m = load·sin(head angle)/g."
}

// springSettings lists the numbers that were used.
func springSettings(a *spring.Answer) []table {
	t := table{Caption: "The numbers used", Heads: []head{{Text: "What", Words: true}, {Text: "Value", Number: true}}}
	add := func(name, value string) { t.Rows = append(t.Rows, texts(name, value)) }
	add("Load along the stanchion", fixed(a.LoadN, 1)+gap+"N")
	if a.FrictionN > 0 {
		add("Friction", fixed(a.FrictionN, 1)+gap+"N")
	}
	if g := a.Chambers; g != nil {
		add("Chambers", map[string]string{spring.BasisGiven: "from the fork file", spring.BasisFitted: "negative volume fitted to measured sags", spring.BasisTypical: "typical (common practice, no source)"}[g.Basis])
		add("Positive piston area", fixed(g.PositiveAreaCM2, 2)+gap+"cm²")
		add("Positive volume at full extension, without spacers", fixed(g.PositiveVolumeCM3, 1)+gap+"cm³")
		if g.NegativeAreaCM2 > 0 {
			add("Negative piston area", fixed(g.NegativeAreaCM2, 2)+gap+"cm²")
			add("Negative volume at full extension", fixed(g.NegativeVolumeCM3, 1)+gap+"cm³")
		}
		if g.Negative == spring.SelfEqualised {
			add("Transfer port at", mmFine(g.TransferMM))
		}
		add("Volume of a spacer", fixed(g.SpacerCM3, 1)+gap+"cm³")
		add("Exponent n when riding, at rest", plainNumber(g.Exponent)+", "+plainNumber(g.StaticExponent))
		add("Set at", place(a.SetAt))
	}
	if a.MaxPressure != nil {
		add("The maker's maximum", pressureWords(a.MaxPressure))
	}
	add("Points of a curve", strconv.Itoa(len(a.Curves[0].TravelMM)))
	return []table{t}
}
