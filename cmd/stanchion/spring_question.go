package main

import (
	"cmp"
	"context"
	"fmt"
	"strconv"
	"strings"

	"stanchion/analyze"
	"stanchion/analyze/spring"
	"stanchion/ingest"
)

// usualHeadDeg stands in where the fork file gives no head angle: common practice, no source.
const usualHeadDeg = 64.5

// onePressure is the pressure of two options of which one at most may be given, 0 where none is.
func (k *springCmd) onePressure(name string, psi, bar float64) (spring.Pressure, error) {
	inPSI, inBar := k.changed(name+"-psi"), k.changed(name+"-bar")
	p := spring.PSI(psi)
	if inBar {
		p = spring.Bar(bar)
	}
	switch {
	case inPSI && inBar:
		return 0, usagef("leave one out", "--%s-psi and --%s-bar say the same thing", name, name)
	case (inPSI || inBar) && !(p > 0 && p < spring.Bar(30)):
		return 0, usagef("pumps show pressure above the air around, in psi or bar", "--%s-…: a pressure of %s cannot be", name, p)
	}
	return p, nil
}

// given takes over pressures, sag and target.
func (k *springCmd) given(q *spring.Question) error {
	var err error
	if q.Pressure, err = k.onePressure("pressure", k.pressurePSI, k.pressureBar); err != nil {
		return err
	}
	if q.Negative, err = k.onePressure("negative", k.negativePSI, k.negativeBar); err != nil {
		return err
	}
	switch {
	case k.changed("target-sag-pct") && k.changed("target-sag-mm"):
		return usagef("leave one out", "--target-sag-pct and --target-sag-mm say the same thing")
	case k.changed("target-sag-pct") && !(k.targetPct > 0 && k.targetPct < 80):
		return usagef("usual are 15 to 35", "--target-sag-pct %g: must lie between 0 and 80 %% of travel", k.targetPct)
	case k.changed("sag-mm") && k.sagLog != "":
		return usagef("leave one out", "--sag-mm and --sag both give the sag")
	case k.changed("sag-mm") && !(k.sagMM > 0):
		return usagef("", "--sag-mm %g: must be above 0 mm", k.sagMM)
	case k.changed("sag-mm"):
		q.SagM, q.LoadFrom = spring.MM(k.sagMM), "the measured sag"
	}
	if k.changed("target-sag-pct") {
		q.TargetShare = spring.Share(k.targetPct)
	}
	if k.changed("target-sag-mm") {
		q.TargetShare = spring.ShareOf(spring.MM(k.targetMM), q.TravelM)
		if !(q.TargetShare > 0 && q.TargetShare < 0.8) {
			return usagef("usual are 15 to 35 % of travel", "--target-sag-mm %g: must lie between 0 and 80 %% of travel", k.targetMM)
		}
	}
	return nil
}

// describe takes over what the fork file says about the spring, typical dimensions where it says none.
func (k *springCmd) describe(q *spring.Question, s *ingest.Spring) error {
	if s == nil {
		s = &ingest.Spring{Kind: ingest.SpringAir}
	}
	if s.Kind == ingest.SpringCoil {
		q.Coil = &spring.Coil{Rate: spring.NPerMM(s.RateNMM), PreloadM: spring.MM(s.PreloadMM)}
		q.Chambers.FrictionN = s.FrictionN
		if k.changed("pressure-psi") || k.changed("pressure-bar") || len(k.measured) > 0 {
			return usagef("leave pressures out, or mend [spring] in the fork file", "the fork file describes a coil")
		}
		return nil
	}
	c := spring.Typical(q.TravelM)
	q.Basis = spring.BasisTypical
	if s.PositiveAreaCM2 > 0 {
		q.Basis = spring.BasisGiven
		c.PositiveAreaM2, c.PositiveVolumeM3 = spring.CM2(s.PositiveAreaCM2), spring.CM3(s.PositiveVolumeCM3)
		c.NegativeAreaM2, c.SpacerM3 = spring.CM2(s.NegativeAreaCM2), 0
		if s.NegativeVolumeCM3 > 0 || s.Negative == ingest.NegativeNone {
			c.NegativeVolumeM3 = spring.CM3(s.NegativeVolumeCM3)
		}
	}
	c.Feed, c.TransferM = cmp.Or(s.Negative, spring.SelfEqualised), spring.MM(s.TransferMM)
	if s.SpacerCM3 > 0 {
		c.SpacerM3 = spring.CM3(s.SpacerCM3)
	}
	c.Spacers, c.MaxSpacers = s.Spacers, s.MaxSpacers
	if k.changed("spacers") {
		c.Spacers = k.spacers
	}
	c.Exponent, c.StaticExponent = cmp.Or(s.Exponent, c.Exponent), cmp.Or(s.StaticExponent, c.StaticExponent)
	c.FrictionN, c.MaxPressure = s.FrictionN, spring.PSI(s.MaxPressurePSI)
	q.Chambers = c
	if c.Feed == spring.Separate && !(q.Negative > 0) {
		return usagef("give --negative-psi or --negative-bar", "the fork file says that the negative chamber has a pump of its own, but its pressure is not given")
	}
	if c.Feed != spring.Separate && q.Negative > 0 {
		return usagef(`say negative = "separate" under [spring] in the fork file`, "a pressure of the negative chamber is given, but it is not pumped separately")
	}
	return k.fit(q, s)
}

