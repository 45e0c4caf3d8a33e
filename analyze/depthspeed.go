package analyze

// DepthSpeeds are speeds in a given part of the travel. How fast a fork comes back depends on how deep it was: less compression damping
// makes deeper hits, the spring pushes harder from there, and rebound is faster without a change of its damper. At the same travel the
// spring pushes the same, and what is left is the damper. On simulated forks these figures follow their own damper and hardly the other
// (compare/testdata/crosstalk.md).
type DepthSpeeds struct {
	// ReboundMMS is the mean speed, by distance moved, of the rebound samples with travel in Options.ReboundDepthPct: Σv²/Σ∣v∣.
	ReboundMMS Figure `json:"rebound_mean_mm_s"`
	// CompressionQ70MMS is over the compression samples deeper than Options.CompressionDepthPct: nearer to full extension
	// compressions start against next to no spring, and how often the fork is there is up to its rebound.
	CompressionQ70MMS Figure `json:"compression_q70_mm_s"`
}

// depthSide is about the samples of one direction that are not still, in a part of the travel.
type depthSide struct {
	n          int
	passes     int // stretches of such samples: what the figure rests on
	sum, power float64
	fast       sieve
}

// add counts a sample; before says whether the sample before it counted too.
func (d *depthSide) add(speed float64, before bool) {
	d.n++
	if !before {
		d.passes++
	}
	d.sum += speed
	d.power += speed * speed
	d.fast.add(speed)
}

// merge adds the counts of p.
func (d *depthSide) merge(p *depthSide) {
	d.n, d.passes, d.sum, d.power = d.n+p.n, d.passes+p.passes, d.sum+p.sum, d.power+p.power
	d.fast.merge(p.fast)
}

// atDepth says whether a sample counts for the DepthSpeeds of its direction.
func (r *ride) atDepth(x, v float64) (direction int, ok bool) {
	switch {
	case v >= r.opt.StillMMS && v > 0:
		return compressing, x >= r.pct(r.opt.CompressionDepthPct)
	case -v >= r.opt.StillMMS && v < 0:
		return rebounding, x >= r.pct(r.opt.ReboundDepthPct[0]) && x < r.pct(r.opt.ReboundDepthPct[1])
	}
	return compressing, false
}

// depthSpeeds sums the measured samples up.
func (r *ride) depthSpeeds() DepthSpeeds {
	if why := r.unspeakable(); why != "" {
		return DepthSpeeds{Absent(why), Absent(why)}
	}
	rebound, compression := &r.all.depth[rebounding], &r.all.depth[compressing]
	return DepthSpeeds{
		ReboundMMS: r.enough(rebound.passes, "rebound through that travel", func() float64 { return rebound.power / rebound.sum }),
		CompressionQ70MMS: r.enough(compression.passes, "compression in that travel", func() float64 {
			return compression.fast.quantiles(compression.n, r.visitCompressionAtDepth, 0.70)[0]
		}),
	}
}

// visitCompressionAtDepth passes every riding speed that counts for the compression at a depth.
func (r *ride) visitCompressionAtDepth(f func(float64)) {
	for k := range r.segs {
		s := &r.segs[k]
		for _, p := range s.ridingSpans() {
			for i := p.lo; i < p.hi; i++ {
				if d, ok := r.atDepth(s.x[i], s.v[i]); ok && d == compressing {
					f(s.v[i])
				}
			}
		}
	}
}
