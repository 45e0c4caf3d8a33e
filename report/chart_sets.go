package report

import (
	"encoding/json"
	"fmt"
	"math"

	"github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"

	"stanchion/analyze"
	"stanchion/analyze/compare"
)

// Colours of the two sets. B is dashed too, so that they are told apart without colour.
const (
	colourA = "@set-a"
	colourB = "@set-b"
)

// A setCurve is a distribution of the runs of one set: the mean over the runs, and the smallest and largest of them.
type setCurve struct{ mean, low, high []float64 }

// curveOf gathers one list of shares per run, in percent.
func curveOf(runs []compare.Run, of func(*analyze.Result) []float64) setCurve {
	var c setCurve
	for i := range runs {
		x := of(runs[i].Result)
		for len(c.mean) < len(x) {
			n := len(c.mean)
			c.mean, c.low, c.high = append(c.mean, 0), append(c.low, math.Inf(1)), append(c.high, 0)
			if i > 0 { // the runs before had nothing here
				c.low[n] = 0
			}
		}
		for k := range c.mean {
			v := 100 * at(x, k)
			c.mean[k] += v / float64(len(runs))
			c.low[k], c.high[k] = min(c.low[k], v), max(c.high[k], v)
		}
	}
	return c
}

// distributionsPart overlays the distributions of velocity and travel of both sets.
func distributionsPart(s Sets) (part, error) {
	p := part{ID: "distributions", Title: "Distributions"}
	if len(s.A) == 0 || len(s.B) == 0 {
		return p, nil
	}
	band := "Lines are the mean over the runs of a set, solid for A and dashed for B; the shaded bands reach from the smallest to the largest of its runs."
	if len(s.A) == 1 && len(s.B) == 1 {
		band = "One run a side: solid is A, dashed is B. There are no bands, since the spread between runs is not known."
	}
	velocity, vTable, err := velocitySets(s)
	if err != nil {
		return p, err
	}
	travel, tTable, err := travelSets(s)
	if err != nil {
		return p, err
	}
	p.Blocks = []block{
		{ID: "velocity-sets", Title: "How fast the fork moved", Chart: velocity, Wide: true, Read: band + " Rebound is to the left of zero, compression to the right.", Behind: []table{vTable}},
		{ID: "travel-sets", Title: "How deep the fork rode", Chart: travel, Wide: true, Read: band, Behind: []table{tTable}},
	}
	for i := range p.Blocks {
		if p.Blocks[i].Chart == nil {
			p.Blocks[i].Read, p.Blocks[i].NoChart = "", "No riding to draw."
		}
	}
	return p, nil
}

func velocitySets(s Sets) (*chart, table, error) {
	v := &s.A[0].Result.Velocity
	shares := func(r *analyze.Result) []float64 { return r.Velocity.TimeShare }
	a, b := curveOf(s.A, shares), curveOf(s.B, shares)
	lo, hi := usedBins(longer(a.high, b.high))
	if lo >= hi {
		return nil, table{}, nil
	}
	edge := func(i int) float64 { return v.FirstEdgeMMS + float64(i)*v.BinMMS }
	x := xAxis("value", "Speed, mm/s (− rebound, + compression)", nil)
	x.Min, x.Max = round(edge(lo), 6), round(edge(hi), 6)
	onlyRound(x.AxisLabel)
	d := overlay{x: x, lo: lo, hi: hi, middle: func(i int) float64 { return edge(i) + v.BinMMS/2 },
		bin: func(i int) string {
			if edge(i) >= 0 {
				return "Compression, " + fixed(edge(i), 0) + " to " + mmps(edge(i+1))
			}
			return "Rebound, " + fixed(-edge(i+1), 0) + " to " + mmps(-edge(i))
		}}
	c := &chart{ID: "velocity-sets", Height: 340, Label: "Line chart: distribution of fork speed in A, solid, and B, dashed; rebound to the left of zero"}
	for _, log := range []bool{false, true} {
		shown := d
		if !log { // the even scale shows nothing of the far ends
			shown.lo, shown.hi = usedBins(over(longer(a.high, b.high), 0.05))
			shown.x.Min, shown.x.Max = round(edge(shown.lo), 6), round(edge(shown.hi), 6)
		}
		view, err := shown.view(a, b, log, nil)
		if err != nil {
			return nil, table{}, err
		}
		c.Views = append(c.Views, view)
	}
	t := d.table("Distribution of speed; negative = rebound", head{Text: "Speed", Unit: "mm/s", Number: true}, a, b,
		func(i int) string { return fixed(edge(i), 0) + " to " + fixed(edge(i+1), 0) })
	return c, t, nil
}

