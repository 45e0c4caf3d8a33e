package report

import (
	"fmt"

	"stanchion/analyze"
)

// The tables behind the charts.

func travelTable(r *analyze.Result) table {
	t := table{Caption: "Riding time per depth of travel", Heads: []head{{Text: "Travel", Unit: "mm", Number: true}, {Text: "Share of riding time", Unit: "%", Number: true}, {Text: "Cumulative", Unit: "%", Number: true}}}
	for i, s := range r.Travel.TimeShare {
		lo, hi := travelBin(r, i)
		t.Rows = append(t.Rows, texts(fixed(lo, 0)+"–"+fixed(hi, 0), fixed(100*s, 2), fixed(100*at(r.Travel.Cumulative, i), 2)))
	}
	return t
}

func velocityTable(r *analyze.Result) table {
	v := &r.Velocity
	t := table{Caption: "Distribution of speed; negative = rebound", Heads: []head{{Text: "Speed", Unit: "mm/s", Number: true}, {Text: "Share of riding time", Unit: "%", Number: true}, {Text: "Share of distance travelled", Unit: "%", Number: true}}}
	add := func(name string, byTime, byTravel float64) {
		t.Rows = append(t.Rows, texts(name, signif(100*byTime, 3), signif(100*byTravel, 3)))
	}
	lo, hi := usedBins(v.TimeShare)
	for i := lo; i < hi; i++ {
		from := v.FirstEdgeMMS + float64(i)*v.BinMMS
		add(fixed(from, 0)+" to "+fixed(from+v.BinMMS, 0), v.TimeShare[i], at(v.TravelShare, i))
	}
	if v.UnderTimeShare > 0 {
		add("below the range", v.UnderTimeShare, v.UnderTravelShare)
	}
	if v.OverTimeShare > 0 {
		add("above the range", v.OverTimeShare, v.OverTravelShare)
	}
	return t
}

// densityTable lists the busiest fields of the heat map, row by row of travel.
func densityTable(r *analyze.Result) table {
	d := &r.Density
	t := table{Caption: "Per depth of travel: the speed at which the fork spent most time", Heads: []head{{Text: "Travel", Unit: "mm", Number: true}, {Text: "Busiest speed bin", Unit: "mm/s", Number: true}, {Text: "Share of riding time in that bin", Unit: "%", Number: true}}}
	for i, row := range d.Share {
		best := 0
		for j, s := range row {
			if s > row[best] {
				best = j
			}
		}
		if len(row) == 0 || row[best] == 0 {
			continue
		}
		w := d.TravelBinPct / 100 * r.Fork.TravelMM
		from := d.FirstEdgeMMS + float64(best)*d.BinMMS
		t.Rows = append(t.Rows, texts(fixed(float64(i)*w, 0)+"–"+fixed(float64(i+1)*w, 0), fixed(from, 0)+" to "+fixed(from+d.BinMMS, 0), signif(100*row[best], 3)))
	}
	return t
}

func rainflowTable(r *analyze.Result) table {
	t := table{Caption: "Rainflow cycles per range", Heads: []head{{Text: "Range", Unit: "mm", Number: true}, {Text: "Cycles", Number: true}}}
	for _, b := range r.Strokes.Rainflow {
		t.Rows = append(t.Rows, texts(fixed(b.LowMM, 0)+"–"+fixed(b.HighMM, 0), signif(b.Count, 4)))
	}
	return t
}

// strokeTable sums the strokes up per direction.
func strokeTable(r *analyze.Result) table {
	t := table{Caption: "Strokes while riding", Heads: []head{{Text: "Figure"}, {Text: "Compression", Number: true}, {Text: "Rebound", Number: true}}}
	c, b := &r.Strokes.Compression, &r.Strokes.Rebound
	add := func(name string, f, g analyze.Figure, w format) {
		t.Rows = append(t.Rows, row{Cells: []cell{text(name), figureCell(show(f, w)), figureCell(show(g, w))}})
	}
	add("Count", c.Count, b.Count, whole)
	add("Rate", c.PerMin, b.PerMin, perMin)
	add("Mean duration", c.MeanDurationS, b.MeanDurationS, ms)
	add("Median duration", c.MedianDurationS, b.MedianDurationS, ms)
	add("Amplitude, 95 % under", c.Q95AmplitudeMM, b.Q95AmplitudeMM, mm)
	add("Peak speed, median", c.MedianPeakMMS, b.MedianPeakMMS, mmps)
	add("Peak speed, 95 % under", c.Q95PeakMMS, b.Q95PeakMMS, mmps)
	add("Shorter than "+ms(r.Options.ShortStrokeS), c.ShortShare, b.ShortShare, share)
	return t
}

func speedTable(r *analyze.Result) table {
	t := table{Caption: "Speed while riding", Heads: []head{{Text: "Figure"}, {Text: "Compression", Unit: "mm/s", Number: true}, {Text: "Rebound", Unit: "mm/s", Number: true}}}
	c, b := &r.Velocity.Compression, &r.Velocity.Rebound
	add := func(name string, f, g analyze.Figure) {
		t.Rows = append(t.Rows, row{Cells: []cell{text(name), figureCell(show(f, whole)), figureCell(show(g, whole))}})
	}
	add("Mean", c.MeanMMS, b.MeanMMS)
	add("Median", c.MedianMMS, b.MedianMMS)
	add("95 % under", c.Q95MMS, b.Q95MMS)
	add("99 % under", c.Q99MMS, b.Q99MMS)
	add("Largest", c.MaxMMS, b.MaxMMS)
	return t
}

func bandTable(r *analyze.Result) table {
	t := table{Caption: "Power per frequency band", Heads: []head{{Text: "Band"}, {Text: "Range", Unit: "Hz", Number: true}, {Text: "Travel power", Number: true}, {Text: "Velocity power", Number: true}, {Text: "Centre of velocity power", Number: true}, {Text: "Peak that stands out", Number: true}}}
	for _, b := range r.Spectrum.Bands {
		t.Rows = append(t.Rows, row{Cells: []cell{
			text(sentence(b.Name)), text(fmt.Sprintf("%s–%s", plainNumber(b.LowHz), plainNumber(b.HighHz))),
			figureCell(show(b.TravelMM2, area)), figureCell(show(b.VelocityMM2, areaps)), figureCell(show(b.CentroidHz, hz)), figureCell(show(b.PeakHz, hz)),
		}})
	}
	return t
}

func decayTable(r *analyze.Result) table {
	t := table{
		Caption: "Free decays",
		Heads:   []head{{Text: "When"}, {Text: "First swing", Unit: "mm", Number: true}, {Text: "Damping ratio", Number: true}, {Text: "Natural frequency", Unit: "Hz", Number: true}, {Text: "Fit R²", Number: true}},
		Empty:   "No free decay was found.",
	}
	for _, d := range r.Damping.Decays {
		zeta, f, r2 := fixed(d.Zeta, 2), fixed(d.NaturalHz, 1), fixed(d.R2, 2)
		if d.NoOvershoot {
			zeta, f, r2 = "no overshoot", absentMark, absentMark
		}
		row := texts(clock(d.TimeS), fixed(d.AmplitudeMM, 0), zeta, f, r2)
		row.Link = &link{max(0, d.TimeS-0.5), d.TimeS + 1.5, "free decay at " + clock(d.TimeS)}
		t.Rows = append(t.Rows, row)
	}
	return clipRows(t)
}
