package report

import (
	"math"

	"github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"

	"stanchion/analyze"
)

// highestDrawnHz is where the drawn spectrum ends: beyond it the low-pass and the sensor say more than the fork.
const highestDrawnHz = 100

// spectrumChart draws the power spectral density of velocity and of travel with the bands.
func spectrumChart(r *analyze.Result) (*chart, error) {
	s := &r.Spectrum
	if len(s.VelocityPSD) < 3 || s.StepHz <= 0 {
		return nil, nil
	}
	c := &chart{
		ID: "spectrum", Height: 340,
		Label: "Line chart: power spectral density against frequency on logarithmic axes, with the bands shaded",
	}
	for _, k := range []struct {
		label, unit, tip string
		psd              []float64
	}{
		{"Velocity", "Velocity PSD, (mm/s)²/Hz", "At {0:1} Hz: {1:s} (mm/s)²/Hz", s.VelocityPSD},
		{"Travel", "Travel PSD, mm²/Hz", "At {0:1} Hz: {1:s} mm²/Hz", s.TravelPSD},
	} {
		data, lo, hi := psdPoints(k.psd, s.StepHz)
		line := charts.NewLine()
		x, y := xAxis("log", "Frequency, Hz, log scale", nil), yAxis("log", k.unit)
		x.Min, x.Max = s.StepHz, round(min(highestDrawnHz, float64(len(k.psd)-1)*s.StepHz), 6)
		y.Min, y.Max = lo, hi
		line.SetGlobalOptions(append(common(false), charts.WithXAxisOpts(x), charts.WithYAxisOpts(y))...)
		line.AddSeries(k.label, data,
			charts.WithLineChartOpts(opts.LineChart{ShowSymbol: opts.Bool(false)}),
			charts.WithLineStyleOpts(opts.LineStyle{Color: colourInk, Width: 1.5}),
			charts.WithItemStyleOpts(opts.ItemStyle{Color: colourInk}))
		v, err := finish(line, k.label, k.tip, func(m map[string]any) {
			m["tooltip"].(map[string]any)["trigger"] = "axis"
			item(m, "series", 0)["markArea"] = bandAreas(s.Bands)
		})
		if err != nil {
			return nil, err
		}
		c.Views = append(c.Views, v)
	}
	return c, nil
}

// psdPoints are the points to draw and the decades that hold them, at most six.
func psdPoints(psd []float64, step float64) (data []opts.LineData, lo, hi float64) {
	top := 0.0
	for k := 1; k < len(psd) && float64(k)*step <= highestDrawnHz; k++ {
		if psd[k] > 0 {
			top = max(top, psd[k])
		}
	}
	if top == 0 {
		return nil, 0.1, 1
	}
	hi = math.Pow(10, math.Ceil(math.Log10(top)))
	lo = hi
	for k := 1; k < len(psd) && float64(k)*step <= highestDrawnHz; k++ {
		if psd[k] <= 0 {
			continue
		}
		v := max(psd[k], hi*1e-6)
		lo = min(lo, v)
		data = append(data, opts.LineData{Value: [2]float64{round(float64(k)*step, 5), round(v, 4)}})
	}
	return data, math.Pow(10, math.Floor(math.Log10(lo))), hi
}

// bandAreas shades the bands, each with its name.
func bandAreas(bands []analyze.Band) map[string]any {
	var data [][2]map[string]any
	for _, b := range bands {
		data = append(data, [2]map[string]any{{"name": b.Name, "xAxis": b.LowHz}, {"xAxis": b.HighHz}})
	}
	return map[string]any{
		"silent": true, "data": data,
		"itemStyle": map[string]any{"color": "@band", "borderColor": "@muted", "borderWidth": 0.5, "borderType": "dotted"},
		"label":     map[string]any{"color": colourInk, "position": "insideTop", "formatter": "{b}"},
	}
}
