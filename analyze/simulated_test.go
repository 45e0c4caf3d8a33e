package analyze_test

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"stanchion/analyze"
	"stanchion/ingest"
	"stanchion/sampledata/ridesim"
)

// simRateHz is the sample rate of the simulated rides.
const simRateHz = 500

// simulated rides p and makes a trace of the log, with the speed channel and 0.02 mm of noise.
func simulated(t *testing.T, p ridesim.Params) (*ingest.Trace, ridesim.Truth) {
	t.Helper()
	p.Sensor = ridesim.Sensor{RateHz: simRateHz, Unit: ingest.UnitMM, NoiseMM: 0.02, SpeedHz: 10, SpeedMS: 0.01}
	log, truth, err := ridesim.Ride(p)
	if err != nil {
		t.Fatal(err)
	}
	return &ingest.Trace{
		Source: "simulated", Fork: ingest.Fork{TravelMM: 1000 * p.Fork.TravelM}, RateHz: simRateHz,
		Channels: []ingest.ChannelInfo{{Name: "speed", Unit: "m/s"}},
		Segments: []ingest.Segment{{TravelMM: log.Reading, Channels: [][]float64{log.SpeedMS}}},
	}, truth
}

func analysed(t *testing.T, trace *ingest.Trace, opt analyze.Options) *analyze.Result {
	t.Helper()
	res, _, err := analyze.Run(trace, opt)
	if err != nil {
		t.Fatal(err)
	}
	return res
}

// value is the figure's value; the test fails where it is absent.
func value(t *testing.T, what string, f analyze.Figure) float64 {
	t.Helper()
	v, ok := f.Get()
	if !ok {
		t.Errorf("%s is absent: %s", what, f.Reason())
	}
	return v
}

// A simFork is the default fork of the simulator with its damping scaled, and another friction if not 0.
type simFork struct {
	name                           string
	compression, rebound, friction float64
}

func (s simFork) fork() ridesim.Fork {
	f := ridesim.DefaultFork()
	f.Damper.Compression.Low *= s.compression
	f.Damper.Compression.High *= s.compression
	f.Damper.Rebound.Low *= s.rebound
	f.Damper.Rebound.High *= s.rebound
	if s.friction > 0 {
		f.FrictionN = s.friction
	}
	return f
}

var (
	sound        = simFork{"sound", 1, 1, 0}
	underDamped  = simFork{"under-damped", 0.4, 0.35, 0}
	lowFriction  = simFork{"low friction", 1, 1, 4}
	highFriction = simFork{"high friction", 1, 1, 90}
	slowRebound  = simFork{"slow rebound", 1, 3.5, 0}
)

// On simulated mixed trail packing, sink, ride-height loss and return tell a fork with slow rebound from all others: 0–2 packing runs
// against 10 and more, a sink of a few percent of travel against a quarter of it.
func TestSimulatedPacking(t *testing.T) {
	for _, f := range []simFork{sound, underDamped, lowFriction, highFriction, slowRebound} {
		t.Run(f.name, func(t *testing.T) {
			t.Parallel()
			trace, truth := simulated(t, ridesim.Params{Seed: 1, Fork: f.fork(), Course: ridesim.MixedCourse(1)})
			res := analysed(t, trace, analyze.DefaultOptions())
			p := &res.Packing
			runs, sink := value(t, "packing", p.Count), value(t, "sink", p.SinkInRoughPct)
			loss, late := value(t, "ride-height loss", p.RideHeightLossMM), value(t, "not back", res.Return.NotBackShare)
			t.Logf("%g runs, sink %.1f %%, ride-height loss %.1f mm, not back %.2f, return %.3f s", runs, sink, loss, late, value(t, "return", res.Return.MedianS))
			if f == slowRebound {
				if runs < 10 || sink < 20 || loss < 15 || late < 0.5 {
					t.Errorf("%g runs, sink %.1f %%, loss %.1f mm, not back %.2f: want the marks of packing", runs, sink, loss, late)
				}
			} else if runs > 2 || sink < -7 || sink > 12 || loss > 8 || late > 0.1 {
				t.Errorf("%g runs, sink %.1f %%, loss %.1f mm, not back %.2f: want no mark of packing", runs, sink, loss, late)
			}
			if want := truth.Summary.StaticSagMM; math.Abs(value(t, "reference", p.ReferenceMM)-want) > truth.Summary.FrictionBandMM/2+0.5 {
				t.Errorf("reference %.1f mm, want %.1f mm within the friction band", p.ReferenceMM.Or(0), want)
			}
		})
	}
}

