package report

import (
	"fmt"
	"math"

	"github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"

	"stanchion/analyze"
)

// velocityChart draws the velocity distribution by time and by travel.
func velocityChart(r *analyze.Result) (*chart, error) {
	v := &r.Velocity
	lo, hi := usedBins(v.TimeShare)
	if lo >= hi {
		return nil, nil
	}
	weightings := []struct {
		label, unit, of string
		shares          []float64
		log             bool
	}{
		{"By time", "Riding time, %", "riding time", v.TimeShare, false},
		{"By time, log scale", "Riding time, %, log scale", "riding time", v.TimeShare, true},
		{"By distance travelled", "Distance the fork moved, %", "the distance that the fork moved", v.TravelShare, false},
	}
	c := &chart{
		ID: "velocity", Height: 340,
		Label: "Bar chart: distribution of fork speed, rebound to the left of zero, compression to the right",
	}
	for _, w := range weightings {
		bar := charts.NewBar()
		y := yAxis("value", w.unit)
		if w.log {
			y = yAxis("log", w.unit)
			y.Min = 0.001
		}
		x := xAxis("value", "Speed, mm/s (− rebound, + compression)", nil)
		x.Min, x.Max = round(v.FirstEdgeMMS+float64(lo)*v.BinMMS, 6), round(v.FirstEdgeMMS+float64(hi)*v.BinMMS, 6)
		onlyRound(x.AxisLabel)
		rebound, compression := velocityBars(v, w.shares, w.of, lo, hi, w.log)
		bar.SetGlobalOptions(append(common(true),
			charts.WithXAxisOpts(x), charts.WithYAxisOpts(y))...)
		gaps := charts.WithBarChartOpts(opts.BarChart{BarGap: "-100%", BarCategoryGap: "8%"})
		bar.AddSeries("Rebound (hatched)", rebound, gaps, charts.WithItemStyleOpts(opts.ItemStyle{Color: colourRebound}))
		bar.AddSeries("Compression", compression, gaps, charts.WithItemStyleOpts(opts.ItemStyle{Color: colourCompression}))
		view, err := finish(bar, w.label, "name", func(m map[string]any) {
			if w.log {
				startBarsAt(m, 0.001)
			}
			item(m, "series", 0)["itemStyle"].(map[string]any)["decal"] = hatch()
		})
		if err != nil {
			return nil, err
		}
		c.Views = append(c.Views, view)
	}
	return c, nil
}

// velocityBars makes the bars of both directions over the bins [lo, hi).
func velocityBars(v *analyze.Velocity, shares []float64, of string, lo, hi int, log bool) (rebound, compression []opts.BarData) {
	for i := lo; i < hi; i++ {
		from := v.FirstEdgeMMS + float64(i)*v.BinMMS
		to := from + v.BinMMS
		s := 100 * at(shares, i)
		value := [2]any{round(from+v.BinMMS/2, 6), round(s, 4)}
		if log {
			value[1] = emptyBelow(s, 0.001)
		}
		if from >= 0 {
			name := fmt.Sprintf("Compression, %s to %s: %s of %s", fixed(from, 0), mmps(to), share(s/100), of)
			compression = append(compression, opts.BarData{Name: name, Value: value})
			continue
		}
		name := fmt.Sprintf("Rebound, %s to %s: %s of %s", fixed(-to, 0), mmps(-from), share(s/100), of)
		rebound = append(rebound, opts.BarData{Name: name, Value: value})
	}
	return rebound, compression
}

// usedBins is the range of bins to draw: all that hold something and one more at each end.
func usedBins(x []float64) (lo, hi int) {
	lo, hi = len(x), 0
	for i, s := range x {
		if s > 0 {
			lo, hi = min(lo, i), i+1
		}
	}
	return max(0, lo-1), min(len(x), hi+1)
}