// fit finds the negative chamber from measured pairs, where there are any.
func (k *springCmd) fit(q *spring.Question, s *ingest.Spring) error {
	var pairs []spring.Measured
	for _, m := range s.Measured {
		pairs = append(pairs, spring.Measured{Pressure: spring.PSI(m.PressurePSI), SagM: spring.MM(m.SagMM)})
	}
	if len(k.measured) > 0 {
		pairs = nil
	}
	for _, text := range k.measured {
		m, err := parsePair(text)
		if err != nil {
			return err
		}
		pairs = append(pairs, m)
	}
	if len(pairs) == 0 {
		return nil
	}
	if s.NegativeVolumeCM3 > 0 || s.Negative == ingest.NegativeNone {
		return usagef("leave --measured out", "the fork file gives the negative chamber already")
	}
	for _, m := range pairs {
		if err := q.Chambers.Allow(m.Pressure, fmt.Sprintf("a measured pressure, %s,", m.Pressure)); err != nil {
			return springHint(err)
		}
	}
	pa, err := k.set.AtmospherePa()
	if err != nil {
		return err
	}
	found, err := spring.FitChambers(q.Chambers, pairs, q.Negative, pa)
	if err != nil {
		return fmt.Errorf("measured pairs: %w", err)
	}
	q.Chambers, q.Basis, q.FitRMSM = found.Chambers, spring.BasisFitted, found.RMSM
	if !(q.SagM > 0) {
		q.LoadN, q.LoadFrom = found.LoadN, "the measured pairs"
	}
	return nil
}

// parsePair reads PSI:MM.
func parsePair(text string) (spring.Measured, error) {
	psi, mm, ok := strings.Cut(text, ":")
	p, err1 := strconv.ParseFloat(psi, 64)
	x, err2 := strconv.ParseFloat(mm, 64)
	if !ok || err1 != nil || err2 != nil || !(p > 0) || !(x > 0) {
		return spring.Measured{}, usagef("for example --measured 70:44", "--measured %q: must be PSI:MM, a pressure and the sag with it", text)
	}
	return spring.Measured{Pressure: spring.PSI(p), SagM: spring.MM(x)}, nil
}

// fromLogs takes sag and friction from a sag log, and bottom-outs from a run.
func (k *springCmd) fromLogs(ctx context.Context, q *spring.Question) error {
	if k.sagLog == "" && k.runLog == "" {
		return nil
	}
	var logs []string
	for _, l := range []string{k.sagLog, k.runLog} {
		if l != "" {
			logs = append(logs, l)
		}
	}
	p := &pipeline{input: k.input, changed: k.changed, options: analyze.DefaultOptions(), progress: newProgress(k.err, len(logs), totalSize(logs), k.quiet)}
	defer p.progress.clear()
	if k.sagLog != "" {
		sag, err := p.sagFrom(ctx, k.sagLog)
		if err != nil {
			return err
		}
		q.SagM, q.BandM, q.LoadFrom = spring.MM(sag.SagMM), spring.MM(sag.FrictionBandMM.Or(0)), "the "+sag.Source
	}
	if k.runLog == "" {
		return nil
	}
	run, err := p.analyse(ctx, k.runLog)
	if err != nil {
		return err
	}
	if sag, ok := run.result.Sag.StaticMM.Get(); ok && !(q.SagM > 0) && !(q.LoadN > 0) && !k.changed("rider-kg") && !k.changed("load-n") {
		q.SagM, q.LoadFrom = spring.MM(sag), "the static sag of the run"
	}
	opening := spring.Share(run.result.Options.BottomOpenPct)
	for _, b := range run.result.Travel.Bottoms {
		q.Bottoms = append(q.Bottoms, spring.Bottoming{OpenM: opening * q.TravelM, EntryMS: spring.MM(b.EntryMMS)})
	}
	if len(q.Bottoms) == 0 && !k.quiet {
		p.progress.clear()
		fmt.Fprintf(k.err, "%s: the fork never bottomed out in this run\n", k.runLog)
	}
	return nil
}

// load works the load out where there is no measured sag.
func (k *springCmd) load(q *spring.Question) error {
	if q.HeadDeg == 0 {
		q.HeadDeg = usualHeadDeg
		q.HeadUsed = fmt.Sprintf("The head angle is not known: %g° was taken (common practice, no source)", q.HeadDeg)
	}
	switch {
	case q.SagM > 0 || q.LoadN > 0:
		return nil
	case k.changed("load-n"):
		q.LoadN, q.LoadFrom = k.loadN, "given by hand"
	case k.changed("rider-kg"):
		n, err := spring.LoadN(k.riderKg+k.bikeKg, spring.Share(k.frontPct), q.HeadDeg)
		if err != nil {
			return usagef("for example --rider-kg 78 --bike-kg 16 --front-share-pct 40", "%w", err)
		}
		q.LoadN, q.LoadFrom = n, fmt.Sprintf("rider of %g kg and bike of %g kg, %g %% of them on the fork", k.riderKg, k.bikeKg, k.frontPct)
	}
	return nil
}
