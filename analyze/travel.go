package analyze

// Travel is how the fork's travel was used while riding.
type Travel struct {
	BinPct       float64     `json:"bin_pct"`             // bin width, percent of travel
	TimeShare    []float64   `json:"time_share"`          // per bin, sums to 1; empty where there was no riding
	Cumulative   []float64   `json:"cumulative"`          // share of time at or under each bin's upper edge
	BelowRange   int         `json:"samples_below_range"` // counted in the first bin
	AboveRange   int         `json:"samples_above_range"` // counted in the last bin
	Q05MM        Figure      `json:"q05_mm"`
	Q25MM        Figure      `json:"q25_mm"`
	Q50MM        Figure      `json:"q50_mm"`
	Q75MM        Figure      `json:"q75_mm"`
	Q95MM        Figure      `json:"q95_mm"`
	Q99MM        Figure      `json:"q99_mm"`
	MaxMM        Figure      `json:"max_mm"`
	MaxPct       Figure      `json:"max_pct"`
	MaxAtS       *float64    `json:"max_at_s,omitempty"` // nil where MaxMM is absent
	BottomOuts   Figure      `json:"bottom_outs"`
	BottomPerMin Figure      `json:"bottom_outs_per_min"`
	BottomHard   Figure      `json:"bottom_outs_hard"`
	Bottoms      []BottomOut `json:"bottom_out_events"`
	TopOuts      Figure      `json:"top_outs"`
	TopOutPerMin Figure      `json:"top_outs_per_min"`
	TopOutHard   Figure      `json:"top_outs_hard"`
	Tops         []TopOut    `json:"top_out_events"`
}

// travelBinCount bins of 5 % of travel each.
const travelBinCount = 20

func (r *ride) travel(strokes []Stroke) Travel {
	out := Travel{
		BinPct: 100.0 / travelBinCount, TimeShare: []float64{}, Cumulative: []float64{},
		Bottoms: r.bottomOuts(), Tops: r.topOuts(strokes),
	}
	m := r.all
	if m.n == 0 {
		a := Absent(noRiding)
		for _, f := range []*Figure{
			&out.Q05MM, &out.Q25MM, &out.Q50MM, &out.Q75MM, &out.Q95MM, &out.Q99MM, &out.MaxMM, &out.MaxPct,
			&out.BottomOuts, &out.BottomPerMin, &out.BottomHard, &out.TopOuts, &out.TopOutPerMin, &out.TopOutHard,
		} {
			*f = a
		}
		return out
	}
	r.travelHistogram(&out)
	q := m.x.quantiles(m.n, r.visitX, 0.05, 0.25, 0.5, 0.75, 0.95, 0.99)
	for i, f := range []*Figure{&out.Q05MM, &out.Q25MM, &out.Q50MM, &out.Q75MM, &out.Q95MM, &out.Q99MM} {
		*f = Value(q[i], m.n)
	}
	out.MaxMM, out.MaxPct = Value(m.maxX, m.n), Value(100*m.maxX/r.T, m.n)
	at := r.time(&r.segs[m.maxSeg], float64(m.maxAt))
	out.MaxAtS = &at
	hardBottoms, hardTops := 0, 0
	for _, b := range out.Bottoms {
		if b.Hard {
			hardBottoms++
		}
	}
	for _, t := range out.Tops {
		if t.Hard {
			hardTops++
		}
	}
	out.BottomOuts, out.BottomPerMin, out.BottomHard = r.counts(len(out.Bottoms), hardBottoms)
	out.TopOuts, out.TopOutPerMin, out.TopOutHard = r.counts(len(out.Tops), hardTops)
	return out
}

// counts makes the figures of n events, hard of which were hard.
func (r *ride) counts(n, hard int) (count, perMin, hardCount Figure) {
	hardCount = Value(float64(hard), n)
	if r.noVelocity != "" {
		hardCount = Absent(r.noVelocity)
	}
	return Value(float64(n), n), Value(float64(n)/r.ridingMinutes(), n), hardCount
}

// travelHistogram turns the counts of travel bins into shares. Bins are [lo, hi), the last is closed: a sample at
// exactly T is in range.
func (r *ride) travelHistogram(out *Travel) {
	rows := make([]int, travelBinCount+2)
	for i, row := range r.all.density {
		for _, n := range row {
			rows[i] += n
		}
	}
	out.BelowRange, out.AboveRange = rows[0], rows[travelBinCount+1]-r.all.atTop
	rows[1] += rows[0]
	rows[travelBinCount] += rows[travelBinCount+1]
	total := 0
	for _, n := range rows[1 : travelBinCount+1] {
		total += n
		out.TimeShare = append(out.TimeShare, float64(n)/float64(r.all.n))
		out.Cumulative = append(out.Cumulative, float64(total)/float64(r.all.n))
	}
}

// visitX passes every riding sample of filtered travel.
func (r *ride) visitX(f func(float64)) {
	for k := range r.segs {
		s := &r.segs[k]
		for _, p := range s.ridingSpans() {
			for _, x := range s.x[p.lo:p.hi] {
				f(x)
			}
		}
	}
}