func travelSets(s Sets) (*chart, table, error) {
	r := s.A[0].Result
	shares := func(r *analyze.Result) []float64 { return r.Travel.TimeShare }
	a, b := curveOf(s.A, shares), curveOf(s.B, shares)
	n := max(len(a.mean), len(b.mean))
	if n == 0 {
		return nil, table{}, nil
	}
	x := xAxis("value", "Travel, mm (right = deeper)", nil)
	x.Min, x.Max = 0, round(r.Fork.TravelMM, 6)
	d := overlay{x: x, hi: n,
		middle: func(i int) float64 { lo, hi := travelBin(r, i); return (lo + hi) / 2 },
		bin: func(i int) string {
			lo, hi := travelBin(r, i)
			return "Between " + fixed(lo, 0) + " and " + mm(hi)
		}}
	v, err := d.view(a, b, false, func(m map[string]any) { travelTicks(m, "xAxis", 0, 20, r.Fork.TravelMM) })
	if err != nil {
		return nil, table{}, err
	}
	t := d.table("Riding time per depth of travel", head{Text: "Travel", Unit: "mm", Number: true}, a, b, func(i int) string {
		lo, hi := travelBin(r, i)
		return fixed(lo, 0) + "–" + fixed(hi, 0)
	})
	return &chart{ID: "travel-sets", Height: 340, Views: []view{v}, Label: "Line chart: share of riding time per depth of travel in A, solid, and B, dashed"}, t, nil
}

// over is x without what is under the limit.
func over(x []float64, limit float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		if v >= limit {
			out[i] = v
		}
	}
	return out
}

// longer is the larger of both at each place.
func longer(a, b []float64) []float64 {
	if len(a) < len(b) {
		a, b = b, a
	}
	out := append([]float64(nil), a...)
	for i, v := range b {
		out[i] = max(out[i], v)
	}
	return out
}

// An overlay draws two curves over the bins [lo, hi).
type overlay struct {
	x      opts.XAxis
	lo, hi int
	middle func(i int) float64
	bin    func(i int) string
}

// logFloor is the lower end of the logarithmic axis of shares, %.
const logFloor = 0.001

func (o overlay) view(a, b setCurve, log bool, patch func(map[string]any)) (view, error) {
	line := charts.NewLine()
	y, label := yAxis("value", "Riding time, %"), "Even scale"
	if log {
		y, label = yAxis("log", "Riding time, %, log scale"), "Log scale"
		y.Min = logFloor
	}
	line.SetGlobalOptions(append(common(true), charts.WithXAxisOpts(o.x), charts.WithYAxisOpts(y),
		charts.WithTooltipOpts(opts.Tooltip{Show: opts.Bool(true), Trigger: "axis"}))...)
	for _, s := range []struct {
		name, colour, kind, symbol string
		c                          setCurve
	}{{"A", colourA, "solid", "circle", a}, {"B", colourB, "dashed", "diamond", b}} {
		data := make([]opts.LineData, 0, o.hi-o.lo)
		for i := o.lo; i < o.hi; i++ {
			mean := at(s.c.mean, i)
			value := any(round(mean, 4))
			if log {
				value = emptyBelow(mean, logFloor)
			}
			data = append(data, opts.LineData{Name: o.words(s.name, i, s.c), Value: [2]any{round(o.middle(i), 6), value}})
		}
		line.AddSeries(s.name, data,
			charts.WithLineChartOpts(opts.LineChart{Symbol: s.symbol, SymbolSize: 7, ShowSymbol: opts.Bool(false)}),
			charts.WithLineStyleOpts(opts.LineStyle{Color: s.colour, Width: 2.5, Type: s.kind}),
			charts.WithItemStyleOpts(opts.ItemStyle{Color: s.colour}))
	}
	return finish(line, label, "name", func(m map[string]any) {
		if !log {
			hidden := bandAxis(m, 0)
			m["series"] = append(m["series"].([]any), append(o.bands(a, hidden, "@set-a-soft"), o.bands(b, hidden, "@set-b-soft")...)...)
		}
		legend := m["legend"].(map[string]any)
		legend["data"] = []string{"A", "B"}
		legend["itemWidth"] = 34
		if patch != nil {
			patch(m)
		}
	})
}

