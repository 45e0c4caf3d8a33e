package report

import (
	"sort"

	"github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"

	"stanchion/analyze"
)

// maxDots is how many strokes of one direction are drawn. Beyond it the largest tenth is kept and the rest thinned evenly.
const maxDots = 900

// strokeChart draws each stroke's amplitude against its duration.
func strokeChart(r *analyze.Result) (*chart, error) {
	sc := charts.NewScatter()
	x := xAxis("log", "Duration, ms, log scale", nil)
	sc.SetGlobalOptions(append(common(true), charts.WithXAxisOpts(x), charts.WithYAxisOpts(yAxis("value", "Amplitude, mm")))...)
	any := false
	for _, dir := range []struct {
		name, colour, symbol string
		compression          bool
	}{{"Compression", colourCompression, "circle", true}, {"Rebound", colourRebound, "diamond", false}} {
		var data []opts.ScatterData
		for _, s := range thinStrokes(r.Strokes.List, dir.compression) {
			data = append(data, opts.ScatterData{Value: [4]float64{
				round(1000*s.DurationS, 3), round(s.AmplitudeMM, 3), round(s.PeakMMS, 3), round(s.StartS, 5)}})
		}
		any = any || len(data) > 0
		sc.AddSeries(dir.name, data,
			charts.WithScatterChartOpts(opts.ScatterChart{Symbol: dir.symbol, SymbolSize: 7}),
			charts.WithItemStyleOpts(opts.ItemStyle{Color: dir.colour, Opacity: opts.Float(0.55)}))
	}
	if !any {
		return nil, nil
	}
	v, err := finish(sc, "", "{series} stroke at {3:clock}: {1:0} mm in {0:0} ms, peak {2:0} mm/s", nil)
	if err != nil {
		return nil, err
	}
	return &chart{
		ID: "strokes", Height: 340, Views: []view{v},
		Label: "Scatter chart: amplitude of each stroke against its duration; circles compression, diamonds rebound",
	}, nil
}

// thinStrokes picks the riding strokes of one direction that are drawn, in time order.
func thinStrokes(list []analyze.Stroke, compression bool) []analyze.Stroke {
	var all []analyze.Stroke
	for _, s := range list {
		if s.Riding && s.Compression == compression && s.DurationS > 0 {
			all = append(all, s)
		}
	}
	if len(all) <= maxDots {
		return all
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].AmplitudeMM > all[j].AmplitudeMM })
	keep, rest := all[:maxDots/10], all[maxDots/10:]
	out := append([]analyze.Stroke(nil), keep...)
	n := maxDots - len(keep)
	for i := range n {
		out = append(out, rest[i*len(rest)/n])
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].StartS < out[j].StartS })
	return out
}

// reversalChart draws the reversal times in rank order, so that any share can be read off.
func reversalChart(r *analyze.Result) (*chart, error) {
	rev := &r.Reversals
	if len(rev.TimesCR)+len(rev.TimesRC) == 0 {
		return nil, nil
	}
	line := charts.NewLine()
	y := yAxis("value", "Reversals at or under this time, %")
	y.Max = 100
	line.SetGlobalOptions(append(common(true), charts.WithXAxisOpts(xAxis("log", "Reversal time, ms, log scale", nil)), charts.WithYAxisOpts(y))...)
	for _, k := range []struct {
		name, colour, style string
		times               []float64
	}{
		{"Compression to rebound", colourCompression, "solid", rev.TimesCR},
		{"Rebound to compression (dashed)", colourRebound, "dashed", rev.TimesRC},
	} {
		line.AddSeries(k.name, ranks(k.times),
			charts.WithLineChartOpts(opts.LineChart{Symbol: "none", Step: "end"}),
			charts.WithLineStyleOpts(opts.LineStyle{Color: k.colour, Type: k.style, Width: 2}),
			charts.WithItemStyleOpts(opts.ItemStyle{Color: k.colour}))
	}
	v, err := finish(line, "", "{series}: {1:0} % take {0:0} ms or less", nil)
	if err != nil {
		return nil, err
	}
	v.Option["tooltip"].(map[string]any)["trigger"] = "axis"
	return &chart{
		ID: "reversals", Height: 300, Views: []view{v},
		Label: "Line chart: share of reversals at or under a given time, for both kinds of reversal",
	}, nil
}

// ranks sorts times and pairs each with its rank in percent, at most about 200 points.
func ranks(times []float64) []opts.LineData {
	t := append([]float64(nil), times...)
	sort.Float64s(t)
	step := max(1, len(t)/200)
	var data []opts.LineData
	for i := 0; i < len(t); i++ {
		if t[i] > 0 && (i%step == 0 || i == len(t)-1) {
			data = append(data, opts.LineData{Value: [2]float64{round(1000*t[i], 4), round(100*float64(i+1)/float64(len(t)), 4)}})
		}
	}
	return data
}

// dampingChart draws the damping ratio of each free decay against its size.
func dampingChart(r *analyze.Result) (*chart, error) {
	var fitted, held []opts.ScatterData
	for _, d := range r.Damping.Decays {
		if d.NoOvershoot {
			held = append(held, opts.ScatterData{Value: [4]float64{round(d.AmplitudeMM, 3), 1, 0, round(d.TimeS, 5)}})
			continue
		}
		fitted = append(fitted, opts.ScatterData{Value: [4]float64{round(d.AmplitudeMM, 3), round(d.Zeta, 3), round(d.NaturalHz, 3), round(d.TimeS, 5)}})
	}
	if len(fitted) == 0 {
		return nil, nil
	}
	sc := charts.NewScatter()
	y := yAxis("value", "Damping ratio ζ")
	y.Min = 0
	sc.SetGlobalOptions(append(common(true),
		charts.WithXAxisOpts(xAxis("value", "Size of the first swing, mm", nil)), charts.WithYAxisOpts(y))...)
	sc.AddSeries("Free decay", fitted,
		charts.WithScatterChartOpts(opts.ScatterChart{Symbol: "circle", SymbolSize: 9}),
		charts.WithItemStyleOpts(opts.ItemStyle{Color: colourCompression, Opacity: opts.Float(0.8)}))
	sc.AddSeries("No overshoot (drawn at 1)", held,
		charts.WithScatterChartOpts(opts.ScatterChart{Symbol: "triangle", SymbolSize: 10}),
		charts.WithItemStyleOpts(opts.ItemStyle{Color: colourRebound, Opacity: opts.Float(0.8)}))
	v, err := finish(sc, "", "Free decay at {3:clock}: first swing {0:0} mm, damping ratio {1:2}, natural frequency {2:1} Hz", nil)
	if err != nil {
		return nil, err
	}
	return &chart{ID: "damping", Height: 260, Views: []view{v}, Label: "Scatter chart: damping ratio of each free decay against its size"}, nil
}
