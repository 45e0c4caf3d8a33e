package spring

import "fmt"

// coil answers for a coil spring.
func (a *assessment) coil() error {
	q, c := a.q, *a.q.Coil
	if err := c.Validate(); err != nil {
		return err
	}
	a.out.Kind, a.out.FrictionN = "coil", q.Chambers.FrictionN
	a.out.Caution = "Preload and spring rates have limits too: stay within those in the fork's manual"
	a.load = q.LoadN
	if q.SagM > 0 {
		a.load = c.ForceN(q.SagM)
	}
	a.out.LoadN = a.load
	if a.out.FrictionN == 0 && q.SagM > 0 && q.BandM > 0 {
		a.out.FrictionN = FrictionOf(c, q.TravelM, q.SagM, q.BandM)
	}
	n, err := numbersOf(c, c, q.TravelM, a.load, a.out.FrictionN)
	if err != nil {
		return err
	}
	a.out.AsSet = &Setting{Name: "as set", Figures: n, spring: c}
	a.out.Coil = &CoilInfo{RateNMM: c.Rate / 1000, PreloadMM: 1000 * c.PreloadM}
	if q.TargetShare > 0 {
		if err := a.coilTarget(c); err != nil {
			return err
		}
	}
	if q.Ride != nil {
		a.out.Notes = append(a.out.Notes, "A coil does not change with temperature and altitude in any way that counts here")
	}
	if len(q.Bottoms) > 0 {
		a.out.Notes = append(a.out.Notes, "Ways to fewer bottom-outs are worked out for air springs only")
	}
	a.curves()
	return nil
}

func (a *assessment) coilTarget(c Coil) error {
	sag := a.q.TargetShare * a.q.TravelM
	k, err := c.RateForSag(a.load, sag)
	if err != nil {
		return err
	}
	wanted := Coil{Rate: k, PreloadM: c.PreloadM}
	n, err := numbersOf(wanted, wanted, a.q.TravelM, a.load, a.out.FrictionN)
	if err != nil {
		return err
	}
	a.out.Target = &Setting{Name: fmt.Sprintf("a sag of %.4g %%", 100*a.q.TargetShare), Figures: n, spring: wanted}
	k /= 1000
	a.out.Coil.WantedRateNMM = &k
	p, err := c.PreloadForSag(a.load, sag)
	if err != nil {
		a.out.Coil.NoPreload = err.Error()
		return nil
	}
	p *= 1000
	a.out.Coil.WantedPreloadMM = &p
	return nil
}
