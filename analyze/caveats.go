package analyze

import (
	"fmt"
	"math"
	"strings"
	"unicode"
	"unicode/utf8"
)

// caveats gathers what a person must know before trusting the figures: warnings first.
func (r *ride) caveats(res *Result) []Caveat {
	var all []Caveat
	for _, c := range r.trace.Cautions {
		all = append(all, Caveat{Warning, "log", sentence(c)})
	}
	all = append(all, r.recordingCaveats()...)
	all = append(all, r.signalCaveats(&res.Quality)...)
	all = append(all, r.rideCaveats(res)...)
	all = append(all, r.distanceCaveats()...)
	out := []Caveat{}
	for _, severity := range []string{Warning, Note} {
		for _, c := range all {
			if c.Severity == severity {
				out = append(out, c)
			}
		}
	}
	return out
}

// caveatIf is one caveat where a condition holds, none where it does not.
func caveatIf(when bool, severity, topic, text string, args ...any) []Caveat {
	if !when {
		return nil
	}
	if len(args) > 0 {
		text = fmt.Sprintf(text, args...)
	}
	return []Caveat{{severity, topic, text}}
}

// recordingCaveats tells what was wrong with the recording as it came.
func (r *ride) recordingCaveats() []Caveat {
	q := &r.trace.Quality
	var out []Caveat
	add := func(c []Caveat) { out = append(out, c...) }
	clipped := q.ClippedLow + q.ClippedHigh
	add(caveatIf(clipped > 0, Warning, "clipping",
		"The sensor was at the end of its range for %d samples (%d low, %d high): the fork may have gone further than it shows.",
		clipped, q.ClippedLow, q.ClippedHigh))
	add(caveatIf(!q.ClippingKnown && q.MMPerCount != 0, Note, "clipping",
		"The range of the converter is not known, so clipping could not be checked: state its number of bits."))
	add(caveatIf(q.Rows > 0 && float64(q.BadRows) > 0.01*float64(q.Rows), Warning, "rows",
		"%d of %d rows of the log could not be read.", q.BadRows, q.Rows))
	if n := len(q.Splits); n > 0 {
		lost := 0.0
		for _, g := range q.Splits {
			lost += g.DurationS
		}
		add(caveatIf(true, Warning, "gaps",
			"%s without samples, %.1f s in all. Nothing is measured across them.", plural(n, "stretch", "stretches"), lost))
	}
	add(caveatIf(q.LostSamples > 0, Note, "gaps", "%s bridged by a smooth curve.", plural(q.LostSamples, "lost sample was", "lost samples were")))
	add(caveatIf(q.ShortSegments > 0, Note, "gaps",
		"%s between gaps too short to use, %.2f s in all.", plural(q.ShortSegments, "piece was", "pieces were"), q.ShortSegmentsS))
	stamps := q.DuplicateStamps + q.BackwardStamps + q.OutlierStamps
	add(caveatIf(stamps > 0, Note, "clock",
		"%d samples left out for their time stamp: %d repeated, %d went back, %d stood far off.",
		stamps, q.DuplicateStamps, q.BackwardStamps, q.OutlierStamps))
	add(caveatIf(q.Resampled, Note, "clock",
		"The samples were not evenly spaced and were moved onto an even grid: the fastest movements may read a little low."))
	add(caveatIf(q.SpikeSamples > 0, Note, "spikes",
		"%s replaced by what lies around, %s in all.", plural(q.SpikeRuns, "spike was", "spikes were"), plural(q.SpikeSamples, "sample", "samples")))
	add(caveatIf(q.LongSpikeRuns > 0, Warning, "spikes",
		"%s too long to be called a spike and left alone: look at the travel there.", plural(q.LongSpikeRuns, "jump in the readings is", "jumps in the readings are")))
	return out
}

// signalCaveats tells what filtering and the sensor do to the figures.
func (r *ride) signalCaveats(q *Quality) []Caveat {
	var out []Caveat
	add := func(c []Caveat) { out = append(out, c...) }
	offset, known := q.ZeroOffsetMM.Get()
	add(caveatIf(known && (offset > r.opt.ZeroCheckMM || offset < -r.opt.ZeroCheckMM), Warning, "zero",
		"Full extension reads %.1f mm, it should read 0: sag, depths and bottom-outs are off by that much. "+
			"If the fork is known to extend fully, set a zero offset of %.1f mm more and analyse again.", offset, offset))
	add(caveatIf(!known && r.all.n > 0, Note, "zero",
		"The fork did not extend fully while riding, so the sensor's zero could not be checked."))
	switch {
	case r.noVelocity != "":
		add(caveatIf(true, Warning, "rate",
			"The log has %.4g samples a second. Under %g there is no velocity, nor any figure that rests on it; riding time is judged all the same.",
			r.fs, r.opt.RateMinVelocityHz))
	default:
		add(caveatIf(r.fs < r.opt.RateWarnHz, Warning, "rate",
			"The log has %.4g samples a second: a stroke of 30 ms has fewer than 10 samples, so fast strokes and speeds read low. Log at %g or more.",
			r.fs, r.opt.RateWarnHz))
	}
	if noise, ok := q.NoiseMMS.Get(); ok && noise > r.opt.NoiseWarnMMS {
		text := fmt.Sprintf("In its quietest %g s the velocity still moves by %.0f mm/s.", r.opt.NoiseWindowS, noise)
		if hz, ok := q.SuggestedCutoffHz.Get(); ok {
			text += fmt.Sprintf(" If the fork was at rest then, this is sensor noise: a cutoff of %g Hz would bring it under %g mm/s.", hz, r.opt.NoiseWarnMMS)
		} else {
			text += " Let the bike stand still for a few seconds at the start of a log, so that noise can be told from movement."
		}
		out = append(out, Caveat{Warning, "noise", text})
	}
	return out
}

