package analyze

import (
	"math"
	"strings"
	"testing"

	"stanchion/ingest"
)

// rideWithSteps is 60 s of riding about 40 mm in which the fork stands depth mm deeper in each [from, to) s.
func rideWithSteps(fs, depth float64, steps ...[2]float64) []float64 {
	x := sine(fs, 60, 40, 8, 3)
	for i := range x {
		for _, s := range steps {
			if at := float64(i) / fs; at >= s[0] && at < s[1] {
				x[i] += depth
			}
		}
	}
	return x
}

func divesIn(t *testing.T, trace *ingest.Trace) BrakeDive {
	t.Helper()
	res, _, err := Run(trace, DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	return res.BrakeDive
}

// Steps of 40 mm: the 0.7 Hz low-pass passes half the step at the step itself, 20 mm, over the limit of 16 mm (10 % of 160 mm). So the
// dive begins and ends near the step, 0.1 s. A step of 15 mm never reaches the limit, one of 0.35 s is too short.
func TestBrakeDives(t *testing.T) {
	for _, fs := range []float64{1000, 333, 100} {
		d := divesIn(t, traceOf(fs, rideWithSteps(fs, 40, [2]float64{10, 12}, [2]float64{30, 30.35}, [2]float64{40, 43})))
		if len(d.Dives) != 2 {
			t.Fatalf("%g Hz: dives %+v, want 2", fs, d.Dives)
		}
		for i, want := range [][2]float64{{10, 12}, {40, 43}} {
			got := d.Dives[i]
			if math.Abs(got.StartS-want[0]) > 0.1 || math.Abs(got.EndS-want[1]) > 0.1 || got.Confirmed {
				t.Errorf("%g Hz: dive %+v, want %v, not confirmed", fs, got, want)
			}
			// A Butterworth of order 4 run both ways overshoots a step, by about a tenth.
			if got.DeepestMM < 79 || got.DeepestMM > 92 {
				t.Errorf("%g Hz: deepest %g mm, want 80 mm and some overshoot", fs, got.DeepestMM)
			}
		}
		near(t, "count", d.Count, 2, 0)
		gone(t, "confirmed", d.Confirmed)
		if len(d.Count.Caveats()) != 1 {
			t.Errorf("caveats %q: want that dives are not confirmed", d.Count.Caveats())
		}
	}
	near(t, "shallow", divesIn(t, traceOf(1000, rideWithSteps(1000, 13, [2]float64{10, 14}))).Count, 0, 0)
}

// withSpeed adds a speed channel to a trace of one segment.
func withSpeed(trace *ingest.Trace, unit string, speed func(s float64) float64) *ingest.Trace {
	values := make([]float64, len(trace.Segments[0].TravelMM))
	for i := range values {
		values[i] = speed(float64(i) / trace.RateHz)
	}
	trace.Channels = append(trace.Channels, ingest.ChannelInfo{Name: "gps_speed", Unit: unit})
	trace.Segments[0].Channels = append(trace.Segments[0].Channels, values)
	return trace
}

// A dive is confirmed where speed falls by more than 1.5 m/s² in it: sampled fast or held for a second, in m/s or km/h, with readings
// missing in between.
func TestBrakeDiveConfirmed(t *testing.T) {
	// 10 m/s but for 10…12 s, where it falls with the given deceleration; then steady again.
	braking := func(decel float64) func(float64) float64 {
		return func(s float64) float64 { return 14 - decel*min(max(s-10, 0), 2) }
	}
	held := func(f func(float64) float64) func(float64) float64 {
		return func(s float64) float64 { return f(math.Floor(s)) }
	}
	missing := func(f func(float64) float64) func(float64) float64 {
		return func(s float64) float64 {
			if math.Mod(s, 0.2) > 0.08 {
				return math.NaN()
			}
			return f(s)
		}
	}
	kmh := func(f func(float64) float64) func(float64) float64 {
		return func(s float64) float64 { return 3.6 * f(s) }
	}
	for _, c := range []struct {
		name, unit string
		speed      func(float64) float64
		want       float64
	}{
		{"hard", "m/s", braking(2), 1},
		{"gentle", "m/s", braking(1.4), 0},
		{"just over", "m/s", braking(1.51), 1},
		{"held for 1 s, hard", "m/s", held(braking(2)), 1},
		{"held for 1 s, gentle", "m/s", held(braking(1.4)), 0},
		{"gentle in km/h", "km/h", kmh(braking(1.4)), 0},
		{"hard in km/h", "km/h", kmh(braking(1.7)), 1},
		{"hard, mostly missing readings", "m/s", missing(braking(2)), 0},
		{"never known", "m/s", func(float64) float64 { return math.NaN() }, 0},
		{"speeding up", "m/s", braking(-3), 0},
	} {
		trace := withSpeed(traceOf(200, rideWithSteps(200, 40, [2]float64{10, 12}, [2]float64{40, 43})), c.unit, c.speed)
		d := divesIn(t, trace)
		near(t, c.name+": count", d.Count, 2, 0)
		near(t, c.name+": confirmed", d.Confirmed, c.want, 0)
		if len(d.Dives) == 2 && (d.Dives[0].Confirmed != (c.want == 1) || d.Dives[1].Confirmed) {
			t.Errorf("%s: %+v", c.name, d.Dives)
		}
	}
}

// Thinning before the low-pass changes slow travel by under 0.1 % of it and 0.02 mm, against the low-pass at full rate, but for the
// first and last 3 s: there the filter hangs on the end sample, and that of the thinned travel is a mean.
func TestSlowTravelThinned(t *testing.T) {
	const fs = 1000.0
	x := rideWithSteps(fs, 40, [2]float64{10, 12}, [2]float64{40, 43})
	r := rideOf(t, fs, x)
	y, step, first := r.slowTravel(&r.segs[0])
	full := make([]float64, len(x))
	filter := r.diveFilter()
	filter.RateHz = fs
	filter.Apply(full, nil, r.segs[0].x)
	for i, got := range y {
		at := (first + float64(i)*step) * fs
		if at < 3*fs || at > float64(len(x))-3*fs {
			continue
		}
		k := min(int(at), len(full)-2)
		want := full[k] + (full[k+1]-full[k])*(at-float64(k))
		if math.Abs(got-want) > 0.02+1e-3*math.Abs(want-40) {
			t.Fatalf("at %g s: %g mm thinned, %g mm at full rate", at/fs, got, want)
		}
	}
}

// The channels are told by name and unit.
func TestSideChannels(t *testing.T) {
	for _, c := range []struct {
		name, unit      string
		speed, distance float64 // scale, 0 where it is neither
	}{
		{"speed", "m/s", 1, 0}, {"GPS speed", "km/h", 1 / 3.6, 0}, {"speed_kmh", "", 1 / 3.6, 0}, {"wheel_speed_m_s", "", 1, 0},
		{"speed", "", 0, 0}, {"speed", "mm/s", 0, 0}, {"speed_limit", "", 0, 0}, {"velocity", "rpm", 0, 0},
		{"distance", "m", 0, 1}, {"distance_km", "", 0, 1000}, {"Odometer (m)", "", 0, 1},
		{"altitude", "m", 0, 0}, {"distance", "mm", 0, 0}, {"distance", "", 0, 0},
	} {
		channels := []ingest.ChannelInfo{{Name: "temperature", Unit: "°C"}, {Name: c.name, Unit: c.unit}}
		speed, isSpeed := speedChannel(channels)
		if isSpeed != (c.speed != 0) || isSpeed && (speed != sideChannel{1, c.speed}) {
			t.Errorf("%s [%s] as speed: %+v, %v", c.name, c.unit, speed, isSpeed)
		}
		distance, isDistance := distanceChannel(channels)
		if isDistance != (c.distance != 0) || isDistance && (distance != sideChannel{1, c.distance}) {
			t.Errorf("%s [%s] as distance: %+v, %v", c.name, c.unit, distance, isDistance)
		}
	}
}

// Options that no dive, decay or packing run could be found with give absent figures or none, and no panic.
func TestOddControlOptions(t *testing.T) {
	for name, change := range map[string]func(*Options){
		"dive cutoff 0":        func(o *Options) { o.DiveCutoffHz = 0 },
		"dive cutoff too high": func(o *Options) { o.DiveCutoffHz = 400 },
		"decay windows 0":      func(o *Options) { o.DecayWindowS, o.DecayEquilibriumS, o.DecayEndS = 0, 0, 0 },
		"no waiting":           func(o *Options) { o.PackingGapS, o.HarshMinS = 0, 0 },
		"no valleys":           func(o *Options) { o.PackingValleys = 0 },
		"no resamples":         func(o *Options) { o.BootstrapN = 0 },
		"harsh quantile 1":     func(o *Options) { o.HarshQuantile = 1 },
	} {
		opt := DefaultOptions()
		change(&opt)
		res, _, err := Run(traceOf(500, rideWithHits(500, 0, hit{25, 0.3, 4}, hit{30, 0.3, 4})), opt)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if dives := res.BrakeDive.Count; strings.HasPrefix(name, "dive") == dives.OK() {
			t.Errorf("%s: dives %+v", name, dives)
		}
	}
	opt := DefaultOptions()
	opt.HarshQuantile = 1.5
	if _, _, err := Run(traceOf(500, rideWithHits(500, 0)), opt); err == nil {
		t.Error("a quantile of 1.5 was taken")
	}
}

// A fork that is leant on slowly after the ride, at 10 mm/s, stands deep but is not ridden: no dive.
func TestLeaningOnTheForkIsNoDive(t *testing.T) {
	x := sine(1000, 60, 40, 8, 3)
	for i := range 20000 {
		s := float64(i) / 1000
		x = append(x, 40+10*min(max(0, s-4), 8))
	}
	near(t, "dives", divesIn(t, traceOf(1000, x)).Count, 0, 0)
}
