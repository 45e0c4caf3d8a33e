package report

import (
	"math"

	"stanchion/analyze"
)

// A measure writes the values of one figure, all with the same unit and decimals, so that they can be set side by side.
type measure struct {
	factor   float64
	decimals int
	unit     string
}

// measureFor chooses the unit and the decimals for a figure of the given unit (of analyze.Scalar) from the size of its values and
// the detail worth showing, such as half the width of an interval: about two digits of it.
func measureFor(unit string, size, detail float64) measure {
	m := measure{factor: 1, unit: unit}
	switch unit {
	case "s":
		if size < 2 {
			m.factor, m.unit = 1000, "ms"
		}
	case "share":
		m.factor, m.unit = 100, "%"
	case "1/min":
		m.unit = "per min"
	}
	detail *= m.factor
	if !(detail > 0) {
		detail = 0.1 * size * m.factor
	}
	if detail > 0 {
		m.decimals = int(max(0, min(4, 1-math.Floor(math.Log10(detail)))))
	}
	switch { // finer than this no sensor is
	case m.unit == "mm" || m.unit == "ms" || m.unit == "%" || m.unit == "Hz" || m.unit == "per min":
		m.decimals = min(m.decimals, 1)
	case m.unit == "mm/s":
		m.decimals = 0
	}
	return m
}

// measureOf chooses the measure of figures that belong together. detail may be absent.
func measureOf(unit string, detail analyze.Figure, list ...analyze.Figure) measure {
	size := 0.0
	for _, f := range list {
		size = max(size, math.Abs(f.Or(0)))
	}
	return measureFor(unit, size, math.Abs(detail.Or(0)))
}

func (m measure) number(v float64) string { return fixed(v*m.factor, m.decimals) }

// signed writes v with its sign, also where it is positive.
func (m measure) signed(v float64) string {
	s := m.number(v)
	if v > 0 && s != fixed(0, m.decimals) {
		return "+" + s
	}
	return s
}

func (m measure) withUnit(s string) string {
	if m.unit == "" {
		return s
	}
	return s + gap + m.unit
}

func (m measure) text(v float64) string   { return m.withUnit(m.number(v)) }
func (m measure) change(v float64) string { return m.withUnit(m.signed(v)) }

// interval writes both ends, "" where they are absent.
func (m measure) interval(low, high analyze.Figure) string {
	lo, okLo := low.Get()
	hi, okHi := high.Get()
	if !okLo || !okHi {
		return ""
	}
	return m.signed(lo) + " to " + m.signed(hi)
}
