package report

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"

	"github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"

	"stanchion/analyze"
)

// traceBuckets is about how many buckets the traces of a run are thinned to. The page thins again to the pixels it has.
const traceBuckets = 80000

// traceEnd is where the time axis ends.
func traceEnd(s *analyze.Signals) float64 {
	end := 0.0
	for _, g := range s.Segments {
		if s.RateHz > 0 {
			end = max(end, g.StartS+float64(len(g.TravelMM))/s.RateHz)
		}
	}
	return end
}

// traceChart draws travel, speed and roughness over time, with everything that happened marked. Its long series are
// empty here: the page fills them from writeTrace's data for the part that is in view.
func traceChart(r *analyze.Result, s *analyze.Signals) (*chart, error) {
	end := traceEnd(s)
	if end <= 0 {
		return nil, nil
	}
	line := charts.NewLine()
	time := xAxis("value", "", nil)
	time.Min, time.Max = 0, round(end, 6)
	time.AxisLabel.Show = opts.Bool(false)
	shown := time
	shown.AxisLabel = &opts.AxisLabel{Color: colourInk, HideOverlap: opts.Bool(true)}
	shown.GridIndex, shown.Name, shown.NameGap = 2, "Time from the start, min:s", 28
	second := time
	second.GridIndex = 1
	travel, speed, rough := yAxis("value", "Travel, mm (deeper = lower)"), yAxis("value", "Speed, mm/s (compression = lower)"), yAxis("value", "Roughness, RMS mm/s")
	travel.Inverse, travel.NameLocation = opts.Bool(true), "start"
	travel.Min, travel.Max = travelLimits(r, s)
	speed.Inverse, speed.NameLocation, speed.GridIndex, speed.SplitNumber = opts.Bool(true), "start", 1, 3
	rough.GridIndex, rough.SplitNumber = 2, 2
	line.SetGlobalOptions(
		charts.WithAnimation(false),
		charts.WithTooltipOpts(opts.Tooltip{Show: opts.Bool(true), Trigger: "axis"}),
		charts.WithLegendOpts(opts.Legend{Show: opts.Bool(false)}),
		charts.WithGridOpts(
			opts.Grid{Left: "52", Right: "14", Top: "40", Height: "220"},
			opts.Grid{Left: "52", Right: "14", Top: "306", Height: "96"},
			opts.Grid{Left: "52", Right: "14", Top: "442", Height: "56"}),
		charts.WithXAxisOpts(time), charts.WithYAxisOpts(travel),
		charts.WithDataZoomOpts(
			opts.DataZoom{Type: "slider", XAxisIndex: []int{0, 1, 2}, FilterMode: "none"},
			opts.DataZoom{Type: "inside", XAxisIndex: []int{0, 1, 2}, FilterMode: "none"}),
	)
	line.ExtendXAxis(second, shown)
	line.ExtendYAxis(speed, rough)
	for i, p := range []struct {
		name, colour string
		width        float32
	}{{"Travel", colourInk, 1.2}, {"Speed", colourMuted, 1}, {"Roughness", "@roughness", 1.5}} {
		line.AddSeries(p.name, nil,
			charts.WithLineChartOpts(opts.LineChart{XAxisIndex: i, YAxisIndex: i, ShowSymbol: opts.Bool(false)}),
			charts.WithLineStyleOpts(opts.LineStyle{Color: p.colour, Width: p.width}),
			charts.WithItemStyleOpts(opts.ItemStyle{Color: p.colour}))
	}
	line.Overlap(traceEvents(r))
	v, err := finish(line, "", "trace", func(m map[string]any) { patchTrace(m, r) })
	if err != nil {
		return nil, err
	}
	v.Along = "time"
	return &chart{
		ID: "trace", Height: 612, Views: []view{v},
		Label: "Line charts over time: travel of the fork, its speed, and roughness of the ground, with harsh sections, jumps and bottom-outs marked",
	}, nil
}

