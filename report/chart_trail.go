package report

import (
	"fmt"
	"math"
	"sort"

	"github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"

	"stanchion/analyze/compare"
)

// stripColumns is how many places along the trail the strip shows at most.
const stripColumns = 400

// A strip is one signal of every run of a set along the trail, thinned to columns.
type strip struct{ mean, low, high []float64 }

// A stripSignal is what is drawn along the trail.
type stripSignal struct {
	label, axis string
	words       format
	key         string // of the section figure that marks where B differs
	up          bool   // deeper is up, not down
	read        func(r *compare.Run, from, to float64) (float64, bool)
}

func stripSignals() []stripSignal {
	return []stripSignal{
		{"Roughness", "Roughness, RMS mm/s", mmps, "rough.median_mm_s", true, roughBetween},
		{"Travel", "Travel, mm (deeper = lower)", mm, "sag.dynamic_mean_mm", false, travelBetween},
	}
}

// roughBetween is the mean roughness of a run between two of its times.
func roughBetween(r *compare.Run, from, to float64) (float64, bool) {
	cell := r.Result.Options.CellS
	return meanBetween(r, from, to, 1/cell, func(segment int) []float64 { return r.Signals.Segments[segment].RMSMMS })
}

// travelBetween is the mean travel of a run between two of its times.
func travelBetween(r *compare.Run, from, to float64) (float64, bool) {
	return meanBetween(r, from, to, r.Signals.RateHz, func(segment int) []float64 { return r.Signals.Segments[segment].TravelMM })
}

// meanBetween is the mean of a signal of the given rate between two times; ok is false where it has no sample there.
func meanBetween(r *compare.Run, from, to, rate float64, signal func(segment int) []float64) (mean float64, ok bool) {
	sum, n := 0.0, 0
	for i := range r.Signals.Segments {
		x, start := signal(i), r.Signals.Segments[i].StartS
		lo := int(max(0, math.Floor((from-start)*rate)))
		hi := int(min(float64(len(x)), math.Ceil((to-start)*rate)))
		for k := lo; k < hi; k++ {
			sum += x[k]
			n++
		}
	}
	return sum / float64(max(1, n)), n > 0
}

// stripOf thins a signal of the runs of a set to n columns between two common times. NaN marks columns that a run has nothing for.
func stripOf(runs []compare.Run, align []compare.RunAlignment, s stripSignal, from, to float64, n int) strip {
	out := strip{make([]float64, n), make([]float64, n), make([]float64, n)}
	for k := range n {
		a, b := from+(to-from)*float64(k)/float64(n), from+(to-from)*float64(k+1)/float64(n)
		low, high, sum := math.Inf(1), math.Inf(-1), 0.0
		for i := range runs {
			v, ok := s.read(&runs[i], align[i].At(a), align[i].At(b))
			if !ok {
				v = math.NaN()
			}
			low, high, sum = min(low, v), max(high, v), sum+v
		}
		out.low[k], out.high[k], out.mean[k] = low, high, sum/float64(len(runs))
	}
	return out
}

// trailPart draws A over B along the trail and lists the sections.
func trailPart(c *compare.Comparison, s Sets) (part, error) {
	p := part{ID: "trail", Title: "Along the trail"}
	drawable := c.Alignment.Refused == "" && len(c.Alignment.Runs) == len(s.A)+len(s.B)
	for _, r := range append(append([]compare.Run(nil), s.A...), s.B...) {
		drawable = drawable && r.Signals != nil
	}
	if !drawable {
		why := "the signals of the runs are not at hand"
		if c.Alignment.Refused != "" {
			why = c.Alignment.Refused
		}
		p.Blocks = []block{{ID: "strip", Title: "A over B", NoChart: "The runs are not lined up: " + why + ".", Wide: true}}
		return p, nil
	}
	ch, err := stripChart(c, s)
	if err != nil {
		return p, err
	}
	read := "Every run is shown at the place of the trail where it was, whatever its pace. Shaded sections are those in which B clearly differs in what is drawn: ▲ higher in B, ▼ lower in B."
	if len(c.A) == 1 && len(c.B) == 1 {
		read = "Both runs are shown at the place of the trail where they were, whatever their pace. With one run a side no section can be judged, so none is marked."
	} else if !anySectionClear(c) {
		read += " In no section does B clearly differ."
	}
	p.Blocks = []block{{ID: "strip", Title: "A over B", Read: read, Chart: ch, Wide: true, Tables: sectionTables(c)}}
	return p, nil
}

