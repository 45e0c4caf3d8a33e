package spring

import (
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func question() Question {
	c := Typical(0.16)
	c.MaxPressure, c.MaxSpacers, c.FrictionN = PSI(120), 4, 18
	return Question{Chambers: c, Basis: BasisGiven, TravelM: 0.16, HeadDeg: 64.5, Pressure: PSI(72), SagM: 0.034, LoadFrom: "measured sag", Set: Place{20, 0}, TargetShare: 0.25}
}

func TestAssess(t *testing.T) {
	q := question()
	q.Ride = &Place{-2, 2000}
	q.Bottoms = []Bottoming{{0.1552, 0.5}, {0.1552, 0.9}, {0.1552, 0.7}}
	a, err := Assess(q)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "sag as set", a.AsSet.Figures.SagMM, 34, 1e-9)
	near(t, "wanted sag", a.Target.Figures.SagMM, 40, 1e-9)
	if p := *a.Target.Figures.Pressure; p >= PSI(72) {
		t.Errorf("more sag needs less pressure, not %v", p)
	}
	if len(a.Spacer) != 5 {
		t.Fatalf("%d numbers of spacers, want 0 to 4", len(a.Spacer))
	}
	for i, s := range a.Spacer {
		near(t, s.Name, s.Figures.SagMM, 40, 1e-9)
		if i > 0 && !(s.Figures.ForceEndN > a.Spacer[i-1].Figures.ForceEndN) {
			t.Errorf("%s: the force at full travel does not rise", s.Name)
		}
	}
	m := a.Moved
	// By hand: absolute pressure times 271.15/293.15, less the air at 2000 m.
	want := (72*paPerPSI+101325)*271.15/293.15 - 79501.41
	near(t, "gauge at −2 °C and 2000 m", float64(*m.There.Figures.Pressure), want, 1e-7)
	near(t, "sag pumped there", m.TopUp.Figures.SagMM, 40, 1e-9)
	back := (float64(*m.PumpHere.Figures.Pressure)+101325)*271.15/293.15 - 79501.41
	near(t, "pumped here, read there", back, float64(*m.TopUp.Figures.Pressure), 1e-7)
	b := a.Bottom
	if b.Count != 3 || len(b.Ways) != 4 {
		t.Fatalf("bottom-outs: %+v", b)
	}
	for _, w := range b.Ways {
		if w.Setting.Refused == "" && *w.Left > w.Keep {
			t.Errorf("%s by %s: %d are left, %d wanted", w.Goal, w.Setting.Name, *w.Left, w.Keep)
		}
	}
	near(t, "motion left", b.HardestJ, b.MassKg*0.81/2, 1e-12)
	if len(a.Curves) != 3 || strings.Count(a.Caution, "printed on the fork") != 1 {
		t.Errorf("%d curves, caution %q", len(a.Curves), a.Caution)
	}
	if _, err := json.Marshal(a); err != nil {
		t.Error(err)
	}
}

// Nothing above the maker's maximum is ever told, in any part of the answer.
func TestNothingAboveTheLimit(t *testing.T) {
	for name, change := range map[string]func(*Question){
		"given":    func(q *Question) { q.Pressure = PSI(121) },
		"negative": func(q *Question) { q.Chambers.Feed, q.Negative = Separate, PSI(130) },
		"target":   func(q *Question) { q.Pressure, q.SagM, q.TargetShare = PSI(115), 0.04, 0.15 },
		"heat":     func(q *Question) { q.Pressure, q.Ride = PSI(119), &Place{40, 0} },
		"height":   func(q *Question) { q.Pressure, q.Ride = PSI(119), &Place{20, 2500} },
	} {
		q := question()
		change(&q)
		a, err := Assess(q)
		var limit *LimitError
		if !errors.As(err, &limit) || a != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		q := question()
		f := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		q.Chambers.MaxPressure = PSI(f("limit", 40, 120))
		q.Pressure, q.SagM, q.TargetShare = PSI(f("pressure", 30, 130)), f("sag", 0.01, 0.08), f("target", 0.08, 0.4)
		q.Ride = &Place{f("ride °C", -20, 40), f("ride m", 0, 3000)}
		q.Bottoms = []Bottoming{{0.1552, f("entry", 0.1, 3)}, {0.1552, f("entry", 0.1, 3)}}
		a, err := Assess(q)
		if err != nil {
			return
		}
		for _, s := range append([]Setting{*a.AsSet, *a.Target, a.Moved.There, a.Moved.TopUp, a.Moved.PumpHere, a.Bottom.Ways[0].Setting, a.Bottom.Ways[1].Setting,
			a.Bottom.Ways[2].Setting, a.Bottom.Ways[3].Setting}, a.Spacer...) {
			if (s.Refused == "") != (s.Figures != nil) {
				t.Fatalf("%s: refused %q and figures %v", s.Name, s.Refused, s.Figures)
			}
			if s.Figures != nil && *s.Figures.Pressure > q.Chambers.MaxPressure {
				t.Fatalf("%s: %v with a limit of %v", s.Name, *s.Figures.Pressure, q.Chambers.MaxPressure)
			}
		}
	})
}

