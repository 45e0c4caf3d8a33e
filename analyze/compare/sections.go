package compare

import (
	"math"

	"stanchion/analyze"
)

// maxSections bounds the sections of a trail: more would share out too little to say anything of each.
const maxSections = 24

// timeKey is the key of the time that a section took.
const timeKey = "section.time_s"

// sectionFigure is a figure compared section by section.
type sectionFigure struct{ key, label, unit string }

func sectionFigures() []sectionFigure {
	return []sectionFigure{
		{timeKey, "time", "s"},
		{"sag.dynamic_mean_mm", "dynamic sag, mean", "mm"},
		{"travel.q95_mm", "travel, 95 % quantile", "mm"},
		{"velocity.compression.q95_mm_s", "compression speed, 95 % quantile", "mm/s"},
		{"velocity.rebound.q95_mm_s", "rebound speed, 95 % quantile", "mm/s"},
		{"rough.median_mm_s", "roughness, median RMS", "mm/s"},
	}
}

// sections cuts the shared ground into parts of equal time of the reference and compares them. why says why there are none.
func (c *comparing) sections() (out []Section, why string) {
	out = []Section{}
	if c.units == nil {
		return out, c.alignment.Refused
	}
	n := len(c.units[0])
	parts := max(1, min(maxSections, int(math.Round(float64(n)/c.opt.SectionS))))
	for k := range parts {
		lo, hi := k*n/parts, (k+1)*n/parts
		out = append(out, c.section(lo, hi))
	}
	for i := range sectionFigures() {
		family := make([]*Estimate, len(out))
		for k := range out {
			family[k] = &out[k].Figures[i].Estimate
		}
		judge(family)
	}
	return out, ""
}

// section compares units [lo, hi).
func (c *comparing) section(lo, hi int) Section {
	al := &c.alignment
	s := Section{StartS: al.StartS + float64(lo), EndS: al.StartS + float64(hi)}
	s.StartM, s.EndM = c.distance(s.StartS), c.distance(s.EndS)
	byKey := map[string]partial{}
	for _, p := range partials() {
		byKey[p.key] = p
	}
	figures := sectionFigures()
	columns := make([][]analyze.Figure, len(figures))
	for i := range c.runs {
		g := newGauge(&c.runs[i])
		t := total(c.units[i][lo:hi])
		for k, f := range figures {
			columns[k] = append(columns[k], c.sectionValue(f.key, byKey, &t, &g, &al.Runs[i], &s))
		}
	}
	for k, f := range figures {
		s.Figures = append(s.Figures, SectionDifference{
			Key: f.key, Label: f.label, Unit: f.unit, Estimate: estimate(columns[k][:c.nA], columns[k][c.nA:]),
		})
	}
	return s
}

func (c *comparing) sectionValue(key string, byKey map[string]partial, t *tally, g *gauge, r *RunAlignment, s *Section) analyze.Figure {
	if key == timeKey {
		return analyze.Value(r.At(s.EndS)-r.At(s.StartS), 1)
	}
	v, ok := byKey[key].of(t, g)
	if !ok {
		return analyze.Absent("nothing to compute it from in this section")
	}
	return analyze.Value(v, int(t.sum[sumN]))
}

// distance is where the reference was at time t of its own, in m.
func (c *comparing) distance(t float64) analyze.Figure {
	r := &c.runs[c.alignment.reference]
	for _, s := range r.Signals.Segments {
		k := int((t - s.StartS) / r.Result.Options.CellS)
		if t >= s.StartS && k < len(s.DistanceM) {
			return analyze.Value(s.DistanceM[k], 1)
		}
	}
	return analyze.Absent("no distance channel and no speed channel")
}