// travelLimits are the ends of the travel axis: the fork's range, wider where the trace leaves it.
func travelLimits(r *analyze.Result, s *analyze.Signals) (lo, hi float64) {
	hi = r.Fork.TravelMM
	for _, g := range s.Segments {
		for _, x := range g.TravelMM {
			lo, hi = min(lo, x), max(hi, x)
		}
	}
	if lo > -3 { // noise about full extension
		lo = 0
	}
	return 10 * math.Floor(lo/10), 10 * math.Ceil(hi/10)
}

// traceEvents are the marks on the travel trace.
func traceEvents(r *analyze.Result) *charts.Scatter {
	sc := charts.NewScatter()
	var soft, hard []opts.ScatterData
	for _, b := range r.Travel.Bottoms {
		kind := "Bottom-out"
		if b.Hard {
			kind = "Hard bottom-out"
		}
		d := opts.ScatterData{
			Name:  fmt.Sprintf("%s at %s: %s deep, arrived at %s", kind, clock(b.TimeS), mm(b.PeakMM), mmps(b.EntryMMS)),
			Value: [2]float64{round(b.TimeS, 7), round(b.PeakMM, 4)},
		}
		if b.Hard {
			hard = append(hard, d)
		} else {
			soft = append(soft, d)
		}
	}
	add := func(name, symbol string, size int, colour string, data []opts.ScatterData) {
		sc.AddSeries(name, data, charts.WithScatterChartOpts(opts.ScatterChart{Symbol: symbol, SymbolSize: size}),
			charts.WithItemStyleOpts(opts.ItemStyle{Color: colour, BorderColor: "@paper", BorderWidth: 1}))
	}
	add("Bottom-out", "triangle", 11, "@bottom", soft)
	add("Hard bottom-out", "diamond", 16, "@bottom", hard)
	return sc
}

// patchTrace adds what go-echarts has no name for: areas, lines and the behaviour of the zoom.
func patchTrace(m map[string]any, r *analyze.Result) {
	item(m, "series", 0)["markArea"] = traceAreas(r)
	item(m, "series", 0)["markLine"] = traceLines(r)
	for i := range 3 {
		item(m, "xAxis", i)["time"] = true // the page writes these labels as min:s
		item(m, "series", i)["connectNulls"] = false
	}
	item(m, "xAxis", 2)["axisLabel"].(map[string]any)["alignMaxLabel"] = "right" // "10:00" is wider than the margin of a phone
	item(m, "series", 2)["areaStyle"] = map[string]any{"color": "@roughness", "opacity": 0.25}
	for i := 3; i < len(m["series"].([]any)); i++ {
		s := item(m, "series", i)
		s["clip"], s["z"] = true, 5
		s["tooltip"] = map[string]any{"trigger": "item"}
	}
	travelTicks(m, "yAxis", 0, 40, r.Fork.TravelMM)
	slider, inside := item(m, "dataZoom", 0), item(m, "dataZoom", 1)
	for k, v := range map[string]any{
		"bottom": 6, "height": 44, "left": 52, "right": 14, "showDataShadow": false, "brushSelect": false, "realtime": true,
		"time": true, "textStyle": map[string]any{"color": colourInk},
		"fillerColor": "@band", "borderColor": "@muted", "handleIcon": "path://M0,0h20v40h-20z", "handleSize": "100%", "moveHandleSize": 0,
		"handleStyle": map[string]any{"color": "@sheet", "borderColor": colourInk},
	} {
		slider[k] = v
	}
	for k, v := range map[string]any{"zoomOnMouseWheel": "ctrl", "moveOnMouseMove": true, "preventDefaultMouseMove": false} {
		inside[k] = v
	}
	m["axisPointer"] = map[string]any{"link": []any{map[string]any{"xAxisIndex": "all"}}}
}

// traceAreas marks harsh sections by their rank and jumps.
func traceAreas(r *analyze.Result) map[string]any {
	data := [][2]map[string]any{}
	for i, h := range r.Rough.Sections {
		data = append(data, [2]map[string]any{
			{
				"name": strconv.Itoa(i + 1), "xAxis": round(h.StartS, 7), "itemStyle": map[string]any{"color": "@harsh"},
				"label": map[string]any{"position": "top", "fontWeight": "bold"},
			},
			{"xAxis": round(h.EndS, 7)},
		})
	}
	for _, j := range r.Air.Spells {
		if j.Jump {
			data = append(data, [2]map[string]any{
				{
					"name": "J", "xAxis": round(j.StartS, 7), "itemStyle": map[string]any{"color": "@jump"},
					"label": map[string]any{"position": "bottom"},
				},
				{"xAxis": round(j.EndS, 7)},
			})
		}
	}
	return map[string]any{"silent": true, "label": map[string]any{"color": colourInk, "fontSize": 12}, "data": data}
}

