package analyze

// A BottomOut is one use of the last of the travel.
type BottomOut struct {
	TimeS      float64 `json:"time_s"` // first sample at or over the opening limit
	PeakMM     float64 `json:"peak_mm"`
	PeakPct    float64 `json:"peak_pct"`
	EntryMMS   float64 `json:"entry_mm_s,omitempty"`   // left out where there is no velocity
	LargestMMS float64 `json:"largest_mm_s,omitempty"` // largest v in the lookback window; left out likewise
	TimeAtEndS float64 `json:"time_at_end_s"`          // time at or over the opening limit
	Hard       bool    `json:"hard"`
}

// bottomOuts finds the bottom-outs that start while riding.
func (r *ride) bottomOuts() []BottomOut {
	open, shut := r.pct(r.opt.BottomOpenPct), r.pct(r.opt.BottomClosePct)
	out := []BottomOut{}
	for k := range r.segs {
		s := &r.segs[k]
		for i := 0; i < len(s.x); i++ {
			if s.x[i] < open {
				continue
			}
			start := i
			b := BottomOut{TimeS: r.time(s, float64(start)), PeakMM: s.x[start]}
			deep := 0
			for ; i < len(s.x) && s.x[i] >= shut; i++ {
				b.PeakMM = max(b.PeakMM, s.x[i])
				if s.x[i] >= open {
					deep++
				}
			}
			if !r.ridingAt(s, start) {
				continue
			}
			b.PeakPct, b.TimeAtEndS = 100*b.PeakMM/r.T, float64(deep)/r.fs
			if r.noVelocity == "" {
				b.EntryMMS = s.v[start]
				b.LargestMMS = largest(s.v[max(0, start-r.count(r.opt.BottomLookbackS)) : start+1])
				b.Hard = b.LargestMMS > r.opt.BottomHardMMS
			}
			out = append(out, b)
		}
	}
	return out
}

// largest is the largest value of a, which must not be empty.
func largest(a []float64) float64 {
	m := a[0]
	for _, v := range a {
		m = max(m, v)
	}
	return m
}

// A TopOut is a rebound stroke that ends at full extension.
type TopOut struct {
	TimeS    float64 `json:"time_s"`               // first sample under the limit
	SpeedMMS float64 `json:"speed_mm_s,omitempty"` // rebound speed there, positive; left out where there is no velocity
	Hard     bool    `json:"hard"`
}

// topOuts finds the top-outs whose first sample under the limit lies in riding time.
func (r *ride) topOuts(strokes []Stroke) []TopOut {
	limit := r.pct(r.opt.TopOutPct)
	out := []TopOut{}
	for _, t := range strokes {
		if t.Compression || t.StartMM < limit || t.EndMM >= limit {
			continue
		}
		s := &r.segs[t.Segment]
		i := t.lo
		for s.x[i] >= limit {
			i++
		}
		if !r.ridingAt(s, i) {
			continue
		}
		top := TopOut{TimeS: r.time(s, float64(i))}
		if r.noVelocity == "" {
			top.SpeedMMS = -s.v[i]
			top.Hard = top.SpeedMMS > r.opt.TopOutHardMMS
		}
		out = append(out, top)
	}
	return out
}