// A linear fork that is pushed down, held there and let go gives its damping ratio and frequency from its first overshoot on: the truth
// of the simulator, within 3 % (the tyre is stiff, not rigid). It is held for so long that no turning point falls into the hold.
func TestSimulatedDecay(t *testing.T) {
	for _, zeta := range []float64{0.26, 0.3, 0.35} {
		p := ridesim.FreeDecay(zeta, 60, 5)
		load := p.Course.Push[1].LoadN
		p.Course.Push = []ridesim.Push{{TimeS: 0}, {TimeS: 0.4, LoadN: load}, {TimeS: 2.2, LoadN: load}, {TimeS: 2.2}}
		trace, _ := simulated(t, p)
		d := analysed(t, trace, analyze.DefaultOptions()).Damping
		if len(d.Decays) == 0 || d.Decays[len(d.Decays)-1].TimeS < 2.2 {
			t.Fatalf("ζ %g: decays %+v, want one after 2.2 s", zeta, d.Decays)
		}
		got, hz := d.Decays[len(d.Decays)-1], p.Fork.Modes().SprungHz
		if math.Abs(got.Zeta-zeta) > 0.03*zeta || math.Abs(got.NaturalHz-hz) > 0.03*hz {
			t.Errorf("ζ %.4f at %.3f Hz, want %g at %.3f Hz", got.Zeta, got.NaturalHz, zeta, hz)
		}
	}
}

// Hard braking on smooth ground is a confirmed dive; a berm that presses as hard is a dive that is not confirmed.
func TestSimulatedDives(t *testing.T) {
	smooth := func(kind string, length, speed float64) ridesim.Section {
		return ridesim.Section{Kind: kind, LengthM: length, GdN0: 600e-6, SpeedMS: speed}
	}
	braking, berm := smooth("braking", 14, 2), smooth("berm", 26, 7)
	braking.BrakeMS2, berm.LoadG = 4, 1.2
	course := ridesim.Course{StartHoldS: 3, EnvelopeM: 0.16, Sections: []ridesim.Section{
		smooth("flow", 60, 8), braking, smooth("flow", 80, 7), berm, smooth("flow", 50, 7),
	}}
	trace, truth := simulated(t, ridesim.Params{Seed: 4, Fork: sound.fork(), Course: course})
	d := analysed(t, trace, analyze.DefaultOptions()).BrakeDive
	at := func(s float64) float64 { return truth.DistanceM[min(int(s*simRateHz), len(truth.DistanceM)-1)] }
	for _, dive := range d.Dives {
		t.Logf("%.1f…%.1f s, %.0f…%.0f m, %.0f mm, confirmed %v", dive.StartS, dive.EndS, at(dive.StartS), at(dive.EndS), dive.DeepestMM, dive.Confirmed)
	}
	if len(d.Dives) != 2 || value(t, "confirmed", d.Confirmed) != 1 || !d.Dives[0].Confirmed {
		t.Fatalf("dives %+v, want a confirmed one and another", d.Dives)
	}
	if m := at(d.Dives[0].StartS); m < 58 || m > 74 {
		t.Errorf("braking dive at %.0f m, want it at 60…74 m", m)
	}
	if m := at(d.Dives[1].StartS); m < 154 || m > 180 {
		t.Errorf("berm dive at %.0f m, want it at 154…180 m", m)
	}
}

// chatterGround is one row of the table behind Options.ChatterShare.
type chatterGround struct {
	name  string
	train bool
	ride  func(f ridesim.Fork) ridesim.Params
}

