package analyze

import (
	"cmp"
	"math"
	"slices"

	"stanchion/analyze/signal"
)

// The causes of a harsh section, in the order in which they are tried.
const (
	CauseBottoming = "bottoming"
	CausePacking   = "packing"
	CauseChatter   = "chatter"
	CauseBigHits   = "big hits"
	CauseRough     = "rough ground"
)

// A HarshSection is a stretch of the roughest riding. Sections are ranked by exposure, the harshest first.
type HarshSection struct {
	StartS      float64  `json:"start_s"`
	EndS        float64  `json:"end_s"`
	Exposure    float64  `json:"exposure_mm2_s"` // ∫v²dt, mm²/s
	RMSMMS      float64  `json:"rms_mm_s"`
	PeakMMS     float64  `json:"peak_compression_mm_s"`
	FastShare   float64  `json:"fast_share"` // of its time with v ≥ Options.SplitMMS
	MeanMM      float64  `json:"mean_travel_mm"`
	PeakMM      float64  `json:"peak_travel_mm"`
	BottomOuts  int      `json:"bottom_outs"`
	PackingRuns int      `json:"packing_runs"`
	BandHz      Figure   `json:"band_hz"`                 // centroid of its velocity power
	FastBands   Figure   `json:"wheel_and_chatter_share"` // of its velocity power, in the wheel and chatter bands
	Causes      []string `json:"causes"`                  // first is the cause
	// StartM and EndM are distances, absent without a distance or speed channel.
	StartM Figure `json:"start_m"`
	EndM   Figure `json:"end_m"`
}

// Rough is where it was rough.
type Rough struct {
	Sections     []HarshSection `json:"sections"`
	ThresholdMMS Figure         `json:"threshold_mm_s"`
	MedianMMS    Figure         `json:"median_mm_s"` // of riding cells
	PerTenMetres []DistanceCell `json:"per_10_m,omitempty"`
	DistanceFrom string         `json:"distance_from,omitempty"` // DistanceLogged, DistanceFromSpeed, or empty: not known
}

// A DistanceCell is the roughness of 10 m of trail.
type DistanceCell struct {
	StartM float64 `json:"start_m"`
	RMSMMS float64 `json:"rms_mm_s"`
}

// relativeNote goes with the threshold of harsh sections.
const relativeNote = "harsh is relative to this run: the roughest part of a smooth run is listed too"

// rough finds the harsh sections: riding cells at or over the HarshQuantile of the riding cells' roughness, merged over
// gaps under HarshGapS, kept if they last HarshMinS. A section runs from the start of its first cell to the end of its
// last, the merged gaps included.
func (r *ride) rough(strokes []Stroke, bottoms []BottomOut, packing []PackingRun) Rough {
	if r.noVelocity != "" {
		none := Absent("%s", r.noVelocity)
		return Rough{Sections: []HarshSection{}, ThresholdMMS: none, MedianMMS: none}
	}
	all := r.ridingRMS()
	if len(all) == 0 {
		return Rough{Sections: []HarshSection{}, ThresholdMMS: Absent(noRiding), MedianMMS: Absent(noRiding)}
	}
	n := len(all)
	q := signal.Quantiles(all, 0.5, r.opt.HarshQuantile)
	rough := Rough{Sections: []HarshSection{}, MedianMMS: Value(q[0], n), ThresholdMMS: Value(q[1], n, relativeNote)}
	for i := range r.segs {
		s := &r.segs[i]
		along := r.distance.values(r.trace, s)
		for _, span := range r.harshSpans(s.cells, q[1]) {
			h := r.harshSection(s, span[0], span[1])
			h.count(bottoms, packing)
			h.Causes = r.causes(h, r.bigHits(strokes, h))
			h.StartM, h.EndM = r.distance.figure(along, span[0]), r.distance.figure(along, span[1]-1)
			rough.Sections = append(rough.Sections, h)
		}
	}
	slices.SortStableFunc(rough.Sections, func(a, b HarshSection) int { return cmp.Compare(b.Exposure, a.Exposure) })
	if r.distance.known() {
		rough.PerTenMetres, rough.DistanceFrom = r.perTenMetres(), r.distance.from
	}
	return rough
}

// harshSpans are the sample ranges [lo, hi) of the harsh sections of one segment.
func (r *ride) harshSpans(cells []cell, limit float64) [][2]int {
	const slack = 1e-9 // s, for lengths that are whole cells but for rounding
	length := func(n int) float64 { return float64(n) * r.opt.CellS }
	var spans [][2]int
	first, last := -1, -1
	flush := func() {
		if first >= 0 && length(last-first+1) >= r.opt.HarshMinS-slack {
			spans = append(spans, [2]int{cells[first].lo, cells[last].hi})
		}
	}
	for k, c := range cells {
		if !c.riding || c.rms < limit {
			continue
		}
		if first < 0 || length(k-last-1) >= r.opt.HarshGapS-slack {
			flush()
			first = k
		}
		last = k
	}
	flush()
	return spans
}

