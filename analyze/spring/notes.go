package spring

import "fmt"

// geometryOf are the dimensions in the units of people.
func geometryOf(q *Question) *Geometry {
	c := &q.Chambers
	return &Geometry{Basis: q.Basis, PositiveAreaCM2: 1e4 * c.PositiveAreaM2, PositiveVolumeCM3: 1e6 * c.PositiveVolumeM3,
		NegativeAreaCM2: 1e4 * c.NegativeAreaM2, NegativeVolumeCM3: 1e6 * c.NegativeVolumeM3, Negative: c.Feed, TransferMM: 1000 * c.TransferM,
		SpacerCM3: 1e6 * c.SpacerM3, Exponent: c.Exponent, StaticExponent: c.StaticExponent, FitResidualMM: 1000 * q.FitRMSM}
}

// notes says what may mislead.
func (a *assessment) notes() {
	add := func(format string, args ...any) { a.out.Notes = append(a.out.Notes, fmt.Sprintf(format, args...)) }
	switch a.q.Basis {
	case BasisTypical:
		add("The chambers are not known: those of an ordinary fork of this travel were taken (common practice, no source). Pressures for a sag near the measured one hold well; forces, energies and the end of the travel may be off by a fifth and more")
	case BasisFitted:
		add("The negative chamber was fitted to the measured pairs, to %.1f mm; the end of the travel is not known from them", 1000*a.q.FitRMSM)
	}
	if !(a.q.SagM > 0) {
		add("The load is a guess from weight and share, not from a measured sag: measure sag once and give it")
	}
	if a.q.HeadUsed != "" && (!(a.q.SagM > 0) || a.out.Bottom != nil) {
		add("%s", a.q.HeadUsed)
	}
	if a.q.Chambers.FrictionN > 0 {
		add("Sag is the middle of the band in which friction can hold the fork: settle it from above and from below and take the mean")
	} else {
		add("Friction is not known: a measured sag may be off by some mm either way; settle the fork from above and from below and take the mean")
	}
	if a.out.Chambers.Negative == SelfEqualised && a.out.Target != nil {
		add("Pressures are those at full extension after the chambers have equalised: pump, push the fork through its first travel some ten times, read and correct")
	}
	if a.q.Chambers.SpacerM3 > 0 && a.q.Chambers.MaxSpacers == 0 {
		add("How many spacers fit is in the fork's manual: the fork file gives no number")
	}
	if a.q.Ride != nil {
		add("Altitude is that of the standard atmosphere (ISO 2533); weather moves the pressure of the air by some 3 %%. Temperatures are those of the fork's air, which follows the day after some minutes and warms up in use")
	}
}