func TestAssessLoadOnly(t *testing.T) {
	q := question()
	q.Pressure, q.SagM, q.LoadN = 0, 0, 318
	q.Chambers.MaxPressure = 0
	a, err := Assess(q)
	if err != nil {
		t.Fatal(err)
	}
	if a.AsSet != nil || a.Target == nil || !strings.Contains(a.Caution, "no maximum") {
		t.Errorf("got %+v", a)
	}
	near(t, "sag", a.Target.Figures.SagMM, 40, 1e-9)
	q.Chambers.FrictionN = 0
	if a, err = Assess(q); err != nil || a.Target.Figures.SagLowMM != nil {
		t.Errorf("friction is not known, but there is a band (%v)", err)
	}
}

// A friction band about the sag tells the friction: a fork of 18 N has the band that gives 18 N back.
func TestFrictionFromBand(t *testing.T) {
	q := question()
	a, err := Assess(q)
	if err != nil {
		t.Fatal(err)
	}
	f := a.AsSet.Figures
	q.BandM, q.Chambers.FrictionN = (*f.SagHighMM-*f.SagLowMM)/1000, 0
	q.SagM = (*f.SagHighMM + *f.SagLowMM) / 2000
	b, err := Assess(q)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "friction", b.FrictionN, 18, 1e-9)
}

func TestAssessCoil(t *testing.T) {
	q := Question{Coil: &Coil{Rate: 8000, PreloadM: 0.004}, TravelM: 0.17, SagM: 0.036, TargetShare: 0.2, LoadFrom: "measured sag"}
	a, err := Assess(q)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "load", a.LoadN, 320, 1e-12)
	near(t, "wanted rate", *a.Coil.WantedRateNMM, 320/38.0, 1e-12)
	near(t, "wanted preload", *a.Coil.WantedPreloadMM, 6, 1e-12)
	q.TargetShare = 0.3
	if a, err = Assess(q); err != nil || a.Coil.WantedPreloadMM != nil || a.Coil.NoPreload == "" {
		t.Errorf("51 mm with preload alone: %+v, %v", a.Coil, err)
	}
}

func TestAssessRefusesQuestions(t *testing.T) {
	for name, change := range map[string]func(*Question){
		"no travel":   func(q *Question) { q.TravelM = 0 },
		"no pressure": func(q *Question) { q.Pressure = 0 },
		"no load":     func(q *Question) { q.SagM = 0 },
		"sag":         func(q *Question) { q.SagM = 0.2 },
		"NaN sag":     func(q *Question) { q.SagM = math.NaN() },
		"target":      func(q *Question) { q.TargetShare = 1 },
		"cold":        func(q *Question) { q.Set.TemperatureC = -300 },
		"high":        func(q *Question) { q.Ride = &Place{0, 20000} },
		"vacuum":      func(q *Question) { q.Pressure, q.Ride = PSI(0.5), &Place{-40, 0} },
	} {
		q := question()
		change(&q)
		if a, err := Assess(q); err == nil {
			t.Errorf("%s: %+v and no error", name, a)
		}
	}
}

func TestUnits(t *testing.T) {
	near(t, "psi", float64(PSI(1)), 6894.757293168, 1e-12) // NIST SP 811: 6.894757E+03
	near(t, "bar", Bar(2).PSI(), 29.0075475, 1e-8)
	var p Pressure
	b, err := json.Marshal(PSI(82))
	if err != nil || json.Unmarshal(b, &p) != nil {
		t.Fatal(err)
	}
	near(t, "there and back", p.PSI(), 82, 1e-12)
}