// traceLines marks sag and the rider's markers.
func traceLines(r *analyze.Result) map[string]any {
	data := []map[string]any{}
	if v, ok := r.Sag.StaticMM.Get(); ok {
		data = append(data, map[string]any{"name": "static sag " + mm(v), "yAxis": round(v, 4), "label": map[string]any{"show": false}})
	} else if v, ok := r.Sag.DynamicMM.Get(); ok {
		data = append(data, map[string]any{"name": "median while riding " + mm(v), "yAxis": round(v, 4), "label": map[string]any{"show": false}})
	}
	data = append(data, map[string]any{
		"name": "full travel " + mm(r.Fork.TravelMM), "yAxis": round(r.Fork.TravelMM, 4),
		"lineStyle": map[string]any{"color": colourInk, "type": "solid", "width": 1}, "label": map[string]any{"show": false},
	})
	for _, k := range r.Markers {
		data = append(data, map[string]any{
			"name": k.Label, "xAxis": round(k.TimeS, 7),
			"lineStyle": map[string]any{"type": "solid", "color": "@marker"}, "label": map[string]any{"position": "insideEndTop"},
		})
	}
	return map[string]any{
		"silent": true, "symbol": []string{"none", "none"}, "data": data,
		"label":     map[string]any{"color": colourInk, "formatter": "{b}", "backgroundColor": "@sheet", "padding": []int{1, 3}},
		"lineStyle": map[string]any{"color": colourSag, "type": "dashed", "width": 1.5},
	}
}

// writeTrace writes the thinned traces as one JSON object: per segment its start and packed arrays, with their steps.
func writeTrace(w *bufio.Writer, r *analyze.Result, s *analyze.Signals) error {
	total := 0
	travel, speed, rough := make([][]float64, len(s.Segments)), make([][]float64, len(s.Segments)), make([][]float64, len(s.Segments))
	for i, g := range s.Segments {
		total += len(g.TravelMM)
		rough[i] = g.RMSMMS
	}
	n := max(1, (total+traceBuckets-1)/traceBuckets)
	if n == 2 { // two values from each two samples save nothing
		n = 1
	}
	for i, g := range s.Segments {
		travel[i] = minMax(nil, g.TravelMM, n)
		speed[i] = minMax(nil, g.VelocityMMS, n)
	}
	travelStep, speedStep, roughStep := packScale(0.01, travel...), packScale(0.2, speed...), packScale(0.1, rough...)
	head := map[string]any{
		"bucket_s": float64(n) / s.RateHz, "per_bucket": min(n, 2), "cell_s": r.Options.CellS, "end_s": round(traceEnd(s), 7),
		"travel_step_mm": travelStep, "speed_step_mm_s": speedStep, "rough_step_mm_s": roughStep,
	}
	b, err := json.Marshal(head)
	if err != nil {
		return fmt.Errorf("trace: %w", err)
	}
	w.Write(b[:len(b)-1])
	io.WriteString(w, `,"segments":[`)
	for i, g := range s.Segments {
		if i > 0 {
			w.WriteByte(',')
		}
		fmt.Fprintf(w, `{"start_s":%s`, strconv.FormatFloat(round(g.StartS, 9), 'g', -1, 64))
		for _, c := range []struct {
			key  string
			x    []float64
			step float64
		}{{"travel", travel[i], travelStep}, {"speed", speed[i], speedStep}, {"rough", rough[i], roughStep}} {
			fmt.Fprintf(w, `,"%s":"`, c.key)
			if err := pack(w, c.x, c.step); err != nil {
				return fmt.Errorf("trace: %w", err)
			}
			w.WriteByte('"')
		}
		w.WriteByte('}')
	}
	_, err = io.WriteString(w, "]}")
	return err
}
