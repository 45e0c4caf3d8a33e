package report

import (
	"fmt"
	"math"

	"github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"

	"stanchion/analyze/compare"
)

// responseChart draws one figure over the positions of the adjuster, nil where it has no points.
func responseChart(s *compare.SweepResult, r *compare.Response, id string) (*chart, error) {
	if len(r.Points) == 0 {
		return nil, nil
	}
	m := responseMeasure(r)
	first, last := s.Positions[0], s.Positions[len(s.Positions)-1]
	pad := 0.04 * (last - first)
	x := xAxis("value", sentence(s.Adjuster.Name)+", "+plural(s.Adjuster.Unit)+fromClosed(s.Adjuster.Unit), nil)
	x.Min, x.Max = round(first-pad, 6), round(last+pad, 6)
	onlyRound(x.AxisLabel)
	unit := m.unit
	if unit != "" {
		unit = ", " + unit
	}
	y := yAxis("value", sentence(r.Label)+unit)
	y.Scale = opts.Bool(true)
	sc := charts.NewScatter()
	sc.SetGlobalOptions(append(common(false), charts.WithXAxisOpts(x), charts.WithYAxisOpts(y))...)
	var runs, means []opts.ScatterData
	for i, f := range r.Values {
		if v, ok := f.Get(); ok {
			runs = append(runs, opts.ScatterData{Name: fmt.Sprintf("%s at %s %s: %s", runName(s.Runs[i].Name), plainNumber(s.Runs[i].Clicks), plural(s.Adjuster.Unit), m.text(v)),
				Value: []any{s.Runs[i].Clicks, round(v*m.factor, 6)}})
		}
	}
	for _, p := range r.Points {
		means = append(means, opts.ScatterData{Name: pointWords(s, &p, m), Value: []any{p.Clicks, round(p.Mean.Or(0)*m.factor, 6)}})
	}
	sc.AddSeries("Run", runs, charts.WithScatterChartOpts(opts.ScatterChart{Symbol: "circle", SymbolSize: 7}), charts.WithItemStyleOpts(opts.ItemStyle{Color: "@sheet"}))
	sc.AddSeries("Mean", means, charts.WithScatterChartOpts(opts.ScatterChart{Symbol: "diamond", SymbolSize: 13}), charts.WithItemStyleOpts(opts.ItemStyle{Color: colourA}))
	v, err := finish(sc, "", "name", func(o map[string]any) {
		item(o, "series", 0)["markArea"] = deadAreas(r)
		item(o, "series", 1)["markLine"] = responseBars(r, m)
		item(o, "series", 1)["z"] = 5
		hollow(item(o, "series", 0))
		o["series"] = append(o["series"].([]any), responseFit(r, m))
		lo, hi := responseEnds(r, m)
		axis := item(o, "yAxis", 0)
		axis["min"], axis["max"] = lo, hi
	})
	if err != nil {
		return nil, err
	}
	return &chart{ID: id, Height: 300, Views: []view{v},
		Label: fmt.Sprintf("Dot plot with intervals: %s over the position of %s. The table below holds the same numbers.", r.Label, s.Adjuster.Name)}, nil
}

// fromClosed says how clicks are counted.
func fromClosed(unit string) string {
	if unit == "" || unit == "click" {
		return " from closed"
	}
	return ""
}

func pointWords(s *compare.SweepResult, p *compare.Point, m measure) string {
	t := fmt.Sprintf("At %s %s: mean %s over %s", plainNumber(p.Clicks), plural(s.Adjuster.Unit), m.text(p.Mean.Or(0)), counted(p.Runs, "run", "runs"))
	lo, okLo := p.Low.Get()
	hi, okHi := p.High.Get()
	if okLo && okHi {
		t += ", 95 % interval " + m.number(lo) + " to " + m.text(hi)
	}
	return t
}

// responseEnds are round ends of the value axis that hold every run and the means with their intervals.
func responseEnds(r *compare.Response, m measure) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	add := func(v float64, ok bool) {
		if ok {
			lo, hi = min(lo, v*m.factor), max(hi, v*m.factor)
		}
	}
	for _, p := range r.Points {
		add(p.Low.Get())
		add(p.High.Get())
		add(p.Mean.Get())
	}
	for _, f := range r.Values {
		add(f.Get())
	}
	if hi <= lo {
		return lo - 1, lo + 1
	}
	step := math.Pow(10, math.Floor(math.Log10(hi-lo))) / 2
	return round(math.Floor(lo/step)*step, 6), round(math.Ceil(hi/step)*step, 6)
}

// deadAreas marks dead stretches and those that look dead but are not sure.
func deadAreas(r *compare.Response) map[string]any {
	data := [][2]map[string]any{}
	add := func(list []compare.Range, name, colour string) {
		for _, d := range list {
			data = append(data, [2]map[string]any{
				{"name": name, "xAxis": d.From, "itemStyle": map[string]any{"color": colour, "borderColor": colourMuted, "borderWidth": 1, "borderType": "dashed"},
					"label": map[string]any{"position": "insideTop"}},
				{"xAxis": d.To},
			})
		}
	}
	add(r.Dead, "dead", "@dead")
	add(r.Unsure, "unsure", "transparent")
	return map[string]any{"silent": true, "label": map[string]any{"color": colourInk, "fontSize": 12}, "data": data}
}