// words is the hover text of a bin: the bin itself only in the first of the lines.
func (o overlay) words(name string, i int, c setCurve) string {
	s := fmt.Sprintf("%s: %s of riding time", name, share(at(c.mean, i)/100))
	if lo, hi := at(c.low, i), at(c.high, i); hi > lo {
		s += fmt.Sprintf(" (runs from %s to %s)", fixed(lo, 1), percentFine(hi))
	}
	if name == "A" {
		return o.bin(i) + ". " + s
	}
	return s
}

func percentFine(v float64) string { return fixed(v, 1) + gap + "%" }

// bands are the areas between the smallest and the largest run.
func (o overlay) bands(c setCurve, axis int, colour string) []any {
	var x, low, high []float64
	for i := o.lo; i < o.hi; i++ {
		x, low, high = append(x, o.middle(i)), append(low, at(c.low, i)), append(high, at(c.high, i))
	}
	return bandSeries(x, low, high, axis, 0, colour)
}

// bandScale is the step of the hidden axis of bands: it is a time axis, of whole milliseconds.
const bandScale = 1000

// bandAxis adds a hidden copy of the x axis of a grid for bands, and returns its index. Bands are two stacked areas, an unseen one and a seen
// one, and where both axes hold plain values the chart library would stack them sideways; over an axis of time it does not.
func bandAxis(m map[string]any, grid int) int {
	axes := m["xAxis"].([]any)
	like := axes[grid].(map[string]any)
	end := func(key string) float64 {
		v, _ := like[key].(json.Number).Float64()
		return v * bandScale
	}
	m["xAxis"] = append(axes, map[string]any{
		"type": "time", "gridIndex": grid, "show": false, "min": end("min"), "max": end("max"),
		"axisLabel": map[string]any{"show": false}, "axisPointer": map[string]any{"show": false, "triggerTooltip": false},
	})
	return len(axes)
}

// bandSeries is the band between low and high over the hidden x axis in a grid, nothing where they are the same throughout.
// Where a value is not finite the band has a gap.
func bandSeries(x, low, high []float64, axis, grid int, colour string) []any {
	floor, width := make([]any, len(x)), make([]any, len(x))
	seen := false
	for i := range x {
		at := math.Round(x[i] * bandScale)
		floor[i], width[i] = []any{at, drawn(low[i])}, []any{at, drawn(high[i] - low[i])}
		seen = seen || high[i] > low[i]
	}
	if !seen {
		return nil
	}
	series := func(data []any, area map[string]any) map[string]any {
		return map[string]any{
			"type": "line", "xAxisIndex": axis, "yAxisIndex": grid, "stack": colour, "stackStrategy": "all", "data": data, "symbol": "none", "silent": true, "z": 1,
			"lineStyle": map[string]any{"width": 0}, "areaStyle": area, "tooltip": map[string]any{"show": false},
		}
	}
	return []any{series(floor, map[string]any{"opacity": 0}), series(width, map[string]any{"color": colour, "opacity": 1})}
}

// table is the numbers behind an overlay.
func (o overlay) table(caption string, first head, a, b setCurve, name func(i int) string) table {
	t := table{Caption: caption, Heads: []head{first, {Text: "A", Unit: "% of riding time", Number: true}, {Text: "A, runs", Unit: "from–to", Number: true},
		{Text: "B", Unit: "% of riding time", Number: true}, {Text: "B, runs", Unit: "from–to", Number: true}}}
	runs := func(c setCurve, i int) string { return signif(at(c.low, i), 3) + "–" + signif(at(c.high, i), 3) }
	for i := o.lo; i < o.hi; i++ {
		t.Rows = append(t.Rows, texts(name(i), signif(at(a.mean, i), 3), runs(a, i), signif(at(b.mean, i), 3), runs(b, i)))
	}
	return t
}
