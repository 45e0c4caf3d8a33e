package trail

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"stanchion/analyze"
)

// Keys of the figures of a section.
const (
	KeyTime      = "time_s"
	KeySpeed     = "speed_m_s"      // over ground, length over time
	KeyRMS       = "rms_mm_s"       // roughness: RMS speed of the fork
	KeyExposure  = "exposure_mm2_s" // ∫v²dt
	KeyFast      = "fast_share"     // of the time with compression speed at or over the low-speed limit
	KeyPeakComp  = "peak_compression_mm_s"
	KeyMean      = "mean_travel_mm"
	KeyPeak      = "peak_travel_mm"
	KeyPeakPct   = "peak_travel_pct"
	KeyBottoms   = "bottom_outs"
	KeyPacking   = "packing_runs"
	KeyStrokes   = "compression_strokes_per_min"
	KeyBand      = "band_hz"                 // centroid of the velocity power
	KeyFastBands = "wheel_and_chatter_share" // of the velocity power
)

// sectionKeys are the figures of a section in order, with their units.
var sectionKeys = [...]struct{ key, unit string }{
	{KeyTime, "s"}, {KeySpeed, "m/s"}, {KeyRMS, "mm/s"}, {KeyExposure, "mm²/s"}, {KeyFast, "share"}, {KeyPeakComp, "mm/s"},
	{KeyMean, "mm"}, {KeyPeak, "mm"}, {KeyPeakPct, "%"}, {KeyBottoms, "count"}, {KeyPacking, "count"}, {KeyStrokes, "1/min"},
	{KeyBand, "Hz"}, {KeyFastBands, "share"},
}

// SectionKeys lists the keys and units of the figures of a section, in the order in which SectionReading and HarshPlace hold them.
func SectionKeys() (keys, units []string) {
	for _, k := range sectionKeys {
		keys, units = append(keys, k.key), append(units, k.unit)
	}
	return keys, units
}

// maxSections bounds the sections of equal length: they get longer on a trail that would need more.
const maxSections = 200

// cuts are the stations that part the trail into sections, with names: gates where there are two or more, else steps of SectionM.
func cuts(gates []Gate, gr grid, opt *ReadingOptions) (at []float64, name func(i int) string) {
	if len(gates) >= 2 {
		gates = slices.Clone(gates)
		slices.SortStableFunc(gates, func(a, b Gate) int { return cmp.Compare(a.StationM, b.StationM) })
		for _, g := range gates {
			at = append(at, g.StationM)
		}
		return at, func(i int) string { return gates[i].Name + " – " + gates[i+1].Name }
	}
	if gr.n == 0 {
		return nil, nil
	}
	length := gr.high - gr.low
	step := opt.SectionM * math.Ceil(length/opt.SectionM/maxSections)
	n := max(1, int(math.Round(length/step))) // the last is half to one and a half times as long as the others
	for i := range n {
		at = append(at, gr.low+float64(i)*step)
	}
	at = append(at, gr.high)
	return at, func(i int) string { return fmt.Sprintf("%.0f–%.0f m", at[i], at[i+1]) }
}

// readSections reads every section between gates or of equal length.
func readSections(runs []RunOnTrail, grounds []*ground, gates []Gate, gr grid, opt *ReadingOptions) []SectionReading {
	at, name := cuts(gates, gr, opt)
	out := []SectionReading{}
	for i := 0; i+1 < len(at); i++ {
		if at[i+1] > at[i] {
			out = append(out, SectionReading{
				Name: name(i), StartM: at[i], EndM: at[i+1], Figures: sectionFigures(runs, grounds, at[i], at[i+1]),
			})
		}
	}
	return out
}

// sectionFigures are the figures of the stretch between two stations.
func sectionFigures(runs []RunOnTrail, grounds []*ground, fromM, toM float64) []SectionFigure {
	out := make([]SectionFigure, len(sectionKeys))
	for i, k := range sectionKeys {
		out[i] = SectionFigure{Key: k.key, Unit: k.unit, Runs: make([]analyze.Figure, len(runs))}
	}
	for k := range runs {
		values, why := stretchFigures(&runs[k], grounds[k], fromM, toM)
		for i := range out {
			out[i].Runs[k] = analyze.Absent("%s", why)
			if f, ok := values[out[i].Key]; ok {
				out[i].Runs[k] = f
			}
		}
	}
	for i := range out {
		out[i].Over = over(out[i].Runs)
	}
	return out
}

// stretchFigures are the figures of one run between two stations by key; why says why those that are missing are.
func stretchFigures(r *RunOnTrail, g *ground, fromM, toM float64) (values map[string]analyze.Figure, why string) {
	if g.basis == BasisNone {
		return nil, "the run has no positions"
	}
	startS, endS, ok := g.span(fromM, toM)
	if !ok {
		return nil, "the run was not seen all along this stretch"
	}
	one := func(v float64) analyze.Figure { return analyze.Value(v, 1) }
	values = map[string]analyze.Figure{KeyTime: one(endS - startS), KeySpeed: analyze.Absent("not placed")}
	a, ok1 := g.station(startS)
	if b, ok2 := g.station(endS); ok1 && ok2 {
		values[KeySpeed] = one((b - a) / (endS - startS))
	}
	h, ok := analyze.Stretch(r.Result, r.Signals, startS, endS)
	if !ok {
		return values, "the sensor log has a gap here, or too low a sample rate"
	}
	n := int(math.Round((endS - startS) * r.Signals.RateHz))
	of := func(v float64) analyze.Figure { return analyze.Value(v, n) }
	values[KeyRMS], values[KeyExposure], values[KeyFast], values[KeyPeakComp] = of(h.RMSMMS), of(h.Exposure), of(h.FastShare), of(h.PeakMMS)
	values[KeyMean], values[KeyPeak], values[KeyPeakPct] = of(h.MeanMM), of(h.PeakMM), of(100*h.PeakMM/r.Result.Fork.TravelMM)
	values[KeyBottoms], values[KeyPacking] = one(float64(h.BottomOuts)), one(float64(h.PackingRuns))
	values[KeyBand], values[KeyFastBands] = h.BandHz, h.FastBands
	strokes := 0
	for i := range r.Result.Strokes.List {
		if s := &r.Result.Strokes.List[i]; s.Compression && s.Riding && s.StartS+s.EndS >= 2*startS && s.StartS+s.EndS < 2*endS {
			strokes++
		}
	}
	values[KeyStrokes] = analyze.Value(60*float64(strokes)/(endS-startS), strokes)
	return values, ""
}
