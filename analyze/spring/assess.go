package spring

import (
	"errors"
	"fmt"
)

// Limits says what goes before every figure of this package.
const Limits = "Stay within the pressures printed on the fork and in its manual: they come before any figure here"

// assessment carries a question through its answer.
type assessment struct {
	q    *Question
	pa   float64 // air where it is set
	load float64
	out  *Answer
}

// Assess answers a question. A pressure above the maker's maximum, given or wanted, is refused with a *LimitError and there is no
// answer; where only one of several ways is above it, that way is refused in the answer.
func Assess(q Question) (*Answer, error) {
	if err := q.check(); err != nil {
		return nil, err
	}
	pa, err := q.Set.AtmospherePa()
	if err != nil {
		return nil, err
	}
	a := &assessment{q: &q, pa: pa, out: &Answer{SchemaVersion: SchemaVersion, TravelMM: 1000 * q.TravelM, LoadFrom: q.LoadFrom, SetAt: q.Set, Curves: []Curve{}, Notes: []string{}}}
	if q.Coil != nil {
		err = a.coil()
	} else {
		err = a.air()
	}
	if err != nil {
		return nil, err
	}
	return a.out, nil
}

// air answers for an air spring.
func (a *assessment) air() error {
	q, c := a.q, &a.q.Chambers
	if err := c.Validate(); err != nil {
		return err
	}
	a.out.Kind, a.out.Chambers = "air", geometryOf(q)
	a.out.Caution = Limits
	if c.MaxPressure > 0 {
		limit := c.MaxPressure
		a.out.MaxPressure = &limit
	} else {
		a.out.Caution += "; the fork file gives no maximum, so that nothing here was checked against one"
	}
	if err := a.setLoad(); err != nil {
		return err
	}
	for _, step := range []func() error{a.asSet, a.target, a.spacers, a.moved, a.bottoms} {
		if err := step(); err != nil {
			return err
		}
	}
	a.notes()
	a.curves()
	return nil
}

// setLoad checks the pressures that were given and finds the load.
func (a *assessment) setLoad() error {
	q := a.q
	for _, p := range []Pressure{q.Pressure, q.Negative} {
		if err := q.Chambers.Allow(p, fmt.Sprintf("the pressure given, %s,", p)); err != nil {
			return err
		}
	}
	a.load = q.LoadN
	if q.SagM > 0 {
		air, err := q.Chambers.Fill(q.Pressure, q.Negative, a.pa)
		if err != nil {
			return err
		}
		if a.load, err = air.FitLoad(q.SagM); err != nil {
			return err
		}
		if q.Chambers.FrictionN == 0 && q.BandM > 0 {
			q.Chambers.FrictionN = FrictionOf(air.Slow(), q.TravelM, q.SagM, q.BandM)
		}
	}
	a.out.LoadN, a.out.FrictionN = a.load, q.Chambers.FrictionN
	return nil
}

// setting works a filled spring out. It is an error if the load cannot be carried.
func (a *assessment) setting(name string, air Air) (Setting, error) {
	if err := air.Allow(air.Positive, "the pressure for "+name); err != nil {
		return Setting{Name: name, Spacers: air.Spacers}, err
	}
	n, err := numbersOf(air, air.Slow(), air.TravelM, a.load, air.FrictionN)
	if err != nil {
		return Setting{Name: name, Spacers: air.Spacers}, fmt.Errorf("%s: %w", name, err)
	}
	p, end := air.Positive, air.PositiveAt(air.TravelM)
	n.Pressure, n.PressureAtEnd = &p, &end
	if air.Feed != NoNegative {
		neg := air.Negative
		n.Negative = &neg
	}
	return Setting{Name: name, Spacers: air.Spacers, Figures: n, air: air, spring: air}, nil
}

// numbersOf are the figures that every spring has; slow is the spring at rest.
func numbersOf(s, slow Spring, travelM, loadN, frictionN float64) (*SettingNums, error) {
	b, err := SagOf(slow, travelM, loadN, frictionN)
	if err != nil {
		return nil, err
	}
	n := &SettingNums{SagMM: 1000 * b.MidM, SagPct: 100 * b.MidM / travelM,
		RateAtSagNMM: s.RateNPerM(b.MidM) / 1000, ForceMiddleN: s.ForceN(travelM / 2), ForceEndN: s.ForceN(travelM), EnergyEndJ: s.EnergyJ(travelM)}
	if frictionN > 0 {
		low, high := 1000*b.LowM, 1000*b.HighM
		n.SagLowMM, n.SagHighMM = &low, &high
	}
	return n, nil
}

func (a *assessment) asSet() error {
	if !(a.q.Pressure > 0) {
		return nil
	}
	air, err := a.q.Chambers.Fill(a.q.Pressure, a.q.Negative, a.pa)
	if err != nil {
		return err
	}
	s, err := a.setting("as set", air)
	if err != nil {
		return err
	}
	a.out.AsSet = &s
	return nil
}

