package report

import (
	"fmt"
	"math"

	"github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"

	"stanchion/analyze/compare"
)

// A forestScale makes differences of different figures comparable.
type forestScale struct {
	label, unit string
	of          func(*compare.Difference) float64 // what one unit of the scale is in the figure's unit; 0 = not known
	band        float64                           // shaded to both sides of zero
}

func forestScales() []forestScale {
	return []forestScale{
		{"In smallest changes worth feeling", "times the smallest change worth feeling",
			func(d *compare.Difference) float64 { return d.Step.Or(0) }, 1},
		{"In run-to-run spreads", "standard deviations between runs",
			func(d *compare.Difference) float64 {
				a, b := d.SpreadA.Or(0), d.SpreadB.Or(0)
				if d.RunsA < 2 || d.RunsB < 2 {
					return max(a, b)
				}
				return math.Sqrt((a*a + b*b) / 2)
			}, 0},
	}
}

// forestRows are the figures that the forest plot shows: the main ones, and the others that clearly differ, up to a limit.
func forestRows(c *compare.Comparison) []*compare.Difference {
	const limit = 9
	var rows []*compare.Difference
	for i := range c.Differences {
		if d := &c.Differences[i]; d.Family == compare.Primary && d.Low.OK() && d.High.OK() {
			rows = append(rows, d)
		}
	}
	others := clearOf(c, compare.Secondary)
	return append(rows, others[:min(limit, len(others))]...)
}

// forestChart draws the differences with their intervals on one scale, nil where there are none.
func forestChart(c *compare.Comparison) (*chart, error) {
	rows := forestRows(c)
	out := &chart{ID: "forest", Height: 96 + 40*len(rows), Label: "Dot plot with intervals: difference B minus A of each figure on one scale. The table below holds the same numbers."}
	for _, s := range forestScales() {
		v, err := forestView(rows, s)
		if err != nil {
			return nil, err
		}
		if v != nil {
			out.Views = append(out.Views, *v)
		}
	}
	if len(out.Views) == 0 {
		return nil, nil
	}
	return out, nil
}

// A forestRow is a difference on the scale.
type forestRow struct {
	d              *compare.Difference
	low, mid, high float64
}

func forestView(all []*compare.Difference, s forestScale) (*view, error) {
	var rows []forestRow
	reach := 2.0
	for _, d := range all {
		unit := s.of(d)
		if !(unit > 0) {
			continue
		}
		r := forestRow{d, d.Low.Or(0) / unit, d.Difference.Or(0) / unit, d.High.Or(0) / unit}
		reach = max(reach, 1.3*math.Abs(r.mid))
		rows = append(rows, r)
	}
	if len(rows) == 0 {
		return nil, nil
	}
	reach = forestReach(rows, reach)
	names := make([]string, len(rows))
	for i, r := range rows {
		names[i] = unbroken(sentence(r.d.Label))
	}
	sc := charts.NewScatter()
	x, y := xAxis("value", "B lower  ←  B − A  →  B higher", nil), yAxis("category", "")
	x.Min, x.Max = -reach, reach
	onlyRound(x.AxisLabel)
	x.SplitLine = &opts.SplitLine{Show: opts.Bool(true), LineStyle: &opts.LineStyle{Color: colourLine}}
	y.Data, y.Inverse = names, opts.Bool(true)
	sc.SetGlobalOptions(append(common(false), charts.WithXAxisOpts(x), charts.WithYAxisOpts(y))...)
	for _, kind := range []struct {
		name, symbol, colour string
		differs, higher      bool
	}{
		{"Clearly higher in B", "triangle", "@set-b", true, true},
		{"Clearly lower in B", "path://M0,0h20l-10,17z", "@set-b", true, false},
		{"Not clear", "circle", "@sheet", false, false},
	} {
		var data []opts.ScatterData
		for i, r := range rows {
			if differs, higher := isClear(&r.d.Estimate); differs == kind.differs && higher == kind.higher {
				data = append(data, opts.ScatterData{Name: forestWords(r, s), Value: [2]any{round(r.mid, 5), i}})
			}
		}
		sc.AddSeries(kind.name, data, charts.WithScatterChartOpts(opts.ScatterChart{Symbol: kind.symbol, SymbolSize: 15}),
			charts.WithItemStyleOpts(opts.ItemStyle{Color: kind.colour}))
	}
	v, err := finish(sc, s.label, "name", func(m map[string]any) {
		m["grid"].([]any)[0].(map[string]any)["top"] = "12"
		axis := item(m, "yAxis", 0)
		axis["axisTick"] = map[string]any{"show": false}
		axis["axisLabel"].(map[string]any)["width"], axis["wide"] = 150, labelColumn
		axis["axisLabel"].(map[string]any)["overflow"] = "break"
		axis["axisLabel"].(map[string]any)["lineHeight"] = 14
		axis["axisLabel"].(map[string]any)["hideOverlap"] = false
		item(m, "series", 0)["markLine"] = forestLines(rows, reach)
		if s.band > 0 {
			item(m, "series", 0)["markArea"] = map[string]any{"silent": true, "itemStyle": map[string]any{"color": "@band"},
				"data": [][2]map[string]any{{{"xAxis": -s.band}, {"xAxis": s.band}}}}
		}
		series := m["series"].([]any)
		for i := range series {
			item(m, "series", i)["z"] = 5
		}
		hollow(item(m, "series", len(series)-1))
	})
	return &v, err
}

// forestReach is how far the scale goes to both sides: to the ends of the intervals, but no further than three times the largest
// difference, so that one wide interval does not press all others together.
func forestReach(rows []forestRow, least float64) float64 {
	ends := least
	for _, r := range rows {
		ends = max(ends, math.Abs(r.low), math.Abs(r.high))
	}
	return math.Ceil(min(1.05*ends, 3*least))
}

// forestLines are the intervals, cut with an arrow where they leave the scale, and the line at zero.
func forestLines(rows []forestRow, reach float64) map[string]any {
	data := []any{map[string]any{"xAxis": 0, "symbol": "none", "lineStyle": map[string]any{"color": colourInk, "width": 1, "type": "solid"}}}
	for i, r := range rows {
		colour := colourMuted
		if differs, _ := isClear(&r.d.Estimate); differs {
			colour = "@set-b"
		}
		end := func(v float64) map[string]any {
			e := map[string]any{"coord": []any{round(max(-reach, min(reach, v)), 5), i}, "symbol": "none"}
			if math.Abs(v) > reach {
				e["symbol"], e["symbolSize"] = "arrow", 9
			}
			return e
		}
		from := end(r.low)
		from["lineStyle"] = map[string]any{"color": colour, "width": 3, "type": "solid"}
		data = append(data, [2]map[string]any{from, end(r.high)})
	}
	return map[string]any{"silent": true, "symbol": []string{"none", "none"}, "label": map[string]any{"show": false}, "data": data}
}

// forestWords is the hover text of a row.
func forestWords(r forestRow, s forestScale) string {
	return fmt.Sprintf("%s: %s. B − A is %s, %s %s.", sentence(r.d.Label), r.d.Verdict, amount(r.d), fixed(math.Abs(r.mid), 1), s.unit)
}
