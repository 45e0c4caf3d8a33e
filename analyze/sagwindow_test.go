package analyze

import (
	"slices"
	"strings"
	"testing"
)

// steps is a trace that stands at each level for 4 s.
func steps(fs float64, levels ...float64) []float64 {
	var x []float64
	for _, l := range levels {
		x = append(x, slices.Repeat([]float64{l}, int(4*fs))...)
	}
	return x
}

func TestMarkedWindowOverridesTheFirstRest(t *testing.T) {
	tr := traceOf(500, steps(500, 30, 40, 50))
	opt := DefaultOptions()
	opt.SagWindow = &Span{StartS: 5, EndS: 7}
	res, _, err := Run(tr, opt)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "static sag", res.Sag.StaticMM, 40, 1e-6)
	near(t, "static sag in percent", res.Sag.StaticPct, 25, 1e-6)
	if n := res.Sag.StaticMM.N(); n != 1000 {
		t.Errorf("rests on %d samples, want 2 s of 500 Hz", n)
	}
	if len(res.Sag.StaticMM.Caveats()) > 0 {
		t.Errorf("caveats %v at rest", res.Sag.StaticMM.Caveats())
	}
	if !strings.Contains(res.Sag.StaticFrom, "5.00 to 7.00 s") {
		t.Errorf("source %q does not name the window", res.Sag.StaticFrom)
	}
}

func TestMarkedWindowWithMovementIsDoubted(t *testing.T) {
	tr := traceOf(500, sine(500, 10, 40, 10, 2))
	opt := DefaultOptions()
	opt.SagWindow = &Span{StartS: 2, EndS: 4}
	res, _, err := Run(tr, opt)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "static sag", res.Sag.StaticMM, 40, 0.2)
	if len(res.Sag.StaticMM.Caveats()) == 0 {
		t.Error("no caveat though the fork moved")
	}
}

func TestMarkedWindowOutsideIsAbsent(t *testing.T) {
	tr := traceOf(500, steps(500, 30))
	opt := DefaultOptions()
	opt.SagWindow = &Span{StartS: 50, EndS: 60}
	res, _, err := Run(tr, opt)
	if err != nil {
		t.Fatal(err)
	}
	gone(t, "static sag", res.Sag.StaticMM)
}

func TestFrictionBandComesWithTheSagLog(t *testing.T) {
	tr := traceOf(500, steps(500, 30))
	opt := DefaultOptions()
	res, _, err := Run(tr, opt)
	if err != nil {
		t.Fatal(err)
	}
	gone(t, "friction band", res.Sag.FrictionBandMM)
	opt.StaticSag = &SagOverride{SagMM: 31, Source: "sag log", FrictionBandMM: Value(7, 2)}
	if res, _, err = Run(tr, opt); err != nil {
		t.Fatal(err)
	}
	near(t, "friction band", res.Sag.FrictionBandMM, 7, 0)
	near(t, "static sag", res.Sag.StaticMM, 31, 0)
}
