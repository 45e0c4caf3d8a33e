package report

import (
	"fmt"

	"github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"

	"stanchion/analyze"
)

// travelChart draws the travel histogram with the cumulative line.
func travelChart(r *analyze.Result) (*chart, error) {
	t := &r.Travel
	if len(t.TimeShare) == 0 {
		return nil, nil
	}
	bars := make([]opts.BarData, len(t.TimeShare))
	line := make([]opts.LineData, len(t.TimeShare))
	for i, s := range t.TimeShare {
		lo, hi := travelBin(r, i)
		name := fmt.Sprintf("Between %s and %s (%s to %s of travel): %s of riding time. At or above this depth: %s.",
			fixed(lo, 0), mm(hi), fixed(float64(i)*t.BinPct, 0), percent(float64(i+1)*t.BinPct), share(s), share(at(t.Cumulative, i)))
		bars[i] = opts.BarData{Name: name, Value: [2]float64{round((lo+hi)/2, 6), round(100*s, 4)}}
		line[i] = opts.LineData{Name: name, Value: [2]float64{round(hi, 6), round(100*at(t.Cumulative, i), 4)}}
	}
	bar := charts.NewBar()
	x := xAxis("value", "Travel, mm (right = deeper)", nil)
	x.Min, x.Max = 0, round(r.Fork.TravelMM, 6)
	bar.SetGlobalOptions(append(common(true),
		charts.WithXAxisOpts(x),
		charts.WithYAxisOpts(yAxis("value", "Riding time, %")))...)
	cum := yAxis("value", "Cumulative, %")
	cum.Min, cum.Max, cum.SplitLine = 0, 100, &opts.SplitLine{Show: opts.Bool(false)}
	bar.ExtendYAxis(cum)
	bar.AddSeries("Share of riding time", bars,
		charts.WithItemStyleOpts(opts.ItemStyle{Color: colourCompression}),
		charts.WithBarChartOpts(opts.BarChart{BarCategoryGap: "12%"}))
	lines := charts.NewLine()
	lines.AddSeries("Cumulative", line,
		charts.WithLineChartOpts(opts.LineChart{YAxisIndex: 1, Symbol: "circle", SymbolSize: 6}),
		charts.WithLineStyleOpts(opts.LineStyle{Color: colourInk, Width: 2}),
		charts.WithItemStyleOpts(opts.ItemStyle{Color: colourInk}))
	bar.Overlap(lines)
	v, err := finish(bar, "", "name", func(m map[string]any) {
		travelTicks(m, "xAxis", 0, 20, r.Fork.TravelMM)
		style := item(m, "yAxis", 1)["nameTextStyle"].(map[string]any)
		style["align"] = "right"
	})
	if err != nil {
		return nil, err
	}
	return &chart{
		ID: "travel", Height: 380, Views: []view{v},
		Label: "Bar chart: share of riding time per depth of travel, with the cumulative share as a line",
	}, nil
}

// travelBin is the range of travel bin i in mm.
func travelBin(r *analyze.Result, i int) (lo, hi float64) {
	w := r.Travel.BinPct / 100 * r.Fork.TravelMM
	return float64(i) * w, float64(i+1) * w
}

// at is x[i], or 0 beyond its end.
func at(x []float64, i int) float64 {
	if i < len(x) {
		return x[i]
	}
	return 0
}

// rainflowChart draws the range spectrum of the strokes.
func rainflowChart(r *analyze.Result) (*chart, error) {
	bins := r.Strokes.Rainflow
	if len(bins) == 0 {
		return nil, nil
	}
	bars := make([]opts.BarData, len(bins))
	for i, b := range bins {
		bars[i] = opts.BarData{
			Name:  fmt.Sprintf("Movements of %s to %s: %s", fixed(b.LowMM, 0), mm(b.HighMM), cycles(b.Count)),
			Value: [2]any{round((b.LowMM+b.HighMM)/2, 6), emptyBelow(b.Count, 0.5)},
		}
	}
	bar := charts.NewBar()
	y := yAxis("log", "Cycles, log scale")
	y.Min = 0.1
	x := xAxis("value", "Range of the movement, mm", nil)
	x.Min, x.Max = 0, round(bins[len(bins)-1].HighMM, 6)
	bar.SetGlobalOptions(append(common(false),
		charts.WithXAxisOpts(x), charts.WithYAxisOpts(y))...)
	bar.AddSeries("Cycles", bars, charts.WithItemStyleOpts(opts.ItemStyle{Color: colourCompression}),
		charts.WithBarChartOpts(opts.BarChart{BarCategoryGap: "12%"}))
	v, err := finish(bar, "", "name", func(m map[string]any) {
		travelTicks(m, "xAxis", 0, 20, bins[len(bins)-1].HighMM)
		startBarsAt(m, 0.1)
	})
	if err != nil {
		return nil, err
	}
	return &chart{
		ID: "rainflow", Height: 280, Views: []view{v},
		Label: "Bar chart: number of rainflow cycles per range of movement, logarithmic",
	}, nil
}

func cycles(n float64) string {
	if n == 1 {
		return "1 cycle"
	}
	return signif(n, 4) + " cycles"
}

// emptyBelow is v, or the mark of a missing item where v is under the limit (a log axis has no zero).
func emptyBelow(v, limit float64) any {
	if v < limit {
		return "-"
	}
	return round(v, 5)
}
