package damper_test

import (
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"

	"stanchion/analyze"
	"stanchion/analyze/damper"
	"stanchion/ingest"
	"stanchion/sampledata/ridesim"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Abs(want)) {
		t.Errorf("%s: got %.9g, want %.9g within %g", what, got, want, tol)
	}
}

// analysed takes travel at 1 kHz to figures.
func analysed(t *testing.T, x []float64) (*analyze.Result, *analyze.Signals) {
	t.Helper()
	trace := &ingest.Trace{Source: "sine", RateHz: 1000, Fork: ingest.Fork{TravelMM: 160, HeadAngleDeg: 64.5}, Segments: []ingest.Segment{{TravelMM: x}}}
	r, s, err := analyze.Run(trace, analyze.DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	return r, s
}

// sine is a speed of v·sin(2π·hz·t) about the middle of the travel.
func sine(v, hz, seconds float64) []float64 {
	x := make([]float64, int(seconds*1000))
	for i := range x {
		x[i] = 80 - v/(2*math.Pi*hz)*math.Cos(2*math.Pi*hz*float64(i)/1000)
	}
	return x
}

// A linear damper of c under a sine of V takes up ½·c·V² on the mean, and ½·c·V²·T/2 a stroke (closed form). Tolerance 0.2 %: the filter's ends.
func TestLinearDamper(t *testing.T) {
	const v, hz, c = 900.0, 2.0, 0.5 // N per mm/s
	r, s := analysed(t, sine(v, hz, 20))
	curves := []ingest.DamperCurve{{Clicks: 4, Points: []ingest.DamperPoint{{VelocityMMS: -1000, ForceN: -500}, {VelocityMMS: -10, ForceN: -5}, {VelocityMMS: 10, ForceN: 5}, {VelocityMMS: 1000, ForceN: 500}}}}
	d, err := damper.Run(r, s, curves, nil)
	if err != nil {
		t.Fatal(err)
	}
	k := &d.Clicks[0]
	near(t, "power", k.PowerW, c*v*v/2/1000, 2e-3)
	near(t, "energy", k.EnergyJ, 20*c*v*v/2/1000, 2e-3)
	stroke := c * v * v / 2 / 1000 / (2 * hz)
	for _, side := range []damper.Side{k.Compression, k.Rebound} {
		near(t, "stroke", side.StrokeJ.Or(0), stroke, 2e-3)
		near(t, "largest force", side.MaxN.Or(0), c*v, 2e-3)
		near(t, "a tenth of equal strokes", side.StrokeShare.Or(0), 1.0/float64(side.StrokeShare.N())*float64(max(1, side.StrokeShare.N()/10)), 2e-2)
	}
	if out := k.Outside.Or(1); out != 0 {
		t.Errorf("%g of the energy is said to lie outside", out)
	}
}

type reference struct {
	Curves []struct {
		Clicks          float64
		Velocity, Force []float64
		Regimes         map[string]float64
		Energy          float64
	}
}

// Against SciPy: quadrature of a broken line under a sine, a period, in each regime. 36 periods are ridden. Tolerance 1 %, of the whole
// for the small low-speed shares: samples of 1 ms at the limits of the regimes.
func TestAgainstReference(t *testing.T) {
	b, err := os.ReadFile("testdata/damper_reference.json")
	if err != nil {
		t.Fatal(err)
	}
	var ref reference
	if err := json.Unmarshal(b, &ref); err != nil || len(ref.Curves) != 2 {
		t.Fatal(err, len(ref.Curves))
	}
	var curves []ingest.DamperCurve
	for _, c := range ref.Curves {
		k := ingest.DamperCurve{Clicks: c.Clicks}
		for i, v := range c.Velocity {
			k.Points = append(k.Points, ingest.DamperPoint{VelocityMMS: v, ForceN: c.Force[i]})
		}
		curves = append(curves, k)
	}
	r, s := analysed(t, sine(900, 2, 18))
	d, err := damper.Run(r, s, curves, &curves[1].Clicks)
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range ref.Curves {
		got := d.Clicks[i].Regimes
		near(t, "energy", d.Clicks[i].EnergyJ, 36*c.Energy, 3e-3)
		sum := 0.0
		for name, e := range map[string]float64{"still": got.StillJ, "low_compression": got.LowCompressionJ, "high_compression": got.HighCompressionJ, "low_rebound": got.LowReboundJ, "high_rebound": got.HighReboundJ} {
			sum += e
			if math.Abs(e-36*c.Regimes[name]) > 2e-3*36*c.Energy {
				t.Errorf("%g clicks, %s: %g J, want %g", c.Clicks, name, e, 36*c.Regimes[name])
			}
		}
		near(t, "the regimes' sum", sum, d.Clicks[i].EnergyJ, 1e-12)
	}
	step := d.Steps[0]
	near(t, "change of power", step.PowerW, 2*(ref.Curves[1].Energy-ref.Curves[0].Energy), 2e-2)
	near(t, "change in percent", step.ChangePct, 100*(ref.Curves[0].Energy-ref.Curves[1].Energy)/ref.Curves[0].Energy, 2e-2)
	if step.Where != damper.HighRebound || !step.Matters {
		t.Errorf("step %+v", step)
	}
	// The second curve ends at 700 mm/s: the ride goes faster.
	if d.Clicks[1].Outside.Or(0) < 0.02 || len(d.Caveats) == 0 || d.Caveats[0].Topic != "range" {
		t.Errorf("outside %v, caveats %v", d.Clicks[1].Outside, d.Caveats)
	}
	time, energy := 0.0, 0.0
	for _, b := range d.Lives {
		time, energy = time+b.TimeShare, energy+b.EnergyShare
	}
	near(t, "time shares", time, 1, 1e-9)
	near(t, "energy shares", energy, 1, 1e-9)
}

// valve samples the simulator's damper as a dyno would.
func valve(d ridesim.Damper, clicks float64) ingest.DamperCurve {
	out := ingest.DamperCurve{Clicks: clicks}
	for _, v := range []float64{-6000, -2000, -1000, -400, -200, -100, -50, 50, 100, 200, 400, 1000, 2000, 6000} {
		out.Points = append(out.Points, ingest.DamperPoint{VelocityMMS: v, ForceN: d.ForceN(v / 1000)})
	}
	return out
}

// On a simulated ride the energy is that of the simulator's own damper and true velocities, within 3 %, and the step of a rebound
// adjuster is found in rebound, that of one click that does nothing nowhere.
func TestSimulatedRide(t *testing.T) {
	p := ridesim.DefaultParams()
	log, truth, err := ridesim.Ride(p)
	if err != nil {
		t.Fatal(err)
	}
	trace, err := ingest.Prepare(log.Recording("ride"), log.Setup(p.Fork), ingest.DefaultPrepareOptions())
	if err != nil {
		t.Fatal(err)
	}
	r, s, err := analyze.Run(trace, analyze.DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	softer, same := p.Fork.Damper, p.Fork.Damper
	softer.Rebound = softer.Rebound.AtClicks(11, 9, 1.2)
	d, err := damper.Run(r, s, []ingest.DamperCurve{valve(p.Fork.Damper, 9), valve(softer, 11), valve(softer, 12), valve(same, 13)}, nil)
	if err != nil {
		t.Fatal(err)
	}
	want := 0.0
	for _, span := range r.Ride.Riding {
		for i := int(span.StartS * truth.RateHz); i < int(span.EndS*truth.RateHz); i++ {
			v := truth.VelocityMMS[i] / 1000
			want += p.Fork.Damper.ForceN(v) * v / truth.RateHz
		}
	}
	t.Logf("%.1f J, truth %.1f J", d.Clicks[0].EnergyJ, want)
	near(t, "energy of the ride", d.Clicks[0].EnergyJ, want, 0.03)
	if k := d.Steps[0]; !k.Matters || !strings.Contains(k.Where, "rebound") || k.PowerW >= 0 {
		t.Errorf("two rebound clicks: %+v", k)
	}
	if k := d.Steps[1]; k.Matters || k.PowerW != 0 || k.Where != "" {
		t.Errorf("a dead click: %+v", k)
	}
}

func TestRefuses(t *testing.T) {
	r, s := analysed(t, sine(900, 2, 10))
	curves := []ingest.DamperCurve{valve(ridesim.DefaultFork().Damper, 3)}
	seven := 7.0
	if _, err := damper.Run(r, s, curves, &seven); err == nil || !strings.Contains(err.Error(), "7 clicks") {
		t.Error(err)
	}
	if _, err := damper.Run(r, s, nil, nil); err == nil {
		t.Error("no curve and no error")
	}
	still := make([]float64, 10000)
	r, s = analysed(t, still)
	if _, err := damper.Run(r, s, curves, nil); err == nil {
		t.Error("no riding and no error")
	}
}
