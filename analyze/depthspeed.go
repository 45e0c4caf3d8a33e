package analyze

// DepthSpeeds are speeds in a given part of the travel. How fast a fork comes back depends on how deep it was: less compression damping
// makes deeper hits, the spring pushes harder from there, and rebound is faster without a change of its damper. At the same travel the
// spring pushes the same, and what is left is the damper. On simulated forks these figures follow their own damper and hardly the other
// (compare/testdata/crosstalk.md).
type DepthSpeeds struct {
	// ReboundQ95MMS is over the rebound samples with travel in Options.ReboundDepthPct.
	ReboundQ95MMS Figure `json:"rebound_q95_mm_s"`
	// CompressionQ80MMS is over the compression samples deeper than Options.CompressionDepthPct: nearer to full extension
	// compressions start against next to no spring, and how often the fork is there is up to its rebound.
	CompressionQ80MMS Figure `json:"compression_q80_mm_s"`
}

// depthSide is about the samples of one direction that are not still, in a part of the travel.
type depthSide struct {
	n      int
	passes int // stretches of such samples: what the quantile rests on
	fast   sieve
}

// add counts a sample; before says whether the sample before it counted too.
func (d *depthSide) add(speed float64, before bool) {
	d.n++
	if !before {
		d.passes++
	}
	d.fast.add(speed)
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
	quantile := func(direction int, p float64, what string) Figure {
		d := &r.all.depth[direction]
		return r.enough(d.passes, what, func() float64 {
			return d.fast.quantiles(d.n, func(f func(float64)) { r.visitDepthSpeeds(direction, f) }, p)[0]
		})
	}
	return DepthSpeeds{
		ReboundQ95MMS:     quantile(rebounding, 0.95, "rebound through that travel"),
		CompressionQ80MMS: quantile(compressing, 0.80, "compression in that travel"),
	}
}

// visitDepthSpeeds passes every riding speed that counts for the DepthSpeeds of a direction.
func (r *ride) visitDepthSpeeds(direction int, f func(float64)) {
	for k := range r.segs {
		s := &r.segs[k]
		for _, p := range s.ridingSpans() {
			for i := p.lo; i < p.hi; i++ {
				if d, ok := r.atDepth(s.x[i], s.v[i]); ok && d == direction {
					f(max(s.v[i], -s.v[i]))
				}
			}
		}
	}
}
