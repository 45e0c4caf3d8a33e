package report

import (
	"math"
	"strings"
	"testing"

	"stanchion/analyze"
)

func TestWords(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{fixed(-0.04, 1), "0.0"}, {fixed(-2.5, 1), "−2.5"}, {fixed(2.25, 0), "2"},
		{signif(0, 3), "0"}, {signif(0.012345, 3), "0.0123"}, {signif(1234.5, 3), "1230"}, {signif(0.00001234, 2), "1.2e−05"},
		{clock(0), "0:00.0"}, {clock(59.96), "1:00.0"}, {clock(3725.04), "1:02:05.0"}, {clock(-1.5), "−0:01.5"},
		{length(0.25), "250" + gap + "ms"}, {length(12.34), "12.3" + gap + "s"}, {length(125), "2:05" + gap + "min"},
		{ms(0.0042), "4.2" + gap + "ms"}, {ms(0.071), "71" + gap + "ms"}, {ms(0.00996), "10" + gap + "ms"},
		{count(0, "jump", "jumps"), "no jumps"}, {count(1, "jump", "jumps"), "1 jump"}, {count(2, "jump", "jumps"), "2 jumps"},
		{sentence("été"), "Été"}, {sentence(""), ""}, {runName(""), "Unnamed run"}, {runName("a/b.csv"), "b.csv"},
		{plainNumber(0.5), "0.5"}, {plainNumber(25), "25"}, {points(6.4), "+6" + gap + "%"}, {points(-6.4), "−6" + gap + "%"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

func TestRound(t *testing.T) {
	for _, c := range []struct {
		v    float64
		n    int
		want float64
	}{{1.23456, 3, 1.23}, {-0.00123456, 2, -0.0012}, {987654, 3, 988000}, {math.NaN(), 3, 0}, {math.Inf(1), 3, 0}} {
		if got := round(c.v, c.n); got != c.want {
			t.Errorf("round(%g, %d) = %g, want %g", c.v, c.n, got, c.want)
		}
	}
}

func TestVerdict(t *testing.T) {
	r := empty()
	if v := judge(r); v.Line != "Too little could be computed to sum this run up." || len(v.Poor) != 1 {
		t.Errorf("verdict on nothing: %+v", v)
	}
	r.Ride.RidingS = analyze.Value(60, 1)
	r.Travel.MaxPct, r.Travel.BottomOuts, r.Travel.BottomHard = analyze.Value(98.4, 1), analyze.Value(3, 3), analyze.Value(1, 3)
	r.Packing.SinkInRoughPct, r.Packing.Count, r.Packing.Reference = analyze.Value(6.1, 9), analyze.Value(0, 0), "static sag"
	r.Velocity.ReboundRatio = analyze.Value(0.72, 99)
	want := "Used 98 % of the travel, with 3 bottom-outs, 1 of them hard. Rides 6 % of travel deeper than the static sag in rough ground and did not pack down. " +
		"Fast rebound runs at 72 % of the speed of fast compression."
	if got := strings.ReplaceAll(judge(r).Line, gap, " "); got != want {
		t.Errorf("verdict is\n%s\nwant\n%s", got, want)
	}
	r.Travel.Bottoms = []analyze.BottomOut{{TimeS: 1, LargestMMS: 900}, {TimeS: 2, LargestMMS: 1500, Hard: true}, {TimeS: 3, LargestMMS: 1200, Hard: true}}
	if look := judge(r).Look; len(look) != 1 || look[0].Text != "the hard bottom-out at 0:02.0" || look[0].FromS > 2 || look[0].ToS < 2 {
		t.Errorf("worth a look: %+v", look)
	}
}

func TestAbsentFigureShowsItsReason(t *testing.T) {
	s := show(analyze.Absent("fewer than %d strokes", 5), mm)
	if s.inline() != "— (fewer than 5 strokes)" {
		t.Errorf("got %q", s.inline())
	}
}

func TestUnbroken(t *testing.T) {
	for in, want := range map[string]string{
		"95 % quantile": "95" + gap + "% quantile", "a % b, 5 %, 10 %": "a % b, 5" + gap + "%, 10" + gap + "%", " %": " %", "": "", "no sign": "no sign",
	} {
		if got := unbroken(in); got != want {
			t.Errorf("unbroken(%q) = %q", in, got)
		}
	}
}
