package setup

import (
	"math"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"stanchion/ingest"
)

const springFile = `[fork]
travel_mm = 160
[spring]
kind = "air"
bore_mm = 32
positive_volume_cm3 = 205
shaft_mm = 10
negative_volume_cm3 = 45.0
negative = "self"
transfer_mm = 4
spacer_cm3 = 7
spacers = 1
max_spacers = 4
exponent = 1.3
static_exponent = 1.05
max_pressure_bar = 8
friction_n = 18
`

func TestSpring(t *testing.T) {
	f, err := Parse("f", []byte(springFile))
	if err != nil {
		t.Fatal(err)
	}
	area := math.Pi * 3.2 * 3.2 / 4
	want := &ingest.Spring{Kind: "air", PositiveAreaCM2: area, PositiveVolumeCM3: 205, NegativeAreaCM2: area - math.Pi/4, NegativeVolumeCM3: 45, Negative: "self",
		TransferMM: 4, SpacerCM3: 7, Spacers: 1, MaxSpacers: 4, Exponent: 1.3, StaticExponent: 1.05, MaxPressurePSI: 116.03019, FrictionN: 18}
	got := f.Setup.Spring
	for _, p := range [][2]float64{{got.PositiveAreaCM2, want.PositiveAreaCM2}, {got.NegativeAreaCM2, want.NegativeAreaCM2}, {got.MaxPressurePSI, want.MaxPressurePSI}} {
		if math.Abs(p[0]-p[1]) > 1e-6 {
			t.Errorf("got %g, want %g", p[0], p[1])
		}
	}
	got.PositiveAreaCM2, got.NegativeAreaCM2, got.MaxPressurePSI = want.PositiveAreaCM2, want.NegativeAreaCM2, want.MaxPressurePSI
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got %+v\nwant %+v", got, want)
	}
	f, err = Parse("f", []byte("[fork]\ntravel_mm = 160\n[spring]\nkind = \"coil\"\nrate_n_mm = 8.5\npreload_mm = 4\n"))
	if err != nil || !reflect.DeepEqual(f.Setup.Spring, &ingest.Spring{Kind: "coil", RateNMM: 8.5, PreloadMM: 4}) {
		t.Errorf("coil: %+v, %v", f.Setup.Spring, err)
	}
	f, err = Parse("f", []byte("[fork]\ntravel_mm = 160\n[spring]\nmax_pressure_psi = 120\n"))
	if err != nil || f.Setup.Spring.MaxPressurePSI != 120 || f.Setup.Spring.Kind != "air" {
		t.Errorf("a limit alone: %+v, %v", f.Setup.Spring, err)
	}
}

func TestSpringProblems(t *testing.T) {
	for _, c := range []struct{ old, new, want string }{
		{`"air"`, `"gas"`, `f:4: spring.kind is "gas", but must be one of air, coil`},
		{"bore_mm = 32", "bore_mm = 3.2", "f:5: spring.bore_mm is 3.2, but must be a number from 10 to 80"},
		{"bore_mm = 32", "bore_mm = 32\npositive_area_cm2 = 8", "spring.bore_mm and positive_area_cm2 say the same thing: leave one out"},
		{"bore_mm = 32", "", "spring.shaft_mm needs bore_mm"},
		{"shaft_mm = 10", "", "spring.negative_area_cm2 is missing: give all dimensions of the chambers, or none of them"},
		{"shaft_mm = 10", "shaft_mm = 40", "f:7: spring.shaft_mm is 40: no room is left between shaft and bore"},
		{"positive_volume_cm3 = 205", "positive_volume_cm3 = 130", "f:6: spring.positive_volume_cm3 less spacers leaves 123.0 cm³, but the piston sweeps 128.7 cm³"},
		{"negative_volume_cm3 = 45.0", "", "spring.negative_volume_cm3 is missing"},
		{`"self"`, `"none"`, `f:9: spring.negative is "none", but dimensions or sags for a negative chamber are given`},
		{`"self"`, `"separate"`, "f:10: spring.transfer_mm is given, but the negative chamber is not fed by a port"},
		{"transfer_mm = 4", "transfer_mm = 200", "f:10: spring.transfer_mm is 200, but must be a number from 0 to 160"},
		{"spacers = 1\n", "spacers = 5\n", "f:12: spring.spacers is 5, but max_spacers is 4"},
		{"spacers = 1\n", "spacers = 1.5\n", "f:12: spring.spacers is 1.5, but must be a whole number from 0 to 20"},
		{"exponent = 1.3\n", "exponent = 13\n", "f:14: spring.exponent is 13, but must be a number from 1 to 1.4"},
		{"max_pressure_bar = 8", "max_pressure_bar = 120", "f:16: spring.max_pressure_bar is 120, but must be a number from 0.1 to 27"},
		{"max_pressure_bar = 8", "max_presure_bar = 8", "f:16: spring.max_presure_bar is not a known key; did you mean max_pressure_bar?"},
		{"friction_n = 18", "rate_n_mm = 8", "f:17: spring.rate_n_mm is not a known key"},
		{"friction_n = 18", "measured = [ { pressure_psi = 80, sag_mm = 40 } ]", "f:17: spring.measured has one pair: two or more are needed, at pressures that differ by 10 %"},
		{"friction_n = 18", "measured = [ { pressure_psi = 80, sag_mm = 40 }, { pressure_psi = 100, sag_mm = 30 } ]", "f:17: spring.measured and negative_volume_cm3 both tell"},
		{"friction_n = 18", "measured = [ { pressure_psi = 80 }, { sag_mm = 30 } ]", "f:17: spring.measured[1].sag_mm is missing"},
	} {
		text := strings.Replace(springFile, c.old, c.new, 1)
		if text == springFile {
			t.Fatalf("%q is not in the file", c.old)
		}
		f, err := Parse("f", []byte(text))
		if err == nil || !strings.Contains(err.Error(), c.want) || f.Setup.Spring != nil {
			t.Errorf("%q:\ngot  %v\nwant %s", c.new, err, c.want)
		}
	}
}

// What Format writes of a spring, Parse reads back.
func TestSpringReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		p := &ingest.Spring{Kind: ingest.SpringCoil, RateNMM: f("rate", 1, 20), PreloadMM: f("preload", 0, 20), FrictionN: f("friction", 0, 90)}
		if rapid.Bool().Draw(t, "air") {
			p = &ingest.Spring{Kind: ingest.SpringAir, PositiveAreaCM2: f("area", 5, 14), PositiveVolumeCM3: f("volume", 300, 600), NegativeAreaCM2: f("neg area", 4, 12),
				Negative: ingest.NegativeSelf, TransferMM: f("port", 0, 20), SpacerCM3: f("spacer", 1, 10), Spacers: rapid.IntRange(0, 3).Draw(t, "n"), MaxSpacers: 4,
				Exponent: f("e", 1, 1.4), StaticExponent: f("s", 1, 1.4), MaxPressurePSI: f("max", 20, 300), FrictionN: f("friction", 0, 90)}
			if rapid.Bool().Draw(t, "pairs") {
				p.Measured = []ingest.MeasuredSag{{PressurePSI: f("p", 20, 90), SagMM: f("x", 1, 80)}, {PressurePSI: 101, SagMM: 20}}
			} else {
				p.NegativeVolumeCM3 = f("neg volume", 5, 90)
			}
		}
		s := ingest.Setup{Fork: ingest.Fork{TravelMM: 160}, Spring: p}
		file, err := Parse("f", []byte(Format(s, nil)))
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(file.Setup, s) {
			t.Fatalf("read back %+v, want %+v", file.Setup.Spring, p)
		}
	})
}