// harshSection measures samples [lo, hi) of s.
func (r *ride) harshSection(s *segment, lo, hi int) HarshSection {
	h := HarshSection{StartS: r.time(s, float64(lo)), EndS: r.time(s, float64(hi)), PeakMM: math.Inf(-1)}
	x, v := s.x[lo:hi], s.v[lo:hi]
	squares, sum, fast := 0.0, 0.0, 0
	for i := range v {
		squares += v[i] * v[i]
		sum += x[i]
		h.PeakMMS = max(h.PeakMMS, v[i])
		h.PeakMM = max(h.PeakMM, x[i])
		if v[i] >= r.opt.SplitMMS {
			fast++
		}
	}
	n := float64(hi - lo)
	h.Exposure, h.RMSMMS = squares/r.fs, math.Sqrt(squares/n)
	h.MeanMM, h.FastShare = sum/n, float64(fast)/n
	h.BandHz, h.FastBands = r.sectionBand(v)
	return h
}

// sectionBand is the centroid of the velocity PSD of one section and the share of its power in the wheel and chatter
// bands, both over the frequencies from the chassis band's lower to the chatter band's upper edge.
func (r *ride) sectionBand(v []float64) (hz, share Figure) {
	psd := signal.Welch([][]float64{v}, r.fs, r.count(r.opt.SectionWindowS))
	if psd.Windows == 0 {
		none := Absent("shorter than %g s", r.opt.SectionWindowS)
		return none, none
	}
	within := func(lowHz, highHz float64) (lo, hi int) { return bins(psd.StepHz, lowHz, highHz, len(psd.Density)) }
	lo, hi := within(r.opt.ChassisHz[0], r.opt.ChatterHz[1])
	c, ok := centroid(psd.Density, psd.StepHz, lo, hi)
	if !ok {
		none := Absent("no power from %g to %g Hz", r.opt.ChassisHz[0], r.opt.ChatterHz[1])
		return none, none
	}
	fast := 0.0
	for _, b := range [...][2]float64{r.opt.WheelHz, r.opt.ChatterHz} {
		lo, hi := within(b[0], b[1])
		fast += power(psd.Density[lo:hi], psd.StepHz)
	}
	return Value(c, psd.Windows), Value(fast/power(psd.Density[lo:hi], psd.StepHz), psd.Windows)
}

// count counts the bottom-outs that start in the section and the packing runs that overlap it.
func (h *HarshSection) count(bottoms []BottomOut, packing []PackingRun) {
	for _, b := range bottoms {
		if b.TimeS >= h.StartS && b.TimeS < h.EndS {
			h.BottomOuts++
		}
	}
	for _, p := range packing {
		if p.StartS < h.EndS && p.EndS >= h.StartS {
			h.PackingRuns++
		}
	}
}

// bigHits counts the compression strokes of at least BigHitPct of travel over BigHitMMS whose midpoint is in the section.
func (r *ride) bigHits(strokes []Stroke, h HarshSection) int {
	// Strokes are in time order: start at the first that could have its midpoint in the section.
	k, _ := slices.BinarySearchFunc(strokes, h.StartS, func(st Stroke, t float64) int { return cmp.Compare(st.EndS, t) })
	n := 0
	for ; k < len(strokes) && strokes[k].StartS < h.EndS; k++ {
		st := &strokes[k]
		mid := (st.StartS + st.EndS) / 2
		if mid >= h.StartS && mid < h.EndS && st.Compression && st.AmplitudeMM >= r.pct(r.opt.BigHitPct) && st.PeakMMS > r.opt.BigHitMMS {
			n++
		}
	}
	return n
}

// causes lists the causes of h whose rules hold, in the order of the rules; rough ground where none does.
func (r *ride) causes(h HarshSection, bigHits int) []string {
	fast, ok := h.FastBands.Get()
	rules := [...]struct {
		holds bool
		cause string
	}{
		{h.BottomOuts > 0, CauseBottoming},
		{h.PackingRuns > 0, CausePacking},
		{ok && fast >= r.opt.ChatterShare && h.PeakMM < r.pct(r.opt.ChatterMaxPct), CauseChatter},
		{bigHits > 0, CauseBigHits},
	}
	var causes []string
	for _, rule := range rules {
		if rule.holds {
			causes = append(causes, rule.cause)
		}
	}
	if len(causes) == 0 {
		causes = []string{CauseRough}
	}
	return causes
}