// responseBars are the intervals of the means.
func responseBars(r *compare.Response, m measure) map[string]any {
	data := []any{}
	for _, p := range r.Points {
		lo, okLo := p.Low.Get()
		hi, okHi := p.High.Get()
		if okLo && okHi {
			data = append(data, [2]map[string]any{{"coord": []any{p.Clicks, round(lo*m.factor, 6)}}, {"coord": []any{p.Clicks, round(hi*m.factor, 6)}}})
		}
	}
	return map[string]any{"silent": true, "symbol": []string{"none", "none"}, "label": map[string]any{"show": false},
		"lineStyle": map[string]any{"color": colourA, "width": 2, "type": "solid"}, "data": data}
}

// responseFit is the best fit that never turns back, as a dashed line.
func responseFit(r *compare.Response, m measure) map[string]any {
	data := []any{}
	for _, p := range r.Points {
		if v, ok := p.Isotonic.Get(); ok {
			data = append(data, []any{p.Clicks, round(v*m.factor, 6)})
		}
	}
	return map[string]any{"type": "line", "name": "Fit", "data": data, "symbol": "none", "silent": true, "z": 2, "tooltip": map[string]any{"show": false},
		"lineStyle": map[string]any{"color": colourMuted, "width": 1.5, "type": "dashed"}}
}

// crosstalkChart draws how strongly each adjuster moves each figure.
func crosstalkChart(m compare.Matrix) (*chart, error) {
	if len(m.Keys) == 0 {
		return nil, nil
	}
	var xs, ys []string
	for i := range m.Adjusters {
		xs = append(xs, sentence(m.Adjusters[i].Name))
	}
	var data []opts.HeatMapData
	top := 1.0
	for k, label := range m.Labels {
		ys = append(ys, unbroken(sentence(label)))
		for i := range m.Adjusters {
			v, ok := m.Ratio[i][k].Get()
			if !ok {
				continue
			}
			top = max(top, v)
			data = append(data, opts.HeatMapData{Name: crosstalkWords(&m, i, k), Value: []any{i, k, round(v, 4)}})
		}
	}
	if len(data) == 0 {
		return nil, nil
	}
	heat := charts.NewHeatMap()
	x, y := xAxis("category", "", xs), yAxis("category", "")
	x.Position = "top"
	y.Data, y.Inverse = ys, opts.Bool(true)
	heat.SetGlobalOptions(append(common(false), charts.WithXAxisOpts(x), charts.WithYAxisOpts(y),
		charts.WithVisualMapOpts(opts.VisualMap{Type: "continuous", Calculable: opts.Bool(false), Min: 0, Max: float32(math.Ceil(top)), Show: opts.Bool(false), Dimension: "2",
			InRange: &opts.VisualMapInRange{Color: []string{"@cross-0", "@cross-1", "@cross-2"}}}))...)
	heat.AddSeries("Response", data)
	v, err := finish(heat, "", "name", func(o map[string]any) {
		o["grid"].([]any)[0].(map[string]any)["bottom"] = "8"
		axis := item(o, "yAxis", 0)
		axis["axisTick"], axis["splitLine"] = map[string]any{"show": false}, map[string]any{"show": false}
		label := axis["axisLabel"].(map[string]any)
		label["width"], label["overflow"], label["hideOverlap"], label["lineHeight"] = 150, "break", false, 14
		axis["wide"] = labelColumn
		s := item(o, "series", 0)
		s["itemStyle"] = map[string]any{"borderColor": "@sheet", "borderWidth": 2}
		for i, d := range s["data"].([]any) {
			d := d.(map[string]any)
			d["label"] = map[string]any{"show": true, "formatter": crosstalkMark(&m, data[i].Value.([]any)), "color": colourInk}
		}
	})
	if err != nil {
		return nil, err
	}
	return &chart{ID: "crosstalk", Height: 60 + 46*len(ys), Views: []view{v},
		Label: "Heat map: how strongly each adjuster moves each figure. The table below holds the same numbers."}, nil
}

// crosstalkMark is the text in a field: the size of the response and what it should be, without colour.
func crosstalkMark(m *compare.Matrix, at []any) string {
	i, k := at[0].(int), at[1].(int)
	s := percent(100 * m.Ratio[i][k].Or(0))
	switch {
	case m.Crosstalk[i][k]:
		return "! " + s
	case m.Role[i][k] == compare.RoleShould:
		return "● " + s
	case m.Role[i][k] == compare.RoleShouldNot:
		return "○ " + s
	}
	return s
}

func crosstalkWords(m *compare.Matrix, i, k int) string {
	t := fmt.Sprintf("%s on %s: %s of the response of the figures that it should move", sentence(m.Adjusters[i].Name), m.Labels[k], percent(100*m.Ratio[i][k].Or(0)))
	if m.Role[i][k] != "" {
		t += "; it " + m.Role[i][k] + " this one"
	}
	if m.Crosstalk[i][k] {
		t += ", but clearly does"
	}
	return t
}
