package analyze

// Stretch measures any stretch of time of a run with the definitions of a harsh section: roughness, speeds, travel, bottom-outs,
// packing, band frequency and causes. res and sig are those of one Run. ok is false where under nine tenths of it lie in one
// gap-free segment, or where the sample rate is too low for velocity.
func Stretch(res *Result, sig *Signals, startS, endS float64) (h HarshSection, ok bool) {
	if sig == nil || !(sig.RateHz >= res.Options.RateMinVelocityHz) || !(endS > startS) {
		return HarshSection{}, false
	}
	r := &ride{opt: res.Options, fs: sig.RateHz, T: res.Fork.TravelMM}
	for i := range sig.Segments {
		g := &sig.Segments[i]
		s := &segment{startS: g.StartS, x: g.TravelMM, v: g.VelocityMMS}
		lo, hi := max(0, r.sampleAt(s, startS)), min(len(g.TravelMM), r.sampleAt(s, endS))
		if hi <= lo || float64(hi-lo)/r.fs < stretchShare*(endS-startS) {
			continue
		}
		h = r.harshSection(s, lo, hi)
		h.count(res.Travel.Bottoms, res.Packing.Runs)
		h.Causes = r.causes(h, r.bigHits(res.Strokes.List, h))
		h.StartM, h.EndM = Absent("not looked up"), Absent("not looked up")
		return h, true
	}
	return HarshSection{}, false
}

// stretchShare of a stretch must be covered by samples without a gap.
const stretchShare = 0.9
