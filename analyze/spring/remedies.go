package spring

import "fmt"

// bottomLimits are the limits of the estimate, in words.
const bottomLimits = "An estimate: the motion left at the last of the travel, as if all of the load came down onto a standing wheel. " +
	"Where a stone threw the wheel up instead, less was left; tyre, bump stop and end-of-travel damping are left out. It says which change is larger, not how many bottom-outs a ride will have"

// bottoms works ways to fewer bottom-outs out.
func (a *assessment) bottoms() error {
	q := a.q
	if len(q.Bottoms) == 0 || a.out.AsSet == nil {
		return nil
	}
	e, err := EndStrokeOf(a.out.AsSet.air, a.load, q.HeadDeg, q.Bottoms)
	if err != nil {
		return err
	}
	n := len(e.LeftJ)
	r := &Remedies{Count: n, OpenMM: 1000 * e.OpenM, MassKg: e.MassKg, HoldsJ: e.HoldsJ, HardestJ: e.LeftJ[0], MedianJ: e.LeftJ[(n-1)/2],
		FastestMMS: 1000 * e.EntryMS[0], Limits: bottomLimits, EnergyLeftJ: e.LeftJ}
	goals := []struct {
		words string
		keep  int
	}{{"half of the bottom-outs", n / 2}, {"all of the bottom-outs", 0}}
	if n == 1 {
		goals = goals[1:]
	}
	for _, g := range goals {
		r.Ways = append(r.Ways, a.bySpacers(e, g.words, g.keep), a.byPressure(e, g.words, g.keep))
	}
	a.out.Bottom = r
	return nil
}

// bySpacers finds the fewest spacers, at the sag as it is, that hold the energy.
func (a *assessment) bySpacers(e EndStroke, goal string, keep int) Remedy {
	r := Remedy{Goal: goal, Keep: keep}
	sag := a.out.AsSet.Figures.SagMM / 1000
	if !(a.q.Chambers.SpacerM3 > 0) {
		r.Setting = Setting{Name: "spacers", Refused: "the volume of a spacer is not known"}
		return r
	}
	if !(sag > 0) {
		r.Setting = Setting{Name: "spacers", Refused: "the fork does not sag as it is set"}
		return r
	}
	for n := a.q.Chambers.Spacers + 1; n <= a.mostSpacers(); n++ {
		s, err := a.forSag("spacers, the same sag", n, sag, a.pa, a.q.Negative)
		if err != nil {
			break
		}
		if held := s.air.EnergyJ(e.OpenM); held >= e.NeedJ(keep) {
			r.Setting = s
			r.hold(e, held)
			return r
		}
	}
	r.Setting = Setting{Name: "spacers, the same sag", Refused: fmt.Sprintf("not with up to %d spacers", a.mostSpacers())}
	return r
}

// byPressure finds the pressure, spacers as they are, that holds the energy.
func (a *assessment) byPressure(e EndStroke, goal string, keep int) Remedy {
	r := Remedy{Goal: goal, Keep: keep, Setting: Setting{Name: "pressure", Spacers: a.q.Chambers.Spacers}}
	p, err := a.q.Chambers.PressureForEnergy(e.NeedJ(keep), e.OpenM, a.q.Negative, a.pa)
	s := r.Setting
	if err == nil {
		s, err = a.setting("pressure", a.q.Chambers.fill(p, a.q.Negative, a.pa))
	}
	r.Setting = orRefused(s, err)
	if err == nil {
		r.hold(e, s.air.EnergyJ(e.OpenM)*(1+1e-12)) // the solver's last digit
	}
	return r
}

// hold notes what the setting takes up.
func (r *Remedy) hold(e EndStroke, heldJ float64) {
	left := e.Left(heldJ)
	r.HoldsJ, r.Left = heldJ, &left
}
