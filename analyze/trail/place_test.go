package trail

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// shapes are trails that a search for the nearest point gets wrong.
func shapes() map[string]*course {
	return map[string]*course{
		"winding": winding(), "switchbacks 10 m apart": switchbacks(5, 60, 10), "switchbacks 5 m apart": switchbacks(5, 60, 5),
		"crosses itself": figureEight(), "start is finish": ring(),
	}
}

func mustLine(t *testing.T, paths ...*Path) *Line {
	t.Helper()
	l, err := NewLine(paths, DefaultLineOptions())
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func mustPlace(t *testing.T, l *Line, p *Path) *Placed {
	t.Helper()
	q, err := l.Place(p, DefaultPlaceOptions())
	if err != nil {
		t.Fatal(err)
	}
	return q
}

// A run on its own line has no cross-track error, and its stations are the distance ridden. The line cuts corners by the height of an arc over a chord of the
// distance between fixes, 2 m at most here: up to 0.2 m on the tightest half circle, of 2.5 m radius.
func TestOwnLine(t *testing.T) {
	for name, c := range shapes() {
		r := c.ride(manner{rateHz: 10, speedMS: 6, seed: 1})
		l := mustLine(t, r.path)
		q := mustPlace(t, l, r.path)
		if q.CrossRMSM > 0.02 || len(q.OffLine) > 0 || l.Runs != 1 {
			t.Errorf("%s: cross-track %.3f m, off the line %v, %d runs", name, q.CrossRMSM, q.OffLine, l.Runs)
		}
		for i, s := range q.StationM {
			if d := s - r.path.AlongM[i]; math.Abs(d) > 0.004*r.path.AlongM[i]+0.3 {
				t.Errorf("%s: station %.2f m after %.2f m", name, s, r.path.AlongM[i])
				break
			}
		}
	}
}

// With 2 m of noise on the way, no run jumps to another leg: stations stay near the truth everywhere.
func TestPlaceDoesNotJump(t *testing.T) {
	for name, c := range shapes() {
		clean := c.ride(manner{rateHz: 10, speedMS: 6, seed: 1})
		l := mustLine(t, clean.path)
		for seed := range uint64(12) {
			m := manner{rateHz: []float64{1, 5, 10}[seed%3], speedMS: 5 + float64(seed%4), noiseM: 0.6, wanderM: 1.7, wanderS: 15, across: float64(seed%3) - 1, seed: seed}
			r := c.ride(m)
			q := mustPlace(t, l, r.path)
			for i, s := range q.StationM {
				if i > 0 && s < q.StationM[i-1] {
					t.Fatalf("%s: stations fall", name)
				}
				truth := r.path.AlongM[i]
				if math.Abs(s-truth) > 12 && !q.off(q.TimeS[i], q.TimeS[i]) {
					t.Errorf("%s, seed %d: station %.1f m, truth %.1f m", name, seed, s, truth)
					break
				}
			}
			if len(q.OffLine) > 1 {
				t.Errorf("%s, seed %d: off the line %v", name, seed, q.OffLine)
			}
		}
	}
}

func TestOffLineSpans(t *testing.T) {
	c := winding()
	l := mustLine(t, c.ride(manner{rateHz: 10, speedMS: 6, seed: 1}).path)
	r := c.ride(manner{rateHz: 5, speedMS: 6, seed: 2})
	p := r.path
	for i, s := range p.AlongM { // 60 m to the east between two stations, with gentle ways there and back
		p.EastM[i] += 60 * min(max((s-300)/60, 0), 1) * min(max((520-s)/60, 0), 1)
	}
	q := mustPlace(t, l, p)
	if len(q.OffLine) != 1 {
		t.Fatalf("off the line %v, want one span", q.OffLine)
	}
	from, to := r.timeAt(300), r.timeAt(520)
	if s := q.OffLine[0]; s[0] < from || s[1] > to+1 || s[1]-s[0] < 0.5*(to-from) {
		t.Errorf("off from %.1f to %.1f s, ridden off from %.1f to %.1f s", s[0], s[1], from, to)
	}
	if _, _, ok := q.TimeAt(410); ok {
		t.Error("a time at a place that was not ridden")
	}
	if _, ok := q.At((from + to) / 2); ok {
		t.Error("a station where the run was off the line")
	}
	if got, _, ok := q.TimeAt(700); !ok || math.Abs(got-r.timeAt(700)) > 1 {
		t.Errorf("after it: %.2f s, truth %.2f s", got, r.timeAt(700))
	}
}

func TestLossOfReception(t *testing.T) {
	c := winding()
	l := mustLine(t, c.ride(manner{rateHz: 10, speedMS: 6, seed: 1}).path)
	p := c.ride(manner{rateHz: 5, speedMS: 6, seed: 2})
	full := p.path
	cut := &Path{RateHz: 5}
	gone := 0.0
	for i := range full.TimeS {
		if full.AlongM[i] > 300 && full.AlongM[i] < 420 {
			continue
		}
		piece := 0
		if full.AlongM[i] > 300 {
			piece = 1
		}
		if k := len(cut.TimeS); k > 0 && cut.Piece[k-1] == piece {
			gone += full.AlongM[i] - full.AlongM[i-1]
		}
		cut.TimeS, cut.EastM, cut.NorthM = append(cut.TimeS, full.TimeS[i]), append(cut.EastM, full.EastM[i]), append(cut.NorthM, full.NorthM[i])
		cut.EleM, cut.SpeedMS, cut.AlongM = append(cut.EleM, full.EleM[i]), append(cut.SpeedMS, full.SpeedMS[i]), append(cut.AlongM, gone)
		cut.SigmaM, cut.Piece = append(cut.SigmaM, 0.1), append(cut.Piece, piece)
	}
	q := mustPlace(t, l, cut)
	if _, _, ok := q.TimeAt(360); ok {
		t.Error("a time at a place without reception")
	}
	for _, s := range []float64{250, 500, 800} {
		if got, _, ok := q.TimeAt(s); !ok || math.Abs(got-p.timeAt(s)) > 0.2 {
			t.Errorf("at %g m: %.2f s (%v), truth %.2f s", s, got, ok, p.timeAt(s))
		}
	}
}

// Crossing times of clean runs agree with the truth, at 1 Hz too: the cubic knows the speeds. Bound: 3 m/s² over 1 s leaves under 0.05 s.
func TestTimeAt(t *testing.T) {
	c := winding()
	l := mustLine(t, c.ride(manner{rateHz: 10, speedMS: 6, seed: 1}).path)
	for rate, bound := range map[float64]float64{1: 0.06, 5: 0.03, 10: 0.03} {
		r := c.ride(manner{rateHz: rate, speedMS: 8, seed: 3})
		q := mustPlace(t, l, r.path)
		for s := 20.0; s < l.LengthM()-20; s += 13 {
			got, sigma, ok := q.TimeAt(s)
			if truth := r.timeAt(c.stationOf(l, s)); !ok || math.Abs(got-truth) > bound {
				t.Errorf("%g Hz at %g m: %.3f s, truth %.3f s", rate, s, got, truth)
			}
			if want := 0.1 / 8; sigma < want/1.6 || sigma > want*1.6 {
				t.Errorf("sigma %.4f s, want about %.4f s", sigma, want)
			}
			if back, ok := q.At(got); !ok || math.Abs(back-s) > 1e-6 {
				t.Errorf("at %g s: station %g m, want %g m", got, back, s)
			}
		}
	}
}

func TestNowhereOnTheLine(t *testing.T) {
	l := mustLine(t, winding().ride(manner{rateHz: 5, speedMS: 6, seed: 1}).path)
	p := ring().ride(manner{rateHz: 5, speedMS: 6, seed: 1}).path
	for i := range p.EastM {
		p.EastM[i] += 5000
	}
	var off *OffLineError
	if _, err := l.Place(p, DefaultPlaceOptions()); !errors.As(err, &off) || !strings.Contains(err.Error(), "within 15 m") {
		t.Errorf("got %v", err)
	}
	if _, err := l.Place(&Path{}, DefaultPlaceOptions()); err == nil {
		t.Error("a path without positions was placed")
	}
}

// Whatever is drawn: stations do not fall and are within the line and its leads, times are found inside the run, nothing is NaN.
func TestPlaceProperties(t *testing.T) {
	names := []string{"winding", "switchbacks 5 m apart", "crosses itself", "start is finish"}
	all := shapes()
	rapid.Check(t, func(t *rapid.T) {
		c := all[rapid.SampledFrom(names).Draw(t, "shape")]
		m := manner{rateHz: rapid.SampledFrom([]float64{1, 5}).Draw(t, "rate"), speedMS: rapid.Float64Range(2, 14).Draw(t, "speed"),
			noiseM: rapid.Float64Range(0, 6).Draw(t, "noise"), seed: rapid.Uint64Range(0, 1e6).Draw(t, "seed")}
		l, err := NewLine([]*Path{c.ride(manner{rateHz: 5, speedMS: 6, seed: 1}).path}, DefaultLineOptions())
		if err != nil {
			t.Fatal(err)
		}
		q, err := l.Place(c.ride(m).path, DefaultPlaceOptions())
		if err != nil {
			return
		}
		for i, s := range q.StationM {
			if math.IsNaN(s) || math.IsNaN(q.CrossM[i]) || s < -leadM || s > l.LengthM()+leadM || i > 0 && s < q.StationM[i-1] {
				t.Fatalf("station %g m after %g m, off by %g m", s, q.StationM[max(0, i-1)], q.CrossM[i])
			}
		}
		s := rapid.Float64Range(0, l.LengthM()).Draw(t, "station")
		if at, sigma, ok := q.TimeAt(s); ok && !(at >= q.TimeS[0] && at <= q.TimeS[len(q.TimeS)-1] && sigma > 0) {
			t.Fatalf("passed %g m at %g s ± %g s", s, at, sigma)
		}
	})
}
