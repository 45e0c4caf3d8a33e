package analyze

import (
	"math"
	"slices"

	"stanchion/analyze/signal"
)

// A Stroke is the travel from one turning point to the next.
type Stroke struct {
	StartS      float64 `json:"start_s"`
	EndS        float64 `json:"end_s"`
	StartMM     float64 `json:"start_mm"`
	EndMM       float64 `json:"end_mm"`
	Compression bool    `json:"compression"`
	AmplitudeMM float64 `json:"amplitude_mm"` // positive
	DurationS   float64 `json:"duration_s"`
	PeakMMS     float64 `json:"peak_mm_s"` // largest speed in the stroke's direction, positive
	MeanMMS     float64 `json:"mean_mm_s"` // amplitude / duration
	Riding      bool    `json:"riding"`    // its midpoint lies in riding time
	Segment     int     `json:"segment"`   // index into Signals.Segments

	lo, hi int // samples of the two turning points in the segment
}

// StrokeSummary is about the strokes of one direction while riding.
type StrokeSummary struct {
	Count           Figure `json:"count"`
	PerMin          Figure `json:"per_min"`
	MeanDurationS   Figure `json:"mean_duration_s"`
	MedianDurationS Figure `json:"median_duration_s"`
	Q95AmplitudeMM  Figure `json:"q95_amplitude_mm"`
	MedianPeakMMS   Figure `json:"median_peak_mm_s"`
	Q95PeakMMS      Figure `json:"q95_peak_mm_s"`
	ShortShare      Figure `json:"short_share"` // shorter than Options.ShortStrokeS
}

// RangeBin is a bin of the rainflow range spectrum.
type RangeBin struct {
	LowMM  float64 `json:"low_mm"`
	HighMM float64 `json:"high_mm"`
	Count  float64 `json:"count"` // cycles; half cycles count 0.5
}

// Strokes is the run as a sequence of strokes.
type Strokes struct {
	Compression StrokeSummary `json:"compression"`
	Rebound     StrokeSummary `json:"rebound"`
	// MeanDurationS is over both directions, for the 30 ms rule of thumb.
	MeanDurationS Figure     `json:"mean_duration_s"`
	Rainflow      []RangeBin `json:"rainflow"` // 10 mm bins over the whole recording, the last one open above
	RainflowSum   float64    `json:"rainflow_sum"`
	// List holds every stroke of the recording in time order. It is not part of the JSON summary.
	List []Stroke `json:"-"`
}

// The bins of the rainflow range spectrum. Ranges over the last edge count in the last bin, so that wild readings
// cannot make the spectrum long.
const (
	rangeBinMM  = 10
	rangeBinMax = 60
)

func (r *ride) strokes() Strokes {
	out := Strokes{List: []Stroke{}, Rainflow: []RangeBin{}}
	for k := range r.segs {
		turns := signal.TurningPoints(r.segs[k].x, r.opt.StrokeGateMM)
		out.addRainflow(turns)
		out.List = slices.Grow(out.List, len(turns))
		for i := 1; i < len(turns); i++ {
			out.List = append(out.List, r.stroke(k, turns[i-1], turns[i]))
		}
	}
	out.Compression = r.summarise(out.List, true)
	out.Rebound = r.summarise(out.List, false)
	var durations []float64
	for _, s := range out.List {
		if s.Riding {
			durations = append(durations, s.DurationS)
		}
	}
	out.MeanDurationS = r.enough(len(durations), "stroke", func() float64 { return mean(durations) })
	return out
}

// stroke measures the stroke between two turning points of segment k.
func (r *ride) stroke(k int, from, to signal.Turn) Stroke {
	s := &r.segs[k]
	out := Stroke{
		StartS: r.time(s, float64(from.Index)), EndS: r.time(s, float64(to.Index)),
		StartMM: from.Value, EndMM: to.Value, Compression: to.Peak,
		AmplitudeMM: math.Abs(to.Value - from.Value),
		DurationS:   float64(to.Index-from.Index) / r.fs,
		Riding:      r.ridingAt(s, (from.Index+to.Index)/2),
		Segment:     k, lo: from.Index, hi: to.Index,
	}
	out.MeanMMS = out.AmplitudeMM / out.DurationS
	if r.noVelocity == "" {
		out.PeakMMS = fastest(s.v[from.Index:to.Index+1], out.Compression)
	}
	return out
}

// fastest is the largest speed in v in one direction, 0 where there is none.
func fastest(v []float64, compression bool) float64 {
	var low, high float64
	for _, a := range v {
		low, high = min(low, a), max(high, a)
	}
	if compression {
		return high
	}
	return -low
}

// summarise describes the riding strokes of one direction.
func (r *ride) summarise(list []Stroke, compression bool) StrokeSummary {
	if r.all.n == 0 {
		a := Absent(noRiding)
		return StrokeSummary{a, a, a, a, a, a, a, a}
	}
	var duration, amplitude, peak []float64
	short := 0
	for _, s := range list {
		if !s.Riding || s.Compression != compression {
			continue
		}
		duration = append(duration, s.DurationS)
		amplitude = append(amplitude, s.AmplitudeMM)
		peak = append(peak, s.PeakMMS)
		if s.DurationS < r.opt.ShortStrokeS-1e-9 { // whole samples against a decimal limit
			short++
		}
	}
	n := len(duration)
	what := "rebound stroke"
	if compression {
		what = "compression stroke"
	}
	figure := func(f func() float64) Figure { return r.enough(n, what, f) }
	out := StrokeSummary{
		Count: Value(float64(n), n), PerMin: Value(float64(n)/r.ridingMinutes(), n),
		MeanDurationS:   figure(func() float64 { return mean(duration) }),
		MedianDurationS: figure(func() float64 { return signal.Quantiles(duration, 0.5)[0] }),
		Q95AmplitudeMM:  figure(func() float64 { return signal.Quantiles(amplitude, 0.95)[0] }),
		ShortShare:      figure(func() float64 { return float64(short) / float64(n) }),
	}
	if least := 0.5 / r.opt.CutoffHz; least > r.opt.ShortStrokeS {
		// Half a period at the cutoff: shorter strokes do not pass, and a share of 0 would say that there were none.
		out.ShortShare = Absent("the %.3g Hz low-pass hides strokes shorter than %.0f ms", r.opt.CutoffHz, 1000*least)
	}
	if r.noVelocity != "" {
		out.MedianPeakMMS, out.Q95PeakMMS = Absent(r.noVelocity), Absent(r.noVelocity)
		return out
	}
	out.MedianPeakMMS = figure(func() float64 { return signal.Quantiles(peak, 0.5)[0] })
	out.Q95PeakMMS = figure(func() float64 { return signal.Quantiles(peak, 0.95)[0] })
	return out
}

// addRainflow counts the cycles of one segment's turning points into the range spectrum.
func (out *Strokes) addRainflow(turns []signal.Turn) {
	points := make([]float64, len(turns))
	for i, t := range turns {
		points[i] = t.Value
	}
	for _, c := range signal.Rainflow(points) {
		k := int(min(c.Range/rangeBinMM, rangeBinMax-1))
		for len(out.Rainflow) <= k {
			low := float64(len(out.Rainflow)) * rangeBinMM
			out.Rainflow = append(out.Rainflow, RangeBin{LowMM: low, HighMM: low + rangeBinMM})
		}
		out.Rainflow[k].Count += c.Count
		out.RainflowSum += c.Count
	}
}
