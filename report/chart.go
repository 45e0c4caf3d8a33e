package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"

	"github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"
)

// A chart is one drawing of the page. Colours in its options are names like "@compression", which the page's script
// looks up in the style sheet, so that one set of options serves light, dark and print.
type chart struct {
	ID     string
	Label  string // accessible name: what is drawn against what
	Height int    // px
	Views  []view // more than one: the reader chooses
}

// labelColumn is the width in px that names beside a drawing get where the screen has room for them on one line.
const labelColumn = 300

// A view is one way to draw a chart.
type view struct {
	Label  string         `json:"label"`
	Tip    string         `json:"tip"` // hover text: "name" for the item's name, else a pattern with {dimension:decimals}
	Option map[string]any `json:"option"`
	Along  string         `json:"along,omitempty"` // "time" or "station" where x is one of them: then the place on the map is shown in it
}

// Colour names of the style sheet.
const (
	colourCompression = "@compression"
	colourRebound     = "@rebound"
	colourInk         = "@ink"
	colourMuted       = "@muted"
	colourSag         = "@sag"
	colourLine        = "@line"
)

// configured is what go-echarts calls a chart.
type configured interface{ JSON() map[string]any }

// option turns a configured chart into plain JSON values, so that settings without a name in go-echarts can be added.
func option(c configured) (map[string]any, error) {
	b, err := json.Marshal(c.JSON())
	if err != nil {
		return nil, fmt.Errorf("chart options: %w", err)
	}
	dec := json.NewDecoder(bytes.NewReader(b))
	dec.UseNumber()
	var m map[string]any
	if err := dec.Decode(&m); err != nil {
		return nil, fmt.Errorf("chart options: %w", err)
	}
	delete(m, "title")
	delete(m, "toolbox")
	return m, nil
}

// item returns m[key][i] of a list of objects.
func item(m map[string]any, key string, i int) map[string]any {
	return m[key].([]any)[i].(map[string]any)
}

// startBarsAt makes the bars of a logarithmic y axis begin at the value from, the lower end of the axis. An unseen point
// there goes with them: the axis rounds its lower end to the decimals of the smallest value drawn, and from whole numbers
// alone it would make zero of it, which has no logarithm.
func startBarsAt(m map[string]any, from float64) {
	item(m, "yAxis", 0)["startValue"] = from
	x := item(m, "xAxis", 0)["min"]
	m["series"] = append(m["series"].([]any), map[string]any{
		"type": "scatter", "data": []any{[]any{x, from}}, "symbolSize": 0, "silent": true,
		"tooltip": map[string]any{"show": false},
	})
}

// common are the settings that all charts share.
func common(legend bool) []charts.GlobalOpts {
	return []charts.GlobalOpts{
		charts.WithAnimation(false),
		charts.WithColorsOpts(opts.Colors{colourCompression, colourRebound, colourSag, colourMuted}),
		charts.WithTooltipOpts(opts.Tooltip{Show: opts.Bool(true), Trigger: "item"}),
		charts.WithLegendOpts(opts.Legend{
			Show: opts.Bool(legend), Top: "0", Left: "0", SelectedMode: "false", ItemWidth: 16, ItemHeight: 12, TextStyle: &opts.TextStyle{Color: colourInk},
		}),
		charts.WithGridOpts(opts.Grid{
			Left: "8", Right: "28", Top: topMargin(legend), Bottom: "30", ContainLabel: opts.Bool(true),
		}),
	}
}

func topMargin(legend bool) string {
	if legend {
		return "52"
	}
	return "28"
}

func xAxis(kind, name string, data any) opts.XAxis {
	return opts.XAxis{
		Type: kind, Name: name, NameLocation: "middle", NameGap: 30, Data: data,
		AxisLabel: &opts.AxisLabel{Color: colourInk, HideOverlap: opts.Bool(true)},
		AxisLine:  &opts.AxisLine{OnZero: opts.Bool(false), LineStyle: &opts.LineStyle{Color: colourMuted}},
		SplitLine: &opts.SplitLine{Show: opts.Bool(false)},
	}
}

func yAxis(kind, name string) opts.YAxis {
	return opts.YAxis{
		Type: kind, Name: name, NameLocation: "end",
		AxisLabel: &opts.AxisLabel{Color: colourInk, HideOverlap: opts.Bool(true)},
		AxisLine:  &opts.AxisLine{Show: opts.Bool(false), OnZero: opts.Bool(false)},
		SplitLine: &opts.SplitLine{Show: opts.Bool(true), LineStyle: &opts.LineStyle{Color: colourLine}},
	}
}

// styleAxes sets what go-echarts has no name for: axis names in ink, aligned so that they are never cut off.
func styleAxes(m map[string]any) {
	for _, key := range []string{"xAxis", "yAxis"} {
		axes, _ := m[key].([]any)
		for _, a := range axes {
			axis := a.(map[string]any)
			style := map[string]any{"color": colourInk, "fontSize": 12}
			if key == "yAxis" {
				style["align"], style["padding"] = "left", []int{0, 0, 2, 0}
			}
			axis["nameTextStyle"] = style
		}
	}
}

// onlyRound leaves the labels of odd ends off an axis whose ends are not round numbers.
func onlyRound(a *opts.AxisLabel) {
	a.ShowMinLabel, a.ShowMaxLabel = opts.Bool(false), opts.Bool(false)
}

// travelTicks puts a tick at each step mm of the i-th axis under key, and leaves off an odd end.
func travelTicks(m map[string]any, key string, i int, step, end float64) {
	axis := item(m, key, i)
	axis["minInterval"], axis["maxInterval"] = step, step
	axis["axisLabel"].(map[string]any)["showMaxLabel"] = math.Mod(end, step) == 0
}

// hatch is a pattern that tells rebound from compression without colour.
func hatch() map[string]any {
	return map[string]any{
		"symbol": "rect", "color": "@hatch", "dashArrayX": []int{1, 0}, "dashArrayY": []int{2, 4}, "rotation": -0.785,
	}
}

// hollow draws the marks of a series as outlines; their colour must be that of the sheet.
func hollow(series map[string]any) {
	style := series["itemStyle"].(map[string]any)
	style["borderColor"], style["borderWidth"] = colourMuted, 2
}

// finish turns a configured chart into a view.
func finish(c configured, label, tip string, patch func(map[string]any)) (view, error) {
	m, err := option(c)
	if err != nil {
		return view{}, err
	}
	styleAxes(m)
	if patch != nil {
		patch(m)
	}
	return view{Label: label, Tip: tip, Option: m}, nil
}
