package analyze

import (
	"strings"
	"testing"
)

func TestStaticSag(t *testing.T) {
	ride := sine(1000, 10, 50, 20, 2)
	rest := func(mm, seconds float64) []float64 { return constant(int(seconds*1000), mm) }
	join := func(parts ...[]float64) []float64 {
		var x []float64
		for _, p := range parts {
			x = append(x, p...)
		}
		return x
	}
	// Rests in the air or on the stand, at 5 % or less, and rests under 2 s do not count; the first that does, does.
	// Next to the riding, a rest loses what the windows of its cells share with it: under 0.75 s.
	r := rideOf(t, 1000, join(rest(3, 5), ride, rest(44, 1.5), ride, rest(37, 6), ride, rest(30, 6)))
	got := r.sag()
	near(t, "static sag", got.StaticMM, 37, 0.01)
	near(t, "static sag", got.StaticPct, 37/1.6, 0.01)
	if got.StaticSpan == nil || got.StaticSpan.StartS < 26.4 || got.StaticSpan.EndS > 32.6 || !strings.Contains(got.StaticFrom, "rest") {
		t.Errorf("static sag from %q, %v", got.StaticFrom, got.StaticSpan)
	}

	gone(t, "static sag without a rest", rideOf(t, 1000, ride).sag().StaticMM)
	gone(t, "static sag of a rest on the stand", rideOf(t, 1000, join(rest(3, 5), ride)).sag().StaticMM)

	opt := DefaultOptions()
	opt.StaticSag = &SagOverride{SagMM: 32, Source: "sag log"}
	r, err := newRide(traceOf(1000, join(rest(37, 6), ride)), opt)
	if err != nil {
		t.Fatal(err)
	}
	got = r.sag()
	near(t, "static sag that was given", got.StaticMM, 32, 0)
	near(t, "static sag that was given", got.StaticPct, 20, 0)
	if got.StaticFrom != "sag log" || got.StaticSpan != nil {
		t.Errorf("static sag from %q, %v", got.StaticFrom, got.StaticSpan)
	}
}

// A sag that is not under the travel of the fork is a slip of the hand: no figure may rest on it.
func TestStaticSagOverTravel(t *testing.T) {
	opt := DefaultOptions()
	opt.StaticSag = &SagOverride{SagMM: 300, Source: "given by hand"}
	r, err := newRide(traceOf(1000, sine(1000, 10, 50, 30, 2)), opt)
	if err != nil {
		t.Fatal(err)
	}
	gone(t, "static sag of 300 mm", r.sag().StaticMM)
}

// A triangle between 20 and 80 mm spends equal time everywhere: mean and median 50 mm. Not riding, it has neither.
func TestDynamicSag(t *testing.T) {
	var legs [][2]float64
	for range 50 {
		legs = append(legs, [2]float64{80, 200}, [2]float64{20, 200})
	}
	got := rideOf(t, 1000, path(20, legs...)).sag()
	near(t, "mean", got.DynamicMeanMM, 50, 0.02)
	near(t, "median", got.DynamicMM, 50, 0.2) // one step is 0.3 mm
	near(t, "mean", got.DynamicMeanPct, 31.25, 0.02)
	near(t, "median", got.DynamicPct, 31.25, 0.15)

	got = rideOf(t, 1000, constant(9000, 30)).sag()
	gone(t, "dynamic sag at rest", got.DynamicMM)
	gone(t, "dynamic sag at rest", got.DynamicMeanPct)
	near(t, "static sag at rest", got.StaticMM, 30, 1e-9)
}

// Sag logs made by hand: the fork comes to rest at 48 mm from deeper and at 36 mm from higher.
func TestSagLog(t *testing.T) {
	type leg = [2]float64
	getOn := []leg{{40, 800}, {40, 4000}}
	push, pushHeld := []leg{{70, 800}, {48, 6000}, {48, 4000}}, []leg{{70, 800}, {70, 4000}, {48, 6000}, {48, 4000}}
	lift, liftHeld := []leg{{15, 800}, {36, 6000}, {36, 4000}}, []leg{{15, 800}, {15, 4000}, {36, 6000}, {36, 4000}}
	liftOff := []leg{{0, 800}, {0, 4000}, {36, 6000}, {36, 4000}}
	getOff := []leg{{0, 800}, {0, 4000}}
	for _, c := range []struct {
		name  string
		parts [][]leg
		from  string // first letters of the settles' origins
		sag   float64
		band  float64 // −1: absent
	}{
		{"push, lift", [][]leg{getOn, push, lift}, "udh", 42, 12},
		{"no rest at first", [][]leg{{{40, 800}}, push, lift, getOff}, "dh", 42, 12},
		{"held", [][]leg{{{40, 800}}, pushHeld, liftHeld}, "dh", 42, 12},
		{"held, then off", [][]leg{{{40, 800}}, pushHeld, liftHeld, getOff}, "dh", 42, 12},
		{"lifted off the ground", [][]leg{{{40, 800}}, push, liftOff, getOff}, "dh", 42, 12},
		{"twice", [][]leg{{{40, 800}}, push, lift, push, lift}, "dhdh", 42, 12},
		{"lift first", [][]leg{{{40, 800}}, lift, push}, "hd", 42, 12},
		{"getting on only", [][]leg{getOn}, "u", 40, -1},
		{"push only", [][]leg{{{60, 800}}, push}, "d", 48, -1},
		{"the wrong way round", [][]leg{{{40, 800}}, {{70, 800}, {30, 6000}, {30, 4000}}, lift}, "dh", 33, -1},
	} {
		var legs []leg
		for _, p := range c.parts {
			legs = append(legs, p...)
		}
		got, err := AnalyzeSag(traceOf(1000, path(0, legs...)), DefaultOptions())
		if err != nil {
			t.Fatal(err)
		}
		from := ""
		for _, s := range got.Settles {
			from += s.From[:1]
		}
		if from != c.from {
			t.Errorf("%s: settles %q, want %q: %+v", c.name, from, c.from, got.Settles)
			continue
		}
		near(t, c.name+": sag", got.SagMM, c.sag, 0.1)
		near(t, c.name+": sag", got.SagPct, c.sag/1.6, 0.1)
		if c.band < 0 {
			gone(t, c.name+": friction band", got.FrictionBandMM)
		} else {
			near(t, c.name+": friction band", got.FrictionBandMM, c.band, 0.1)
		}
		if len(got.Caveats) == 0 {
			t.Errorf("%s: no caveats", c.name)
		}
	}
}

func TestSagLogWithoutRest(t *testing.T) {
	got, err := AnalyzeSag(traceOf(1000, sine(1000, 20, 40, 10, 1)), DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	gone(t, "sag", got.SagMM)
	gone(t, "sag", got.SagPct)
	gone(t, "friction band", got.FrictionBandMM)
	if _, err := AnalyzeSag(nil, DefaultOptions()); err == nil {
		t.Error("no error without a trace")
	}
}
