package analyze

import (
	"strings"
	"testing"
)

// Travel that is upside down or far too small is more likely a mistake of reading than a ride.
func TestUnlikelyTravel(t *testing.T) {
	for _, c := range []struct {
		name string
		at   func(x float64) float64 // what is read where the fork is at x mm of 160
		want string                  // "" for no warning
	}{
		{"as it is", func(x float64) float64 { return x }, ""},
		{"upside down", func(x float64) float64 { return 160 - x }, "upside down"},
		{"in centimetres", func(x float64) float64 { return x / 10 }, "check the unit"},
	} {
		x := sine(500, 20, 40, 25, 2)
		for i := range x {
			x[i] = c.at(x[i])
		}
		res, _, err := Run(traceOf(500, x), DefaultOptions())
		if err != nil {
			t.Fatal(err)
		}
		got := ""
		for _, v := range res.Caveats {
			if v.Severity == Warning && v.Topic == "travel" {
				got += v.Text
			}
		}
		if !strings.Contains(got, c.want) || (got != "") != (c.want != "") {
			t.Errorf("%s: warned %q, want %q", c.name, got, c.want)
		}
	}
}

// A fork that only stood still says nothing about packing.
func TestNoPackingWithoutRiding(t *testing.T) {
	res, _, err := Run(traceOf(500, constant(5000, 40)), DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	if _, ok := res.Sag.StaticMM.Get(); !ok {
		t.Fatal("no static sag to measure depth from")
	}
	gone(t, "packing runs", res.Packing.Count)
}
