package report

import (
	"fmt"

	"stanchion/analyze"
)

// A drawing makes a chart, nil where there is nothing to draw.
type drawing func(*analyze.Result) (*chart, error)

func tunerReading(r *analyze.Result) (reading, error) {
	out := reading{ID: "tuner", Who: "Tuner", Asks: "How does the fork work?"}
	for _, b := range []struct {
		block
		draw    drawing
		noChart string
	}{
		{travelBlock(r), travelChart, "No riding to draw."},
		{velocityBlock(r), velocityChart, "No riding to draw."},
		{regimeBlock(r), regimeChart, "Not all shares could be computed."},
		{densityBlock(r), densityChart, "No riding to draw."},
		{strokeBlock(r), strokeChart, "No strokes to draw."},
		{reversalBlock(r), reversalChart, "No reversals to draw."},
		{controlBlock(r), nil, ""},
		{dampingBlock(r), dampingChart, "No free decay was found."},
		{spectrumBlock(r), spectrumChart, "The recording is too short for a spectrum."},
		{rainflowBlock(r), rainflowChart, "No strokes to count."},
	} {
		if b.draw != nil {
			c, err := b.draw(r)
			if err != nil {
				return reading{}, err
			}
			if b.Chart = c; c == nil {
				b.NoChart = b.noChart
			}
		}
		out.Blocks = append(out.Blocks, b.block)
	}
	return out, nil
}

func travelBlock(r *analyze.Result) block {
	t, s := &r.Travel, &r.Sag
	return block{
		ID: "use", Title: "Sag and use of travel",
		Read: "Bars: how long the fork spent at each depth. Line: the share of time at that depth or less.",
		Figures: []figureRow{
			{"Static sag", showBoth(s.StaticMM, mmFine, s.StaticPct, percent), usualSag},
			{"Friction band", show(s.FrictionBandMM, mmFine), "about twice friction over spring rate"},
			{"Median while riding", showBoth(s.DynamicMM, mmFine, s.DynamicPct, percent), ""},
			{"Mean while riding", showBoth(s.DynamicMeanMM, mmFine, s.DynamicMeanPct, percent), ""},
			{"Middle half of the time", span(t.Q25MM, t.Q75MM), ""},
			{"95 % of the time under", show(t.Q95MM, mm), ""},
			{"99 % of the time under", show(t.Q99MM, mm), ""},
			{"Deepest", deepest(r), ""},
			{"Bottom-outs", bottoms(r), ""},
			{"Top-outs", tops(r), "rebound that ends under " + percent(r.Options.TopOutPct) + " of travel"},
		},
		Behind: []table{travelTable(r)},
	}
}

// span is a range between two figures.
func span(lo, hi analyze.Figure) shown {
	s, h := show(lo, whole), show(hi, mm)
	if s.Absent {
		return s
	}
	if h.Absent {
		return h
	}
	s.Text += "–" + h.Text
	return s
}

func tops(r *analyze.Result) shown {
	s := show(r.Travel.TopOuts, whole)
	if hard, ok := r.Travel.TopOutHard.Get(); ok && !s.Absent && s.Text != "0" {
		s.Text += " (" + whole(hard) + " hard)"
	}
	return s
}

func velocityBlock(r *analyze.Result) block {
	return block{
		ID: "speed", Title: "Speed of compression and rebound",
		Read:   "Left of zero the fork extends (rebound), right of zero it compresses. By time shows what it does most; by distance travelled shows where the dampers work.",
		Tables: []table{speedTable(r)}, Behind: []table{velocityTable(r)},
		Figures: []figureRow{{"Rebound-to-compression ratio", show(r.Velocity.ReboundRatio, ratio), "95 % speeds; under 1 rebound is the slower one"},
			{fmt.Sprintf("Rebound at %g–%g %% travel, mean", r.Options.ReboundDepthPct[0], r.Options.ReboundDepthPct[1]), show(r.Velocity.AtDepth.ReboundMMS, mmps), "the spring pushes the same there, whatever the hit: this is the rebound damper"},
			{fmt.Sprintf("Compression past %g %% travel, 70 %% under", r.Options.CompressionDepthPct), show(r.Velocity.AtDepth.CompressionQ70MMS, mmps), "rebound clicks hardly change it"}},
	}
}

func regimeBlock(r *analyze.Result) block {
	g := r.Velocity.Regimes
	return block{
		ID: "balance", Title: "Slow and fast",
		Read: "The split between slow and fast is " + mmps(r.Options.SplitMMS) + ": a setting, no published value exists.",
		Figures: []figureRow{
			{"Fast rebound", show(g.HighRebound, share), ""}, {"Slow rebound", show(g.LowRebound, share), ""},
			{"Still (under " + mmps(r.Options.StillMMS) + ")", show(g.Still, share), ""},
			{"Slow compression", show(g.LowCompression, share), ""}, {"Fast compression", show(g.HighCompression, share), ""},
		},
	}
}

