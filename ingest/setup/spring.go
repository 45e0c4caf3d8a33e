package setup

import (
	"fmt"
	"math"
	"strings"

	"stanchion/ingest"
)

// Bounds of a spring's numbers: wide of any fork, so that a slip of unit or decimal point is found.
const (
	maxAreaCM2     = 50
	maxVolumeCM3   = 2000
	maxPressurePSI = 400
	maxMeasured    = 100
	psiPerBar      = 14.503773773 // 1e5 / 6894.757293168
)

// spring reads the table [spring]; travelMM is the fork's, 0 where it is not known.
func (c *checker) spring(s section, travelMM float64) *ingest.Spring {
	p := &ingest.Spring{Kind: ingest.SpringAir}
	before := len(c.problems)
	s.oneOf("kind", &p.Kind, ingest.SpringAir, ingest.SpringCoil)
	s.number("friction_n", &p.FrictionN, 0, 1000)
	if p.Kind == ingest.SpringCoil {
		if !s.number("rate_n_mm", &p.RateNMM, 0.1, 100) {
			c.add("spring.rate_n_mm", "is missing: a coil needs its rate in N/mm")
		}
		s.number("preload_mm", &p.PreloadMM, 0, 100)
		s.unknown()
		return p
	}
	s.oneOf("negative", &p.Negative, ingest.NegativeSelf, ingest.NegativeSeparate, ingest.NegativeNone)
	c.areas(s, p)
	s.number("positive_volume_cm3", &p.PositiveVolumeCM3, 1, maxVolumeCM3)
	s.number("negative_volume_cm3", &p.NegativeVolumeCM3, 0.1, maxVolumeCM3)
	s.number("transfer_mm", &p.TransferMM, 0, max(20, travelMM))
	s.number("spacer_cm3", &p.SpacerCM3, 0.1, 100)
	s.whole("spacers", &p.Spacers, 0, 20)
	s.whole("max_spacers", &p.MaxSpacers, 1, 20)
	s.number("exponent", &p.Exponent, 1, 1.4)
	s.number("static_exponent", &p.StaticExponent, 1, 1.4)
	s.pressure("max_pressure", &p.MaxPressurePSI)
	c.measured(s, p)
	s.unknown()
	if len(c.problems) == before {
		c.chambers(s, p, travelMM)
	}
	return p
}

// areas reads the piston areas, given as such or by the diameters of bore and shaft.
func (c *checker) areas(s section, p *ingest.Spring) {
	var bore, shaft float64
	circle := func(d float64) float64 { return math.Pi / 4 * d * d / 100 }
	area := s.number("positive_area_cm2", &p.PositiveAreaCM2, 0.5, maxAreaCM2)
	if s.number("bore_mm", &bore, 10, 80) {
		if area {
			c.add("spring.bore_mm", "and positive_area_cm2 say the same thing: leave one out")
		}
		p.PositiveAreaCM2 = circle(bore)
	}
	area = s.number("negative_area_cm2", &p.NegativeAreaCM2, 0.1, maxAreaCM2)
	if s.number("shaft_mm", &shaft, 1, 60) {
		switch {
		case area:
			c.add("spring.shaft_mm", "and negative_area_cm2 say the same thing: leave one out")
		case !s.has("bore_mm") && !s.has("positive_area_cm2"):
			c.add("spring.shaft_mm", "needs bore_mm: the negative chamber lies between shaft and bore")
		case circle(shaft) >= p.PositiveAreaCM2:
			c.add("spring.shaft_mm", "is %g: no room is left between shaft and bore", shaft)
		}
		p.NegativeAreaCM2 = p.PositiveAreaCM2 - circle(shaft)
	}
}

// pressure reads name_psi or name_bar, in psi.
func (s *section) pressure(name string, dst *float64) (there bool) {
	var bar float64
	psi := s.number(name+"_psi", dst, 1, maxPressurePSI)
	if s.number(name+"_bar", &bar, 0.1, math.Floor(maxPressurePSI/psiPerBar)) {
		if psi {
			s.c.add(join(s.path, name+"_bar"), "and %s_psi say the same thing: leave one out", name)
		}
		*dst = bar * psiPerBar
		return true
	}
	return psi
}

// measured reads pairs of pressure and sag.
func (c *checker) measured(s section, p *ingest.Spring) {
	for i, m := range s.sections("measured") {
		var pair ingest.MeasuredSag
		if !m.pressure("pressure", &pair.PressurePSI) {
			c.add(m.path+".pressure_psi", "is missing")
		}
		if !m.number("sag_mm", &pair.SagMM, 1, 300) {
			c.add(m.path+".sag_mm", "is missing")
		}
		m.unknown()
		if i >= maxMeasured {
			c.add("spring.measured", "are more than %d", maxMeasured)
			return
		}
		p.Measured = append(p.Measured, pair)
	}
	if n := len(p.Measured); n == 1 {
		c.add("spring.measured", "has one pair: two or more are needed, at pressures that differ by 10 %% or more")
	}
}