func ground(gd, speed, seconds float64) chatterGround {
	return chatterGround{fmt.Sprintf("ground, Gd %g·10⁻⁶ m³, %g m/s", gd*1e6, speed), false, func(f ridesim.Fork) ridesim.Params {
		return ridesim.ConstantClass(f, ridesim.Sensor{}, gd, speed, seconds, 3)
	}}
}

func train(hz, heightMM float64) chatterGround {
	return chatterGround{fmt.Sprintf("bumps of %g mm at %g Hz", heightMM, hz), true, func(f ridesim.Fork) ridesim.Params {
		p := ridesim.BumpTrain(f, ridesim.Sensor{}, hz, heightMM, 6, 9)
		p.Course.Sections[0].GdN0 = 800e-6
		p.Course.EnvelopeM, p.Course.SwayN = 0.16, 20
		return p
	}}
}

// shares is the share of velocity power in the wheel and chatter bands in every 2 s of a ride after the first 4 s, sorted.
func shares(t *testing.T, p ridesim.Params) []float64 {
	t.Helper()
	trace, _ := simulated(t, p)
	x := trace.Segments[0].TravelMM
	trace.Segments, trace.Channels = nil, nil
	const piece = 2 * simRateHz
	for k := 2; (k+1)*piece <= len(x); k++ {
		trace.Segments = append(trace.Segments, ingest.Segment{StartS: float64(10 * k), TravelMM: x[k*piece : (k+1)*piece]})
	}
	opt := analyze.DefaultOptions()
	opt.HarshQuantile = 0 // every piece is a section
	var out []float64
	for _, h := range analysed(t, trace, opt).Rough.Sections {
		out = append(out, value(t, "share of the fast bands", h.FastBands))
	}
	slices.Sort(out)
	return out
}

// The default of Options.ChatterShare parts bump trains from broad rough ground in sections of 2 s, whatever the fork: every piece of a
// train is over it, and at most 2 % of the pieces of rough ground. With STANCHION_STUDY=1 it makes the whole table of
// testdata/chatter_share.md (a minute); without, a few rows.
func TestSimulatedChatterShare(t *testing.T) {
	forks := []simFork{sound, slowRebound}
	grounds := []chatterGround{ground(1000e-6, 6, 16), ground(4000e-6, 6, 16), train(8.5, 20), train(14, 40)}
	if os.Getenv("STANCHION_STUDY") != "" {
		forks = []simFork{sound, underDamped, highFriction, slowRebound}
		grounds = nil
		for _, speed := range []float64{4, 6, 8} {
			for _, gd := range []float64{1000e-6, 4000e-6, 12000e-6} {
				grounds = append(grounds, ground(gd, speed, 34))
			}
		}
		for _, hz := range []float64{8.5, 10, 14, 20} {
			for _, mm := range []float64{20, 40} {
				grounds = append(grounds, train(hz, mm))
			}
		}
	}
	limit := analyze.DefaultOptions().ChatterShare
	var table strings.Builder
	over, all := 0, 0
	for _, f := range forks {
		for _, g := range grounds {
			s := shares(t, g.ride(f.fork()))
			n := len(s)
			if n == 0 {
				t.Fatalf("%s, %s: no section", f.name, g.name)
			}
			k, _ := slices.BinarySearch(s, limit)
			fmt.Fprintf(&table, "| %s | %s | %d | %.2f | %.2f | %.2f | %d |\n", f.name, g.name, n, s[0], s[n/2], s[n-1], n-k)
			if g.train && k > 0 {
				t.Errorf("%s, %s: a share of %.3f is under %g", f.name, g.name, s[0], limit)
			}
			if !g.train {
				over, all = over+n-k, all+n
			}
		}
	}
	t.Logf("\n%s%d of %d pieces of rough ground are over %g", table.String(), over, all, limit)
	if float64(over) > 0.02*float64(all) {
		t.Errorf("%d of %d pieces of rough ground are over %g", over, all, limit)
	}
}