// orRefused turns a failed setting into one that is refused with the reason.
func orRefused(s Setting, err error) Setting {
	var limit *LimitError
	switch {
	case errors.As(err, &limit):
		s.Refused = "refused: above the maker's maximum"
	case err != nil:
		s.Refused = err.Error()
	}
	return s
}

// forSag pumps to a sag with a number of spacers.
func (a *assessment) forSag(name string, spacers int, sagM, pa float64, negative Pressure) (Setting, error) {
	c := a.q.Chambers.WithSpacers(spacers)
	none := Setting{Name: name, Spacers: spacers}
	p, err := c.PressureForSag(a.load, sagM, negative, pa)
	if err != nil {
		return none, err
	}
	air, err := c.Fill(p, negative, pa)
	if err != nil {
		return none, err
	}
	return a.setting(name, air)
}

func (a *assessment) target() error {
	if a.q.TargetShare == 0 {
		return nil
	}
	name := fmt.Sprintf("a sag of %.4g %%", 100*a.q.TargetShare)
	s, err := a.forSag(name, a.q.Chambers.Spacers, a.q.TargetShare*a.q.TravelM, a.pa, a.q.Negative)
	if err != nil {
		return err
	}
	a.out.Target = &s
	return nil
}

// wantedSagM is the sag that alternatives are to keep: the target, or what the setting has.
func (a *assessment) wantedSagM() float64 {
	if a.out.Target != nil {
		return a.q.TargetShare * a.q.TravelM
	}
	return a.out.AsSet.Figures.SagMM / 1000
}

// moreSpacers is how many spacers above those fitted are looked at where the maker's number is not known.
const moreSpacers = 3

// mostSpacers is the largest number that is looked at.
func (a *assessment) mostSpacers() int {
	if m := a.q.Chambers.MaxSpacers; m > 0 {
		return m
	}
	return a.q.Chambers.Spacers + moreSpacers
}

// spacers lists the same sag with each number of spacers. Numbers that leave no room are left out.
func (a *assessment) spacers() error {
	if !(a.q.Chambers.SpacerM3 > 0) || !(a.wantedSagM() > 0) {
		return nil
	}
	for n := 0; n <= a.mostSpacers(); n++ {
		name := fmt.Sprintf("%d spacers", n)
		if n == 1 {
			name = "1 spacer"
		}
		if a.q.Chambers.WithSpacers(n).Validate() != nil {
			break
		}
		a.out.Spacer = append(a.out.Spacer, orRefused(a.forSag(name, n, a.wantedSagM(), a.pa, a.q.Negative)))
	}
	return nil
}

// moved answers for another temperature and altitude. What the gas does by itself is refused above the limit like all else.
func (a *assessment) moved() error {
	if a.q.Ride == nil {
		return nil
	}
	base := a.out.AsSet
	if base == nil {
		base = a.out.Target
	}
	to := *a.q.Ride
	air, err := base.air.Moved(a.q.Set, to)
	if err != nil {
		return err
	}
	if !(air.Positive >= 0) || !(air.Negative >= 0) {
		return fmt.Errorf("at %g °C and %g m the gauge would read below 0: the pressure as set is too low to say more", to.TemperatureC, to.AltitudeM)
	}
	m := &Moved{To: to}
	if m.There, err = a.setting(fmt.Sprintf("riding at %g °C and %g m", to.TemperatureC, to.AltitudeM), air); err != nil {
		return err
	}
	m.There.Name = "nothing done"
	m.TopUp = orRefused(a.forSag("the same sag, pumped there", base.Spacers, a.wantedSagM(), air.AtmospherePa, air.Negative))
	m.PumpHere = Setting{Name: "the same sag, pumped before leaving", Spacers: base.Spacers, Refused: m.TopUp.Refused}
	if m.TopUp.Refused == "" {
		back, err := m.TopUp.air.Moved(to, a.q.Set)
		if err != nil {
			return err
		}
		m.PumpHere = orRefused(a.setting(m.PumpHere.Name, back))
	}
	a.out.Moved = m
	return nil
}

// curves draws what is there.
func (a *assessment) curves() {
	add := func(name string, s *Setting) {
		if s != nil && s.spring != nil {
			a.out.Curves = append(a.out.Curves, curveOf(name, s.spring, a.q.TravelM))
		}
	}
	add("as set", a.out.AsSet)
	if a.out.Target != nil {
		add(a.out.Target.Name, a.out.Target)
	}
	for i := range a.out.Spacer {
		if s := &a.out.Spacer[i]; s.Spacers == a.q.Chambers.Spacers+1 {
			add("the same sag, one spacer more", s)
		}
	}
}
