package report

import (
	"fmt"

	"github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"

	"stanchion/analyze/damper"
)

// reach is the velocity range of the ride, for the ends of the axes.
func reach(d *damper.Result) (lo, hi float64) {
	return d.Lives[0].FromMMS, d.Lives[len(d.Lives)-1].ToMMS
}

// damperLives draws shares of time and energy over velocity.
func damperLives(d *damper.Result) (*chart, error) {
	line := charts.NewLine()
	x := xAxis("value", "Velocity, mm/s (− rebound, + compression)", nil)
	lo, hi := reach(d)
	x.Min, x.Max = lo, hi
	onlyRound(x.AxisLabel)
	line.SetGlobalOptions(append(common(true), charts.WithXAxisOpts(x), charts.WithYAxisOpts(yAxis("value", "Share, %")),
		charts.WithTooltipOpts(opts.Tooltip{Show: opts.Bool(true), Trigger: "axis"}))...)
	for i, s := range []struct {
		name, of string
		share    func(*damper.Bin) float64
	}{{"Riding time", "of riding time", func(b *damper.Bin) float64 { return b.TimeShare }}, {"Energy", "of the energy", func(b *damper.Bin) float64 { return b.EnergyShare }}} {
		var data []opts.LineData
		for k := range d.Lives {
			b := &d.Lives[k]
			words := share(s.share(b)) + " " + s.of
			if i == 0 {
				words = fixed(b.FromMMS, 0) + " to " + mmps(b.ToMMS) + ", " + fixed(b.ForceN, 0) + gap + "N. " + words
			}
			data = append(data, opts.LineData{Name: words, Value: [2]any{round((b.FromMMS+b.ToMMS)/2, 6), round(100*s.share(b), 4)}})
		}
		colour, kind := springLines(i)
		line.AddSeries(s.name, data,
			charts.WithLineChartOpts(opts.LineChart{Symbol: []string{"circle", "diamond"}[i], SymbolSize: 7, ShowSymbol: opts.Bool(false), Step: "middle"}),
			charts.WithLineStyleOpts(opts.LineStyle{Color: colour, Width: 2.5, Type: kind}), charts.WithItemStyleOpts(opts.ItemStyle{Color: colour}))
	}
	v, err := finish(line, "", "name", func(m map[string]any) { m["legend"].(map[string]any)["itemWidth"] = 34 })
	if err != nil {
		return nil, err
	}
	return &chart{ID: "damper-lives", Height: 320, Views: []view{v}, Label: "Line chart: shares of riding time, solid, and of energy, dashed, over the velocity of the fork"}, nil
}

// damperCurves draws the curves, the one that the ride is laid over thick.
func damperCurves(d *damper.Result) (*chart, error) {
	line := charts.NewLine()
	lo, hi := reach(d)
	for i := range d.Clicks {
		c := d.Clicks[i].Curve
		lo, hi = min(lo, c[0].VelocityMMS), max(hi, c[len(c)-1].VelocityMMS)
	}
	x := xAxis("value", "Velocity, mm/s (− rebound, + compression)", nil)
	x.Min, x.Max = round(lo, 6), round(hi, 6)
	onlyRound(x.AxisLabel)
	line.SetGlobalOptions(append(common(false), charts.WithXAxisOpts(x), charts.WithYAxisOpts(yAxis("value", "Force, N")),
		charts.WithTooltipOpts(opts.Tooltip{Show: opts.Bool(true), Trigger: "item"}))...)
	for i := range d.Clicks {
		c := &d.Clicks[i]
		name := plainNumber(c.Clicks) + " clicks"
		colour, width, kind := colourMuted, float32(1.5), "solid"
		if c.Clicks == d.LivesAt {
			colour, width = colourA, 3
		} else if i%2 == 1 {
			kind = "dashed"
		}
		var data []opts.LineData
		for _, p := range c.Curve {
			data = append(data, opts.LineData{Name: fmt.Sprintf("%s, %s: %s%sN", name, mmps(p.VelocityMMS), fixed(p.ForceN, 0), gap), Value: [2]any{round(p.VelocityMMS, 6), round(p.ForceN, 5)}})
		}
		line.AddSeries(name, data, charts.WithLineChartOpts(opts.LineChart{Symbol: "circle", SymbolSize: 5, ShowSymbol: opts.Bool(true)}),
			charts.WithLineStyleOpts(opts.LineStyle{Color: colour, Width: width, Type: kind}), charts.WithItemStyleOpts(opts.ItemStyle{Color: colour}))
	}
	v, err := finish(line, "", "name", func(m map[string]any) {
		left, right := endNames(d, func(c []damper.Point) damper.Point { return c[0] }), endNames(d, func(c []damper.Point) damper.Point { return c[len(c)-1] })
		for i := range d.Clicks {
			label := func(text, where string) map[string]any {
				return map[string]any{"show": text != "", "formatter": text, "position": where, "color": colourInk, "fontSize": 12}
			}
			data := item(m, "series", i)["data"].([]any)
			data[len(data)-1].(map[string]any)["label"] = label(right[i], "top")
			first := label(left[i], "right")
			first["offset"] = []int{0, 11} // under the line, which rises
			data[0].(map[string]any)["label"] = first
		}
	})
	if err != nil {
		return nil, err
	}
	return &chart{ID: "damper-curves", Height: 340, Views: []view{v}, Label: "Line chart: damper force over velocity at each position of the adjuster; the number at the ends of a line is its clicks"}, nil
}

// endNames are the clicks to write at one end of each curve; where ends lie together, all of them at the first.
func endNames(d *damper.Result, end func([]damper.Point) damper.Point) []string {
	lo, hi := 0.0, 0.0
	for i := range d.Clicks {
		f := end(d.Clicks[i].Curve).ForceN
		lo, hi = min(lo, f), max(hi, f)
	}
	near := 0.06 * (hi - lo)
	out := make([]string, len(d.Clicks))
	for i := range d.Clicks {
		at := i
		for j := range i {
			if f := end(d.Clicks[j].Curve).ForceN - end(d.Clicks[i].Curve).ForceN; out[j] != "" && f <= near && f >= -near {
				at = j
				break
			}
		}
		name := plainNumber(d.Clicks[i].Clicks)
		if at != i {
			name = out[at] + ", " + name
		}
		out[at] = name
	}
	return out
}
