package report

import (
	"fmt"

	"github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"

	"stanchion/analyze/spring"
)

// curvesPart draws force, rate and energy over travel.
func curvesPart(a *spring.Answer) (part, error) {
	p := part{ID: "curves", Title: "Force, rate and energy"}
	for _, d := range []struct {
		id, title, axis, unit, read string
		decimals                    int
		of                          func(*spring.Curve) []float64
	}{
		{"spring-force", "Force over travel", "Force, N", "N", "Steeper at the end = firmer last of the travel. The dotted line is the load: a fork at rest sags to about where it meets the curve, a little deeper, since gas at rest is softer.", 0,
			func(c *spring.Curve) []float64 { return c.ForceN }},
		{"spring-rate", "Rate over travel", "Rate, N/mm", "N/mm", "The slope of the force: how much firmer each millimetre is than the last.", 2,
			func(c *spring.Curve) []float64 { return c.RateNMM }},
		{"spring-energy", "Energy over travel", "Energy, J", "J", "What the spring takes up from full extension to this depth: what a hit has to bring to get there, damping left out.", 1,
			func(c *spring.Curve) []float64 { return c.EnergyJ }},
	} {
		read := d.read
		load := 0.0
		if d.id == "spring-force" {
			load = a.LoadN
			if a.Kind == "coil" {
				read = "The dotted line is the load: at rest the fork sags to where it meets the curve."
			}
		}
		v, err := springView(a, d.axis, d.unit, d.decimals, load, d.of)
		if err != nil {
			return p, err
		}
		c := &chart{ID: d.id, Height: 320, Views: []view{v}, Label: "Line chart: " + d.axis + " over travel in mm. The table below holds the same numbers."}
		p.Blocks = append(p.Blocks, block{ID: d.id, Title: d.title, Chart: c, Read: read, Wide: true, Behind: []table{springNumbers(a, d.title, d.unit, d.decimals, d.of)}})
	}
	return p, nil
}

// springLines tell curves apart by colour and by line.
func springLines(i int) (colour, kind string) {
	switch i {
	case 0:
		return colourA, "solid"
	case 1:
		return colourB, "dashed"
	}
	return colourSag, "dotted"
}

func springView(a *spring.Answer, axis, unit string, decimals int, load float64, of func(*spring.Curve) []float64) (view, error) {
	line := charts.NewLine()
	x := xAxis("value", "Travel, mm (right = deeper)", nil)
	x.Min, x.Max = 0, round(a.TravelMM, 6)
	line.SetGlobalOptions(append(common(true), charts.WithXAxisOpts(x), charts.WithYAxisOpts(yAxis("value", axis)),
		charts.WithTooltipOpts(opts.Tooltip{Show: opts.Bool(true), Trigger: "axis"}))...)
	var names []string
	for i := range a.Curves {
		c := &a.Curves[i]
		colour, kind := springLines(i)
		values := of(c)
		data := make([]opts.LineData, len(values))
		for j, v := range values {
			name := fmt.Sprintf("%s: %s%s%s", sentence(c.Name), fixed(v, decimals), gap, unit)
			if i == 0 {
				name = "At " + mm(c.TravelMM[j]) + ". " + name
			}
			data[j] = opts.LineData{Name: name, Value: [2]any{round(c.TravelMM[j], 6), round(v, 5)}}
		}
		names = append(names, sentence(c.Name))
		line.AddSeries(sentence(c.Name), data,
			charts.WithLineChartOpts(opts.LineChart{Symbol: []string{"circle", "diamond", "triangle"}[min(i, 2)], SymbolSize: 7, ShowSymbol: opts.Bool(false)}),
			charts.WithLineStyleOpts(opts.LineStyle{Color: colour, Width: 2.5, Type: kind}), charts.WithItemStyleOpts(opts.ItemStyle{Color: colour}))
	}
	return finish(line, "", "name", func(m map[string]any) {
		travelTicks(m, "xAxis", 0, 20, a.TravelMM)
		legend := m["legend"].(map[string]any)
		legend["data"], legend["itemWidth"] = names, 34
		if len(names) > 2 { // two lines of legend on a phone
			item(m, "grid", 0)["top"] = "76"
		}
		if load > 0 {
			item(m, "series", 0)["markLine"] = map[string]any{"silent": true, "symbol": []string{"none", "none"}, "data": []any{map[string]any{"yAxis": round(load, 4)}},
				"lineStyle": map[string]any{"color": colourMuted, "type": "dotted", "width": 2},
				"label":     map[string]any{"formatter": "load", "position": "insideEndTop", "color": colourInk, "fontSize": 12}}
		}
	})
}

// springTableStep is the number of points of a curve between rows of its table.
const springTableStep = 8

// springNumbers is the table behind a chart.
func springNumbers(a *spring.Answer, caption, unit string, decimals int, of func(*spring.Curve) []float64) table {
	t := table{Caption: caption, Heads: []head{{Text: "Travel", Unit: "mm", Number: true}}}
	for i := range a.Curves {
		t.Heads = append(t.Heads, head{Text: sentence(a.Curves[i].Name), Unit: unit, Number: true})
	}
	for j := 0; j < len(a.Curves[0].TravelMM); j += springTableStep {
		cells := []string{fixed(a.Curves[0].TravelMM[j], 0)}
		for i := range a.Curves {
			cells = append(cells, fixed(of(&a.Curves[i])[j], decimals))
		}
		t.Rows = append(t.Rows, texts(cells...))
	}
	return t
}
