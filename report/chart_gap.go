package report

import (
	"fmt"
	"math"

	"github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"

	"stanchion/analyze/trail"
)

// gapPart draws the time lost along the line.
func gapPart(t *trail.Timing) (part, error) {
	p := part{ID: "gap", Title: "Where time was lost"}
	b := block{ID: "gap-chart", Title: "Gap over distance", Wide: true}
	var drawable []*trail.Gap
	for i := range t.Gaps {
		if len(t.Gaps[i].StationM) > 1 {
			drawable = append(drawable, &t.Gaps[i])
		}
	}
	switch {
	case t.By == "markers":
		b.NoChart = "Gates are markers, so there is nothing between them."
	case len(t.Runs) < 2:
		b.NoChart = "There is one run, so there is nothing to hold it against."
	case len(drawable) == 0:
		b.NoChart = "No two runs were placed on the same ground: " + t.Gaps[0].Why + "."
	}
	if b.NoChart != "" {
		p.Blocks = []block{b}
		return p, nil
	}
	o := t.Runs[t.Against].Name
	b.Read = "Where the line climbs, the run loses time on " + o + "; where it falls, it gains; where it is level, both ride alike. The band is twice the standard uncertainty to either side: what lies within it may be the receivers alone. Dashed uprights are the gates."
	c := &chart{ID: "gap", Height: 340, Label: "Line chart: time behind " + o + " against the station on the reference line, with a band of uncertainty"}
	for _, g := range drawable {
		v, err := gapView(t, g)
		if err != nil {
			return p, err
		}
		v.Along = "station"
		c.Views = append(c.Views, v)
	}
	b.Chart = c
	b.Behind = []table{gapTable(t, drawable)}
	p.Blocks = []block{b}
	return p, nil
}

func gapView(t *trail.Timing, g *trail.Gap) (view, error) {
	name, other := t.Runs[g.Run].Name, t.Runs[g.Against].Name
	x, y, low, high := broken(g, t.Options.GapStepM)
	data := make([]opts.LineData, len(x))
	d := timingDecimals(t)
	for k := range x {
		data[k] = opts.LineData{Value: [2]any{round(x[k], 6), drawn(y[k])}}
		if !math.IsNaN(y[k]) {
			data[k].Name = fmt.Sprintf("At %s, %s is %s"+gap+"s on %s, ±%s"+gap+"s", metres(x[k]), name, signedSeconds(y[k], d), other, fixed((high[k]-low[k])/4, d))
		}
	}
	line := charts.NewLine()
	axis := xAxis("value", "Station on the reference line, m", nil)
	axis.Min, axis.Max = round(t.Gates[0].StationM.Or(0), 6), round(t.Gates[len(t.Gates)-1].StationM.Or(0), 6)
	onlyRound(axis.AxisLabel)
	line.SetGlobalOptions(append(common(false), charts.WithXAxisOpts(axis), charts.WithYAxisOpts(yAxis("value", "Behind "+clip(other, 30)+", s (up = slower)")),
		charts.WithTooltipOpts(opts.Tooltip{Show: opts.Bool(true), Trigger: "axis"}))...)
	line.AddSeries(name, data,
		charts.WithLineChartOpts(opts.LineChart{Symbol: "circle", ShowSymbol: opts.Bool(false)}),
		charts.WithLineStyleOpts(opts.LineStyle{Color: colourA, Width: 2.2}),
		charts.WithItemStyleOpts(opts.ItemStyle{Color: colourA}))
	return finish(line, name, "name", func(m map[string]any) {
		item(m, "series", 0)["z"] = 3
		item(m, "grid", 0)["top"] = "50" // the names of the gates lie under that of the axis
		item(m, "yAxis", 0)["nameGap"] = 30
		item(m, "series", 0)["markLine"] = gateLines(t)
		m["series"] = append(m["series"].([]any), bandSeries(x, low, high, bandAxis(m, 0), 0, "@set-a-soft")...)
	})
}

// broken are the points of a gap with a break, NaN, where stations are missing.
func broken(g *trail.Gap, stepM float64) (x, y, low, high []float64) {
	add := func(s, v, sigma float64) {
		x, y, low, high = append(x, s), append(y, v), append(low, v-2*sigma), append(high, v+2*sigma)
	}
	for k, s := range g.StationM {
		if k > 0 && s-g.StationM[k-1] > 1.5*stepM {
			add((s+g.StationM[k-1])/2, math.NaN(), math.NaN())
		}
		add(s, g.GapS[k], g.SigmaS[k])
	}
	return x, y, low, high
}

// gateLines are the uprights at the gates and the line of no gap.
func gateLines(t *trail.Timing) map[string]any {
	data := []any{map[string]any{"yAxis": 0, "lineStyle": map[string]any{"color": colourInk, "type": "solid", "width": 1}, "label": map[string]any{"show": false}}}
	for i := range t.Gates {
		if v, ok := t.Gates[i].StationM.Get(); ok {
			data = append(data, map[string]any{"xAxis": round(v, 6), "name": t.Gates[i].Name,
				"label": map[string]any{"show": i > 0 && i < len(t.Gates)-1 && len(t.Gates) <= 12, "formatter": clip(t.Gates[i].Name, 14), "position": "end", "color": colourInk}})
		}
	}
	return map[string]any{"silent": true, "symbol": "none", "animation": false, "lineStyle": map[string]any{"color": colourMuted, "type": "dashed", "width": 1}, "data": data}
}

// gapTable is the gap at the gates.
func gapTable(t *trail.Timing, gaps []*trail.Gap) table {
	tab := table{Caption: "Gap at the gates, s, ± one standard uncertainty", Heads: []head{{Text: "Run"}}}
	for i := range t.Gates {
		tab.Heads = append(tab.Heads, head{Text: t.Gates[i].Name, Number: true})
	}
	d := timingDecimals(t)
	for _, g := range gaps {
		line := row{Cells: []cell{text(t.Runs[g.Run].Name)}}
		for i := range t.Gates {
			s := t.Gates[i].StationM.Or(0)
			c := text(absentMark)
			for k := range g.StationM {
				if g.StationM[k] == s {
					c = text(signedSeconds(g.GapS[k], d) + gap + "±" + fixed(g.SigmaS[k], d))
					break
				}
			}
			line.Cells = append(line.Cells, c)
		}
		tab.Rows = append(tab.Rows, line)
	}
	return tab
}