// chambers checks that the dimensions of an air spring fit together: all or none of them, and room for the piston.
func (c *checker) chambers(s section, p *ingest.Spring, travelMM float64) {
	alone := p.Negative == ingest.NegativeNone
	given := p.PositiveAreaCM2 > 0 || p.PositiveVolumeCM3 > 0 || p.NegativeAreaCM2 > 0 || p.NegativeVolumeCM3 > 0
	need := func(key string, there bool) {
		if given && !there {
			c.add("spring."+key, "is missing: give all dimensions of the chambers, or none of them, and typical ones are taken")
		}
	}
	need("positive_area_cm2", p.PositiveAreaCM2 > 0)
	need("positive_volume_cm3", p.PositiveVolumeCM3 > 0)
	need("negative_area_cm2", alone || p.NegativeAreaCM2 > 0)
	need("negative_volume_cm3", alone || p.NegativeVolumeCM3 > 0 || len(p.Measured) > 0)
	switch {
	case alone && (p.NegativeAreaCM2 > 0 || p.NegativeVolumeCM3 > 0 || len(p.Measured) > 0):
		c.add("spring.negative", `is "none", but dimensions or sags for a negative chamber are given`)
	case alone && !given:
		c.add("spring.negative", `is "none": then positive area and volume must be given, as an ordinary fork has a negative chamber`)
	case p.NegativeVolumeCM3 > 0 && len(p.Measured) > 0:
		c.add("spring.measured", "and negative_volume_cm3 both tell the negative chamber: leave one out")
	case p.MaxSpacers > 0 && p.Spacers > p.MaxSpacers:
		c.add("spring.spacers", "is %d, but max_spacers is %d", p.Spacers, p.MaxSpacers)
	case p.Spacers > 0 && given && p.SpacerCM3 == 0:
		c.add("spring.spacer_cm3", "is missing: without it spacers mean nothing")
	case p.TransferMM > 0 && (p.Negative == ingest.NegativeSeparate || alone):
		c.add("spring.transfer_mm", "is given, but the negative chamber is not fed by a port")
	}
	left, swept := p.PositiveVolumeCM3-float64(p.Spacers)*p.SpacerCM3, p.PositiveAreaCM2*travelMM/10
	if given && p.PositiveVolumeCM3 > 0 && left <= swept {
		c.add("spring.positive_volume_cm3", "less spacers leaves %.1f cm³, but the piston sweeps %.1f cm³ over the travel: look at area, volume and spacers", left, swept)
	}
	for i, m := range p.Measured {
		if travelMM > 0 && m.SagMM >= travelMM {
			c.add(fmt.Sprintf("spring.measured[%d].sag_mm", i+1), "is %g, but the fork has %g mm of travel", m.SagMM, travelMM)
		}
	}
}

// formatSpring writes the table [spring].
func formatSpring(b *strings.Builder, p *ingest.Spring) {
	fmt.Fprintf(b, "\n[spring]\nkind = %s\n", quote(p.Kind))
	for _, f := range []struct {
		key   string
		value float64
	}{
		{"rate_n_mm", p.RateNMM}, {"preload_mm", p.PreloadMM},
		{"positive_area_cm2", p.PositiveAreaCM2}, {"positive_volume_cm3", p.PositiveVolumeCM3},
		{"negative_area_cm2", p.NegativeAreaCM2}, {"negative_volume_cm3", p.NegativeVolumeCM3}, {"transfer_mm", p.TransferMM},
		{"spacer_cm3", p.SpacerCM3}, {"spacers", float64(p.Spacers)}, {"max_spacers", float64(p.MaxSpacers)},
		{"exponent", p.Exponent}, {"static_exponent", p.StaticExponent}, {"max_pressure_psi", p.MaxPressurePSI}, {"friction_n", p.FrictionN},
	} {
		if f.value != 0 {
			fmt.Fprintf(b, "%s = %s\n", f.key, number(f.value))
		}
	}
	if p.Negative != "" {
		fmt.Fprintf(b, "negative = %s\n", quote(p.Negative))
	}
	if len(p.Measured) > 0 {
		b.WriteString("measured = [\n")
		for _, m := range p.Measured {
			fmt.Fprintf(b, "  { pressure_psi = %s, sag_mm = %s },\n", number(m.PressurePSI), number(m.SagMM))
		}
		b.WriteString("]\n")
	}
}
