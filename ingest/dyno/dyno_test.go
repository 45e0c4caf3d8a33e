package dyno

import (
	"errors"
	"math"
	"reflect"
	"strings"
	"testing"

	"stanchion/ingest"
)

const good = "# a damper\nforce_n, Clicks ,velocity_m_s\n-900,6,-2\n\n-400,6,-0.5\n0,6,0\n600,6,2\n300,6,0.5\n-1100,3,-2\n-450,3,-0.5\n320,3,0.5\n650,3,2\n"

func TestRead(t *testing.T) {
	got, err := Read("d.csv", strings.NewReader(good))
	want := []ingest.DamperCurve{
		{Clicks: 3, Points: []ingest.DamperPoint{{VelocityMMS: -2000, ForceN: -1100}, {VelocityMMS: -500, ForceN: -450}, {VelocityMMS: 500, ForceN: 320}, {VelocityMMS: 2000, ForceN: 650}}},
		{Clicks: 6, Points: []ingest.DamperPoint{{VelocityMMS: -2000, ForceN: -900}, {VelocityMMS: -500, ForceN: -400}, {}, {VelocityMMS: 500, ForceN: 300}, {VelocityMMS: 2000, ForceN: 600}}},
	}
	if err != nil || !reflect.DeepEqual(got, want) {
		t.Fatalf("got %+v, %v", got, err)
	}
}

func TestReadRefuses(t *testing.T) {
	const head = "clicks,velocity_mm_s,force_n\n"
	for text, want := range map[string]string{
		"":                              "d.csv: is empty",
		head:                            "d.csv: holds no points",
		"clicks,speed,force_n\n":        `d.csv:1: column 2 is named "speed"`,
		"clicks,force_n\n":              "d.csv:1: the header must name",
		"clicks,clicks,force_n\n":       "d.csv:1: column 2 has a name that was there before",
		head + "3,100\n":                "d.csv:2: has 2 cells, but the header 3",
		head + "3,x,5\n":                `d.csv:2: velocity is "x", but must be a number from -20000 to 20000`,
		head + "3,nan,5\n":              `d.csv:2: velocity is "nan"`,
		head + "3,100,1e9\n":            `d.csv:2: force is "1e9"`,
		head + "-1,100,10\n":            `d.csv:2: clicks is "-1"`,
		head + "3,100,-10\n":            "d.csv:2: a force of -10 N at 100 mm/s drives the fork",
		head + "3,100,1\n3,200,2\n":     "d.csv: at 3 clicks there are 2 velocities in compression and 0 in rebound",
		head + "3,1,1\n3,1,2\n":         "d.csv: at 3 clicks the velocity 1 mm/s is there twice",
		head + strings.Repeat("9", 5e3): "d.csv:2: the line is longer",
	} {
		got, err := Read("d.csv", strings.NewReader(text))
		var e *Error
		if !errors.As(err, &e) || !strings.HasPrefix(err.Error(), want) || got != nil {
			t.Errorf("%.40q:\ngot  %v\nwant %s", text, err, want)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add(good)
	f.Add("clicks,velocity_mm_s,force_n\n3,-1,-1\n3,-2,-2\n3,1,1\n3,2,inf\n")
	f.Fuzz(func(t *testing.T, text string) {
		curves, err := Read("d", strings.NewReader(text))
		if err != nil {
			if curves != nil {
				t.Fatal("an error comes with curves")
			}
			return
		}
		if len(curves) == 0 {
			t.Fatal("no curve and no error")
		}
		for _, c := range curves {
			last := math.Inf(-1)
			for _, p := range c.Points {
				if !(p.VelocityMMS > last) || p.VelocityMMS*p.ForceN < 0 || math.IsInf(p.ForceN, 0) || math.IsNaN(p.ForceN) {
					t.Fatalf("bad curve %+v", c)
				}
				last = p.VelocityMMS
			}
		}
	})
}
