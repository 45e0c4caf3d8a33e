package compare

import (
	"sync"
	"testing"

	"stanchion/analyze"
	"stanchion/ingest"
	"stanchion/sampledata/ridesim"
)

// trailOf is a short trail of varied ground, ridden from and to a stand; another seed orders
// the ground otherwise. A section takes about 4 s.
func trailOf(seed uint64, sections int) ridesim.Params {
	kinds := []ridesim.Section{
		{Kind: "smooth", LengthM: 24, GdN0: 900e-6, SpeedMS: 6.5},
		{Kind: "rocks", LengthM: 28, GdN0: 11000e-6, SpeedMS: 5.2},
		{Kind: "rough", LengthM: 30, GdN0: 4500e-6, SpeedMS: 6},
		{Kind: "hardpack", LengthM: 20, GdN0: 300e-6, SpeedMS: 6.5},
	}
	c := ridesim.Course{StartHoldS: 3, EndHoldS: 1, EnvelopeM: 0.16, SwayN: 20}
	state := seed * 0x9e3779b97f4a7c15
	for range sections {
		state ^= state >> 29
		state *= 0xbf58476d1ce4e5b9
		c.Sections = append(c.Sections, kinds[state>>62])
		last := &c.Sections[len(c.Sections)-1]
		last.LengthM *= 0.7 + 0.6*float64(state>>40&0xff)/255
		last.GdN0 *= 0.8 + 0.4*float64(state>>32&0xff)/255
	}
	c.Sections = append(c.Sections, ridesim.Section{Kind: "stop", LengthM: 25, GdN0: 400e-6})
	return ridesim.Params{Seed: seed, Fork: ridesim.DefaultFork(), Course: c, Sensor: ridesim.Sensor{RateHz: 500, Unit: ingest.UnitMM, NoiseMM: 0.02}}
}

// ridden simulates and analyses a run.
func ridden(t testing.TB, name string, p ridesim.Params) Run {
	t.Helper()
	log, truth, err := ridesim.Ride(p)
	if err != nil {
		t.Fatal(err)
	}
	distance := make([]float64, len(log.Reading))
	copy(distance, truth.DistanceM)
	return analysed(t, &ingest.Trace{
		Source: name, Fork: ingest.Fork{TravelMM: 1000 * p.Fork.TravelM}, RateHz: p.Sensor.RateHz,
		Channels: []ingest.ChannelInfo{{Name: "distance", Unit: "m"}},
		Segments: []ingest.Segment{{TravelMM: log.Reading, Channels: [][]float64{distance}}},
		Quality:  ingest.Quality{RateHz: p.Sensor.RateHz},
	})
}

func analysed(t testing.TB, trace *ingest.Trace) Run {
	t.Helper()
	opt := analyze.DefaultOptions()
	opt.BootstrapN = 50 // of the damping ratio, which is not what is tested here
	res, signals, err := analyze.Run(trace, opt)
	if err != nil {
		t.Fatal(err)
	}
	return Run{Name: trace.Source, Result: res, Signals: signals}
}

// slow is the rebound adjuster turned in by clicks from the default fork's.
func slow(p ridesim.Params, clicks int) ridesim.Params {
	p.Fork.Damper.Rebound = p.Fork.Damper.Rebound.AtClicks(9-clicks, 9, 1.2)
	return p
}

// rides are simulated once and shared: four runs of a setting, and four with the rebound three clicks slower.
var rides = sync.OnceValue(func() (out struct{ a, b []Run }) {
	t := &testing.B{}
	out.a, out.b = make([]Run, 4), make([]Run, 4)
	each(8, func(k int) {
		i, name := k/2, string(rune('1'+k/2))
		if k%2 == 0 {
			out.a[i] = ridden(t, "a"+name, trailOf(1, 8).Again(uint64(i+1), ridesim.DefaultVariation()))
		} else {
			out.b[i] = ridden(t, "b"+name, slow(trailOf(1, 8), 3).Again(uint64(i+101), ridesim.DefaultVariation()))
		}
	})
	return out
})