func anySectionClear(c *compare.Comparison) bool {
	for i := range c.Sections {
		for k := range c.Sections[i].Figures {
			if differs, _ := isClear(&c.Sections[i].Figures[k].Estimate); differs {
				return true
			}
		}
	}
	return false
}

func stripChart(c *compare.Comparison, s Sets) (*chart, error) {
	al := &c.Alignment
	n := max(1, min(stripColumns, int((al.EndS-al.StartS)*4)))
	out := &chart{ID: "strip", Height: 430, Label: "Line charts along the trail: A above, B below, on the same scale; sections in which B clearly differs are shaded. The table below lists the sections."}
	for _, sig := range stripSignals() {
		a := stripOf(s.A, al.Runs[:len(s.A)], sig, al.StartS, al.EndS, n)
		b := stripOf(s.B, al.Runs[len(s.A):], sig, al.StartS, al.EndS, n)
		v, err := stripView(c, sig, a, b)
		if err != nil {
			return nil, err
		}
		out.Views = append(out.Views, v)
	}
	return out, nil
}

func stripView(c *compare.Comparison, sig stripSignal, a, b strip) (view, error) {
	al := &c.Alignment
	n := len(a.mean)
	when := func(k int) float64 { return al.StartS + (al.EndS-al.StartS)*(float64(k)+0.5)/float64(n) }
	line := charts.NewLine()
	upper := xAxis("value", "", nil)
	upper.Min, upper.Max = round(al.StartS, 6), round(al.EndS, 6)
	upper.AxisLabel.Show = opts.Bool(false)
	lower := xAxis("value", "Time along the trail, min:s", nil)
	onlyRound(lower.AxisLabel)
	lower.Min, lower.Max, lower.GridIndex, lower.NameGap = upper.Min, upper.Max, 1, 28
	ya, yb := yAxis("value", "A: "+sig.axis), yAxis("value", "B: "+sig.axis)
	yb.GridIndex = 1
	top := niceTop(a.high, b.high)
	for _, y := range []*opts.YAxis{&ya, &yb} {
		y.Min, y.Max = 0, top
		if !sig.up {
			y.Inverse, y.NameLocation = opts.Bool(true), "start"
		}
	}
	line.SetGlobalOptions(charts.WithAnimation(false), charts.WithTooltipOpts(opts.Tooltip{Show: opts.Bool(true), Trigger: "axis"}),
		charts.WithLegendOpts(opts.Legend{Show: opts.Bool(false)}),
		charts.WithGridOpts(opts.Grid{Left: "52", Right: "14", Top: "46", Height: "140"}, opts.Grid{Left: "52", Right: "14", Top: "232", Height: "140"}),
		charts.WithXAxisOpts(upper), charts.WithYAxisOpts(ya))
	line.ExtendXAxis(lower)
	line.ExtendYAxis(yb)
	for i, set := range []struct {
		name, colour, kind string
		s                  strip
	}{{"A", colourA, "solid", a}, {"B", colourB, "dashed", b}} {
		data := make([]opts.LineData, n)
		for k := range data {
			data[k] = opts.LineData{Name: stripWords(set.name, when(k), sig, set.s, k), Value: [2]any{round(when(k), 6), drawn(set.s.mean[k])}}
		}
		line.AddSeries(set.name, data,
			charts.WithLineChartOpts(opts.LineChart{XAxisIndex: i, YAxisIndex: i, Symbol: "circle", ShowSymbol: opts.Bool(false)}),
			charts.WithLineStyleOpts(opts.LineStyle{Color: set.colour, Width: 1.6, Type: set.kind}),
			charts.WithItemStyleOpts(opts.ItemStyle{Color: set.colour}))
	}
	return finish(line, sig.label, "name", func(m map[string]any) {
		for i := range 2 {
			item(m, "xAxis", i)["clock"] = true // the page writes these labels as min:s
			item(m, "series", i)["z"] = 3
			item(m, "yAxis", i)["interval"] = top / 3
		}
		item(m, "series", 0)["markArea"] = differsAreas(c, sig.key, true)
		item(m, "series", 1)["markArea"] = differsAreas(c, sig.key, false)
		at := make([]float64, n)
		for k := range at {
			at[k] = when(k)
		}
		upper, lower := bandAxis(m, 0), bandAxis(m, 1)
		m["series"] = append(m["series"].([]any), append(bandSeries(at, a.low, a.high, upper, 0, "@set-a-soft"), bandSeries(at, b.low, b.high, lower, 1, "@set-b-soft")...)...)
		m["axisPointer"] = map[string]any{"link": []any{map[string]any{"xAxisIndex": []int{0, 1}}}}
	})
}

