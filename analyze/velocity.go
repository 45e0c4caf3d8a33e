package analyze

// SpeedSummary is about speeds of one direction while riding, samples with |v| ≥ Options.StillMMS.
type SpeedSummary struct {
	MeanMMS   Figure `json:"mean_mm_s"`
	MedianMMS Figure `json:"median_mm_s"`
	Q95MMS    Figure `json:"q95_mm_s"`
	Q99MMS    Figure `json:"q99_mm_s"`
	MaxMMS    Figure `json:"max_mm_s"`
}

// Regimes are five exclusive shares of riding time that sum to 1.
type Regimes struct {
	Still           Figure `json:"still_share"`
	LowCompression  Figure `json:"low_speed_compression_share"`
	HighCompression Figure `json:"high_speed_compression_share"`
	LowRebound      Figure `json:"low_speed_rebound_share"`
	HighRebound     Figure `json:"high_speed_rebound_share"`
}

// The regimes' places in measured.regimes; each high-speed one follows its low-speed one.
const (
	still = iota
	lowCompression
	highCompression
	lowRebound
	highRebound
)

// Velocity is how fast the fork moved while riding.
type Velocity struct {
	// The histogram has bins [lo, hi) of Options.VelocityBinMMS from -limit to +limit. TimeShare and TravelShare each
	// sum to 1 together with their under- and overflow. Empty where there was no riding.
	BinMMS           float64      `json:"bin_mm_s"`
	FirstEdgeMMS     float64      `json:"first_edge_mm_s"`
	TimeShare        []float64    `json:"time_share"`
	TravelShare      []float64    `json:"travel_share"` // share of ∫|v|dt
	UnderTimeShare   float64      `json:"under_time_share"`
	OverTimeShare    float64      `json:"over_time_share"`
	UnderTravelShare float64      `json:"under_travel_share"`
	OverTravelShare  float64      `json:"over_travel_share"`
	Regimes          Regimes      `json:"regimes"`
	Compression      SpeedSummary `json:"compression"`
	Rebound          SpeedSummary `json:"rebound"`
	AtDepth          DepthSpeeds  `json:"at_depth"`
	ReboundRatio     Figure       `json:"rebound_to_compression_ratio"`
	TravelledM       Figure       `json:"travelled_m"` // ∫|v|dt in metres
}

// Density is the two-dimensional time share over travel and velocity while riding.
type Density struct {
	TravelBinPct float64     `json:"travel_bin_pct"`
	BinMMS       float64     `json:"velocity_bin_mm_s"`
	FirstEdgeMMS float64     `json:"first_edge_mm_s"`
	Share        [][]float64 `json:"share"` // [travel bin][velocity bin]; out-of-range samples in the end bins; sums to 1
}

// unspeakable is why figures that use v are absent, "" where they are not.
func (r *ride) unspeakable() string {
	switch {
	case r.noVelocity != "":
		return r.noVelocity
	case r.all.n == 0:
		return noRiding
	}
	return ""
}

func (r *ride) velocity() Velocity {
	bins := r.velocityBins()
	out := Velocity{BinMMS: bins.Width, FirstEdgeMMS: bins.First, TimeShare: []float64{}, TravelShare: []float64{}, AtDepth: r.depthSpeeds()}
	if why := r.unspeakable(); why != "" {
		a := Absent(why)
		s := SpeedSummary{a, a, a, a, a}
		out.Regimes, out.Compression, out.Rebound = Regimes{a, a, a, a, a}, s, s
		out.ReboundRatio, out.TravelledM = a, a
		return out
	}
	m := r.all
	r.velocityHistogram(&out)
	share := func(k int) Figure { return Value(float64(m.regimes[k])/float64(m.n), m.n) }
	out.Regimes = Regimes{share(still), share(lowCompression), share(highCompression), share(lowRebound), share(highRebound)}
	out.Compression = r.speeds(compressing)
	out.Rebound = r.speeds(rebounding)
	c, okC := out.Compression.Q95MMS.Get()
	b, okB := out.Rebound.Q95MMS.Get()
	switch {
	case !okC:
		out.ReboundRatio = Absent(out.Compression.Q95MMS.Reason())
	case !okB:
		out.ReboundRatio = Absent(out.Rebound.Q95MMS.Reason())
	default:
		out.ReboundRatio = Value(b/c, m.side[compressing].n+m.side[rebounding].n)
	}
	return out
}

// velocityHistogram turns counts into shares, and fills in the distance that the fork moved.
func (r *ride) velocityHistogram(out *Velocity) {
	m := r.all
	last := len(m.travelled) - 1
	total := 0.0
	for _, a := range m.travelled {
		total += a
	}
	out.TravelledM = Value(total/r.fs/1000, m.n)
	for k := range m.travelled {
		n := 0
		for _, row := range m.density {
			n += row[k]
		}
		time, travel := float64(n)/float64(m.n), 0.0
		if total > 0 {
			travel = m.travelled[k] / total
		}
		switch k {
		case 0:
			out.UnderTimeShare, out.UnderTravelShare = time, travel
		case last:
			out.OverTimeShare, out.OverTravelShare = time, travel
		default:
			out.TimeShare, out.TravelShare = append(out.TimeShare, time), append(out.TravelShare, travel)
		}
	}
}

// speeds summarises the samples of one direction.
func (r *ride) speeds(direction int) SpeedSummary {
	side := &r.all.side[direction]
	if side.n == 0 {
		a := Absent("the fork never moved this way at %g mm/s or more", r.opt.StillMMS)
		return SpeedSummary{a, a, a, a, a}
	}
	q := side.fast.quantiles(side.n, func(f func(float64)) { r.visitSpeeds(direction, f) }, 0.5, 0.95, 0.99)
	return SpeedSummary{
		MeanMMS: Value(side.sum/float64(side.n), side.n), MedianMMS: Value(q[0], side.n),
		Q95MMS: Value(q[1], side.n), Q99MMS: Value(q[2], side.n), MaxMMS: Value(side.max, side.n),
	}
}

// visitSpeeds passes every riding speed of one direction that is not still.
func (r *ride) visitSpeeds(direction int, f func(float64)) {
	sign := 1.0
	if direction == rebounding {
		sign = -1
	}
	for k := range r.segs {
		s := &r.segs[k]
		for _, p := range s.ridingSpans() {
			for _, v := range s.v[p.lo:p.hi] {
				if speed := sign * v; speed > 0 && speed >= r.opt.StillMMS {
					f(speed)
				}
			}
		}
	}
}

func (r *ride) density() Density {
	bins := r.velocityBins()
	out := Density{
		TravelBinPct: 100.0 / travelBinCount, BinMMS: bins.Width, FirstEdgeMMS: bins.First, Share: [][]float64{},
	}
	if r.unspeakable() != "" {
		return out
	}
	for range travelBinCount {
		out.Share = append(out.Share, make([]float64, bins.Bins))
	}
	clamp := func(k, n int) int { return max(0, min(k-1, n-1)) }
	for i, row := range r.all.density {
		to := out.Share[clamp(i, travelBinCount)]
		for k, n := range row {
			to[clamp(k, bins.Bins)] += float64(n) / float64(r.all.n)
		}
	}
	return out
}