// rideCaveats tells what the figures themselves cannot know.
func (r *ride) rideCaveats(res *Result) []Caveat {
	var out []Caveat
	add := func(c []Caveat) { out = append(out, c...) }
	add(caveatIf(r.all.n == 0, Warning, "riding",
		"No riding was found: no second of the log has an RMS velocity over %g mm/s.", r.opt.RidingMMS))
	const short = 30 // s
	seconds := res.Ride.RidingS.Or(0)
	add(caveatIf(seconds > 0 && seconds < short, Note, "riding", "Only %.1f s of riding: figures from so little vary a lot from run to run.", seconds))
	add(caveatIf(r.all.n > 0, Note, "air",
		"A travel sensor sees extension, not flight: an extended fork may roll, and a fork with slow rebound may fly without ever extending. "+
			"An accelerometer or GPS could confirm it."))
	out = append(out, r.unlikelyTravel(res)...)
	above, below := res.Travel.AboveRange, res.Travel.BelowRange
	add(caveatIf(above > 0, Note, "travel", "%s past the full travel of %g mm, deepest at %.1f mm: check the calibration and the travel of the fork.",
		plural(above, "sample lies", "samples lie"), r.T, res.Travel.MaxMM.Or(0)))
	offset, known := res.Quality.ZeroOffsetMM.Get()
	zeroed := known && math.Abs(offset) <= r.opt.ZeroCheckMM // then it is the bounce of topping out
	add(caveatIf(!zeroed && float64(below) > 0.01*float64(r.all.n) && r.all.n > 0, Note, "travel",
		"%.1f %% of riding lies above full extension: check the sensor's zero.", 100*float64(below)/float64(max(1, r.all.n))))
	add(caveatIf(len(res.Travel.Bottoms) > 0 && r.noVelocity == "", Note, "travel",
		"The entry velocity of bottom-outs reads low, by up to 30 % on a simulated fork: the stop brakes within milliseconds and the low-pass smooths that."))
	if floor, ok := res.Quality.ShortestReversalS.Get(); ok {
		for _, f := range []struct {
			name   string
			figure Figure
		}{
			{"compression to rebound", res.Reversals.CompressionToRebound.MedianS},
			{"rebound to compression", res.Reversals.ReboundToCompression.MedianS},
		} {
			median, ok := f.figure.Get()
			add(caveatIf(ok && median < 2*floor, Note, "reversals",
				"The reversal time from %s, %.1f ms, is close to the %.1f ms that the %g Hz low-pass alone gives.",
				f.name, 1000*median, 1000*floor, r.opt.CutoffHz))
		}
	}
	add(few(res))
	return out
}

// Forks ride at a third of their travel or so, and a real run uses more than a small part of it (common practice, no
// source). Far from that, the reading is more likely to be wrong than the fork.
const (
	unlikelyMedianPct  = 60
	unlikelyDeepestPct = 15
)

// unlikelyTravel warns of travel that looks as if it was read upside down, in another unit or from another column.
func (r *ride) unlikelyTravel(res *Result) []Caveat {
	median, okMedian := res.Sag.DynamicPct.Get()
	deepest, okDeepest := res.Travel.MaxPct.Get()
	switch {
	case okMedian && median > unlikelyMedianPct:
		return caveatIf(true, Warning, "travel", "Half of the riding time the fork is deeper than %.0f %% of its travel, which forks hardly ever are: "+
			"the readings may be upside down. At full extension travel must read 0; check the calibration points.", median)
	case okDeepest && deepest < unlikelyDeepestPct:
		return caveatIf(true, Warning, "travel", "The fork never went deeper than %.0f %% of its travel: if this was a ride, "+
			"check the unit and the column of the readings, and the travel of the fork (%g mm).", deepest, r.T)
	}
	return nil
}

// few names the figures that rest on few events, in one note.
func few(res *Result) []Caveat {
	var labels []string
	for _, s := range res.Scalars() {
		for _, c := range s.Figure.Caveats() {
			if strings.HasPrefix(c, fewPrefix) {
				labels = append(labels, s.Label)
				break
			}
		}
	}
	return caveatIf(len(labels) > 0, Note, "few", "These rest on few events, so compare them between runs with care: %s.", strings.Join(labels, "; "))
}

// sentence begins text with a capital letter and ends it with a full stop.
func sentence(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	if size == 0 {
		return ""
	}
	text = string(unicode.ToUpper(first)) + text[size:]
	if strings.HasSuffix(text, ".") || strings.HasSuffix(text, "?") {
		return text
	}
	return text + "."
}

// plural is n with the word for it.
func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