// drawn is a value for the drawing, or the mark of a missing one.
func drawn(v float64) any {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "-"
	}
	return round(v, 4)
}

// niceTop is a round number, three round steps, over all values of both lists.
func niceTop(lists ...[]float64) float64 {
	top := 0.0
	for _, l := range lists {
		for _, v := range l {
			if v > top && !math.IsInf(v, 0) {
				top = v
			}
		}
	}
	if top == 0 {
		return 3
	}
	unit := math.Pow(10, math.Floor(math.Log10(top)))
	for _, nice := range []float64{1.2, 1.5, 1.8, 2.4, 3, 4.5, 6, 7.5, 9} {
		if nice*unit >= top {
			return round(nice*unit, 6)
		}
	}
	return 12 * unit
}

func stripWords(name string, t float64, sig stripSignal, s strip, k int) string {
	if math.IsNaN(s.mean[k]) {
		return ""
	}
	words := name + ": " + sig.words(s.mean[k])
	if s.high[k] > s.low[k] {
		words += " (runs from " + fixed(s.low[k], 0) + " to " + sig.words(s.high[k]) + ")"
	}
	return "At " + clock(t) + ", " + words
}

// differsAreas shades the sections in which a figure clearly differs, named by a mark above the upper strip.
func differsAreas(c *compare.Comparison, key string, named bool) map[string]any {
	data := [][2]map[string]any{}
	for i := range c.Sections {
		s := &c.Sections[i]
		for k := range s.Figures {
			f := &s.Figures[k]
			differs, higher := isClear(&f.Estimate)
			if f.Key != key || !differs {
				continue
			}
			mark := "▼"
			if higher {
				mark = "▲"
			}
			if !named {
				mark = ""
			}
			data = append(data, [2]map[string]any{
				{"name": mark, "xAxis": round(s.StartS, 7), "itemStyle": map[string]any{"color": "@differs", "borderColor": colourMuted, "borderWidth": 1}, "label": map[string]any{"position": "top"}},
				{"xAxis": round(s.EndS, 7)},
			})
		}
	}
	return map[string]any{"silent": true, "label": map[string]any{"color": colourInk, "fontSize": 13}, "data": data}
}

// sectionTables list the sections: first those in which B clearly differs, then all.
func sectionTables(c *compare.Comparison) []table {
	if len(c.Sections) == 0 {
		return nil
	}
	heads := []head{{Text: "Section", Number: true}, {Text: "Along the trail", Words: true}}
	for _, f := range c.Sections[0].Figures {
		heads = append(heads, head{Text: sentence(f.Label) + ", B − A", Unit: f.Unit, Number: true})
	}
	t := table{Caption: "Sections of the trail; ▲ ▼ where B clearly differs", Heads: heads}
	order := make([]int, len(c.Sections))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(i, j int) bool { return clearFigures(&c.Sections[order[i]]) > clearFigures(&c.Sections[order[j]]) })
	for _, i := range order {
		s := &c.Sections[i]
		where := clock(s.StartS) + "–" + clock(s.EndS)
		if a, ok := s.StartM.Get(); ok {
			if b, ok := s.EndM.Get(); ok {
				where += fmt.Sprintf(" (%s–%s)", fixed(a, 0), metres(b))
			}
		}
		row := texts(fmt.Sprint(i+1), where)
		for k := range s.Figures {
			row.Cells = append(row.Cells, sectionCell(&s.Figures[k]))
		}
		t.Rows = append(t.Rows, row)
	}
	return []table{t}
}

func clearFigures(s *compare.Section) int {
	n := 0
	for k := range s.Figures {
		if differs, _ := isClear(&s.Figures[k].Estimate); differs {
			n++
		}
	}
	return n
}

func sectionCell(f *compare.SectionDifference) cell {
	v, ok := f.Difference.Get()
	if !ok {
		return cell{Text: absentMark, Note: f.Difference.Reason()}
	}
	decimals := 0
	if f.Unit != "mm/s" {
		decimals = 1
	}
	m := measure{1, decimals, ""}
	s := m.signed(v)
	switch differs, higher := isClear(&f.Estimate); {
	case differs && higher:
		s = "▲ " + s
	case differs:
		s = "▼ " + s
	}
	c := text(s)
	if i := m.interval(f.Low, f.High); i != "" {
		c.Note = i
	}
	return c
}
