package report

import (
	"math"
	"math/rand/v2"
	"testing"

	"stanchion/analyze"
	"stanchion/ingest"
)

// A rider is a mass on a damped spring that the ground shakes: enough of a fork to fill every part of the page.
// It is no model to check figures with.
type rider struct {
	seconds, rate float64
	source, fork  string
	markers       []ingest.TraceMarker
	tweak         func(*analyze.Result) // nil: leave the result as it is
	again         uint64                // another run of the same trail: a little other pace, load and noise
	rebound       float64               // damping of rebound against that of compression; 0 = the same
	trail         uint64                // another trail
}

// trace makes the travel of a run: a rest, riding with rough stretches, jumps that leave the fork extended, and a swing
// out at the end. The same rider always gives the same trace.
func (d rider) trace() *ingest.Trace {
	const travel, sag, k, c = 160.0, 32.0, 14 * 14.0, 12.0 // mm, mm, 1/s², 1/s
	rng, other := rand.New(rand.NewPCG(1, 2+d.trail)), rand.New(rand.NewPCG(3, d.again))
	hits, back := 1.0, max(d.rebound, 0)
	if d.again > 0 {
		hits += 0.02 * other.NormFloat64()
	}
	if back == 0 {
		back = 1
	}
	n := int(d.seconds * d.rate)
	x := make([]float64, n)
	pos, vel, ground, dt := sag, 0.0, 0.0, 1/d.rate
	for i := range x {
		t := float64(i) * dt
		rough := 0.0
		if t > 4 && t < d.seconds-4 {
			rough = 1 + 1.6*math.Pow(math.Max(0, math.Sin(t/7)), 3)
		}
		ground += dt * (-25*ground + hits*rough*9000*math.Sqrt(1/dt)*0.03*rng.NormFloat64())
		force := ground * 25
		if rough > 0 && math.Mod(t, 23) > 22.3 {
			force = -sag * k * 1.4 // in the air: the spring pushes the fork out
		}
		if rough > 0 && math.Mod(t, 23) < 0.05 && t > 20 {
			force += 42000 // and the landing
		}
		damping := c
		if vel < 0 {
			damping *= back
		}
		vel += dt * (force - k*(pos-sag)*(1+math.Pow(math.Max(0, pos)/travel, 4)) - damping*vel)
		pos += dt * vel
		if pos < 0 {
			pos, vel = 0, 0
		}
		if pos > travel {
			pos, vel = travel, 0
		}
		noise := rng
		if d.again > 0 {
			noise = other
			rng.NormFloat64() // the ground stays the same
		}
		x[i] = pos + 0.02*noise.NormFloat64()
	}
	return &ingest.Trace{
		Source: d.source, Fork: ingest.Fork{Name: d.fork, TravelMM: travel, HeadAngleDeg: 65}, RateHz: d.rate,
		Segments: []ingest.Segment{{TravelMM: x}}, Markers: d.markers, Options: ingest.DefaultPrepareOptions(),
		Quality:    ingest.Quality{Rows: n, Samples: n, RateHz: d.rate, CalibrationPoints: 3, CalibrationRMSMM: 0.12, MMPerCount: 0.041},
		Understood: []string{"time: column 1, µs, 32-bit wrap", "travel: column 2, counts"},
	}
}

// run analyses a rider.
func (d rider) run(t testing.TB) (*analyze.Result, *analyze.Signals) {
	t.Helper()
	r, s, err := analyze.Run(d.trace(), analyze.DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	if d.tweak != nil {
		d.tweak(r)
	}
	return r, s
}

// usual is a run of two minutes with everything in it.
func usual() rider {
	return rider{seconds: 120, rate: 1000, source: "runs/upper-loop.csv", fork: "Test fork",
		markers: []ingest.TraceMarker{{TimeS: 10, Label: "start gate"}, {TimeS: 95, Label: "finish"}}}
}

// nasty holds names that would break out of a page that does not escape them.
const nasty = `</script><img src=x onerror="document.title='broken'">'"&{{.}}`

// empty is a result in which no figure could be computed.
func empty() *analyze.Result {
	return &analyze.Result{
		SchemaVersion: analyze.SchemaVersion, Source: "empty.csv", Fork: ingest.Fork{TravelMM: 150},
		Options: analyze.DefaultOptions(), Prepare: ingest.DefaultPrepareOptions(),
	}
}