// regimeChart draws the five shares of riding time as one bar.
func regimeChart(r *analyze.Result) (*chart, error) {
	g := r.Velocity.Regimes
	parts := []struct {
		name, colour string
		f            analyze.Figure
		hatched      bool
	}{
		{"Fast rebound", colourRebound, g.HighRebound, true},
		{"Slow rebound", "@rebound-soft", g.LowRebound, true},
		{"Still", "@still", g.Still, false},
		{"Slow compression", "@compression-soft", g.LowCompression, false},
		{"Fast compression", colourCompression, g.HighCompression, false},
	}
	bar := charts.NewBar()
	x, y := xAxis("value", "Riding time, %", nil), yAxis("category", "")
	x.Max, y.Data, y.Show = 100, []string{""}, opts.Bool(false)
	bar.SetGlobalOptions(append(common(true), charts.WithXAxisOpts(x), charts.WithYAxisOpts(y))...)
	for _, p := range parts {
		s, ok := p.f.Get()
		if !ok {
			return nil, nil
		}
		data := []opts.BarData{{Name: p.name + ": " + share(s) + " of riding time", Value: round(100*s, 4)}}
		bar.AddSeries(p.name, data, charts.WithBarChartOpts(opts.BarChart{Stack: "r", BarWidth: "44"}),
			charts.WithItemStyleOpts(opts.ItemStyle{Color: p.colour, BorderColor: "@paper", BorderWidth: 1}))
	}
	v, err := finish(bar, "", "name", func(m map[string]any) {
		for i, p := range parts {
			if p.hatched {
				item(m, "series", i)["itemStyle"].(map[string]any)["decal"] = hatch()
			}
		}
	})
	if err != nil {
		return nil, err
	}
	return &chart{
		ID: "regimes", Height: 150, Views: []view{v},
		Label: "Stacked bar: shares of riding time in fast rebound, slow rebound, still, slow compression and fast compression",
	}, nil
}

// densityChart draws the share of time over travel and velocity.
func densityChart(r *analyze.Result) (*chart, error) {
	d := &r.Density
	if len(d.Share) == 0 {
		return nil, nil
	}
	cols := make([]float64, len(d.Share[0]))
	for _, row := range d.Share {
		for j, s := range row {
			cols[j] += s
		}
	}
	lo, hi := usedBins(cols)
	if lo >= hi {
		return nil, nil
	}
	var xs, ys []string
	for j := lo; j < hi; j++ {
		xs = append(xs, fixed(d.FirstEdgeMMS+(float64(j)+0.5)*d.BinMMS, 0))
	}
	var data []opts.HeatMapData
	bottom, top := math.Inf(1), math.Inf(-1)
	for i, row := range d.Share {
		ys = append(ys, fixed((float64(i)+0.5)*d.TravelBinPct/100*r.Fork.TravelMM, 0))
		for j := lo; j < hi; j++ {
			if row[j] > 0 {
				log := math.Log10(100 * row[j])
				bottom, top = min(bottom, log), max(top, log)
				data = append(data, opts.HeatMapData{Value: [4]float64{float64(j - lo), float64(i), round(log, 3), round(100*row[j], 3)}})
			}
		}
	}
	heat := charts.NewHeatMap()
	// The fields lie on hidden category axes; axes of values over them carry the labels at the true edges.
	x, y := xAxis("category", "", xs), yAxis("category", "")
	x.Show, y.Show, y.Data, y.Inverse = opts.Bool(false), opts.Bool(false), ys, opts.Bool(true)
	speed, depth := xAxis("value", "Speed, mm/s (− rebound, + compression)", nil), yAxis("value", "Travel, mm (deeper = lower)")
	speed.Position, speed.Min, speed.Max = "bottom", round(d.FirstEdgeMMS+float64(lo)*d.BinMMS, 6), round(d.FirstEdgeMMS+float64(hi)*d.BinMMS, 6)
	onlyRound(speed.AxisLabel)
	depth.Position, depth.Inverse, depth.NameLocation, depth.Min, depth.Max = "left", opts.Bool(true), "start", 0, round(r.Fork.TravelMM, 6)
	depth.SplitLine = &opts.SplitLine{Show: opts.Bool(false)}
	heat.SetGlobalOptions(append(common(false),
		charts.WithXAxisOpts(x), charts.WithYAxisOpts(y),
		charts.WithVisualMapOpts(opts.VisualMap{
			Type: "continuous", Calculable: opts.Bool(false), Min: float32(math.Floor(bottom)), Max: float32(math.Ceil(top)),
			Dimension: "2", Orient: "horizontal", Right: "0", Top: "0", Text: []string{"much time", "little"},
			InRange:   &opts.VisualMapInRange{Color: []string{"@heat-0", "@heat-1", "@heat-2", "@heat-3", "@heat-4"}},
			TextStyle: &opts.TextStyle{Color: colourInk},
		}))...)
	heat.ExtendXAxis(speed)
	heat.ExtendYAxis(depth)
	heat.AddSeries("Share of riding time", data)
	v, err := finish(heat, "", "At {x} mm/s and {y} mm of travel: {3:3} % of riding time", func(m map[string]any) {
		travelTicks(m, "yAxis", 1, 40, r.Fork.TravelMM)
		vm := item(m, "visualMap", 0)
		vm["itemWidth"], vm["itemHeight"], vm["hoverLink"] = 12, 90, false
		m["grid"].([]any)[0].(map[string]any)["top"] = "56"
	})
	if err != nil {
		return nil, err
	}
	return &chart{
		ID: "density", Height: 380, Views: []view{v},
		Label: "Heat map: share of riding time over travel and speed",
	}, nil
}