func densityBlock(r *analyze.Result) block {
	return block{
		ID: "map", Title: "Where in the travel it is fast",
		Read:   "Each field is a depth and a speed; the darker, the more time (log scale). A lop-sided cloud deep in the travel shows rebound and compression working differently there.",
		Behind: []table{densityTable(r)},
	}
}

func strokeBlock(r *analyze.Result) block {
	return block{
		ID: "strokes-block", Title: "Strokes",
		Read:    "Each mark is one stroke, from turning point to turning point. Marks on one side show whether rebound takes longer than compression of the same size. Very many strokes are thinned for drawing, the largest kept.",
		Tables:  []table{strokeTable(r)},
		Figures: []figureRow{{"Mean stroke time, both ways", show(r.Strokes.MeanDurationS, ms), usualStroke}},
	}
}

func reversalBlock(r *analyze.Result) block {
	v := &r.Reversals
	return block{
		ID: "reversal", Title: "Reversal times",
		Read: "How long the fork needs to change direction, from " + mmps(r.Options.ReversalMMS) + " one way to the same speed the other way. Low-pass at " + plainNumber(r.Quality.CutoffHz) + gap + "Hz" + "; shortest time that it can show: " + show(r.Quality.ShortestReversalS, ms).inline() + ".",
		Figures: []figureRow{
			{"Compression to rebound, median", show(v.CompressionToRebound.MedianS, ms), ""},
			{"Compression to rebound, 90 % under", show(v.CompressionToRebound.Q90S, ms), ""},
			{"Rebound to compression, median", show(v.ReboundToCompression.MedianS, ms), ""},
			{"Rebound to compression, 90 % under", show(v.ReboundToCompression.Q90S, ms), ""},
		},
	}
}

func controlBlock(r *analyze.Result) block {
	p, t := &r.Packing, &r.Return
	return block{
		ID: "control", Title: "Packing and return",
		Read: "Depth is measured from " + orElse(p.Reference, "static sag") + ": " + show(p.ReferenceMM, mm).inline() + ".",
		Figures: []figureRow{
			{"Packing runs", show(p.Count, whole), "runs of valleys that all stay deep"},
			{"Packing rate", show(p.PerMin, perMin), ""},
			{"Deepest valley", show(p.DeepestMM, mm), ""},
			{"Ride-height loss", show(p.RideHeightLossMM, mmFine), "median while riding, less static sag"},
			{"Sink in rough ground", show(p.SinkInRoughPct, points), "of travel"},
			{"Return after a hit, median", show(t.MedianS, ms), "until nearly back at sag"},
			{"Return after a hit, 90 % under", show(t.Q90S, ms), ""},
			{"Not back in " + ms(r.Options.ReturnLimitS), show(t.NotBackShare, share), "of deep hits"},
		},
		Tables: []table{packingTable(r)},
	}
}

func dampingBlock(r *analyze.Result) block {
	d := &r.Damping
	return block{
		ID: "decay", Title: "Damping ratio",
		Read: "From moments in which the fork was left to swing out by itself. A ratio of 1 comes back without overshoot.",
		Figures: []figureRow{
			{"Damping ratio ζ, median", show(d.Zeta, ratio), ""},
			{"95 % interval of it", interval(d.ZetaLow, d.ZetaHigh), "by bootstrap"},
			{"Natural frequency", show(d.NaturalHz, hz), ""},
			{"Decays without overshoot", show(d.NoOvershoot, whole), "ζ of 1 or more, or held by friction; not averaged"},
		},
		Behind: []table{decayTable(r)},
	}
}

// interval is a range between two figures that share a caveat.
func interval(lo, hi analyze.Figure) shown {
	s, h := show(lo, ratio), show(hi, ratio)
	if s.Absent {
		return s
	}
	if h.Absent {
		return h
	}
	return shown{Text: s.Text + " to " + h.Text}
}

func spectrumBlock(r *analyze.Result) block {
	return block{
		ID: "frequency", Title: "Frequency content",
		Read:   "Power per frequency over the whole recording. The chassis moves slowly, the wheel hops faster, chatter is faster still.",
		Tables: []table{bandTable(r)},
		Figures: []figureRow{
			{"Windows averaged", show(r.Spectrum.Windows, whole), "more give a smoother line"},
		},
	}
}

func rainflowBlock(r *analyze.Result) block {
	return block{
		ID: "ranges", Title: "Movements by size",
		Read:   "Rainflow count of the turning points (ASTM E1049-85): how often the fork moved through each range, over the whole recording.",
		Behind: []table{rainflowTable(r)},
	}
}
