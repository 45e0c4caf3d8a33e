package trail

import (
	_ "embed"
	"encoding/json"
	"math"
	"testing"
)

//go:embed testdata/along_reference.json
var alongReference []byte

// The smoother agrees with one dense solve of the same model by NumPy (testdata/along_reference.py): stations within 1 mm, and covariances of stations with
// one another within 1 mm² or 1e-4 of them, including those across a gap of 12 s.
func TestAlongAgreesWithOneSolve(t *testing.T) {
	var want struct {
		Accel, Wander float64
		AccelS        float64               `json:"accel_s"`
		WanderS       float64               `json:"wander_s"`
		TimeS         []float64             `json:"time_s"`
		Measured      [][][]json.RawMessage `json:"measured"`
		Station       []float64             `json:"station"`
		Speed         []float64             `json:"speed"`
		East          []float64             `json:"east"`
		Covariance    [][]float64           `json:"covariance"`
	}
	if err := json.Unmarshal(alongReference, &want); err != nil {
		t.Fatal(err)
	}
	a := &alongTrack{}
	for k, at := range want.TimeS {
		s := alongStep{at: k, timeS: at}
		for _, row := range want.Measured[k] {
			var m alongMeasure
			for i, to := range []any{&m.h, &m.z, &m.r} {
				if err := json.Unmarshal(row[i], to); err != nil {
					t.Fatal(err)
				}
			}
			s.measured = append(s.measured, m)
		}
		a.steps, a.of = append(a.steps, s), append(a.of, k)
	}
	a.forward(motion{accelMS2: want.Accel, accelS: want.AccelS, wanderM: want.Wander, wanderS: want.WanderS}, a.steps)
	a.backward()
	for k := range a.steps {
		x := a.steps[k].x
		for _, c := range [][2]float64{{x[alStation], want.Station[k]}, {x[alSpeed], want.Speed[k]}, {x[alEast], want.East[k]}} {
			if math.Abs(c[0]-c[1]) > 1e-3 {
				t.Errorf("step %d: %.6f, want %.6f", k, c[0], c[1])
			}
		}
		for i, got := range a.covariances(k) {
			if w := want.Covariance[k][k+i]; math.Abs(got-w) > max(1e-3, 1e-4*math.Abs(w)) {
				t.Errorf("covariance of %d and %d: %.6f, want %.6f", k, k+i, got, w)
			}
		}
	}
}

// A slow error of 4 m moves a run as a whole: where the receiver measured speed, the time between two places is true to 0.1 s whatever it was, and what is stated covers it.
func TestSpeedCarriesTheRun(t *testing.T) {
	c := winding()
	line := mustLine(t, c.ride(manner{rateHz: 10, speedMS: 6, seed: 1}).path)
	covered, all := 0, 0
	for seed := range uint64(8) {
		r := c.ride(manner{rateHz: 5, speedMS: 7, noiseM: 0.5, wanderM: 3, wanderS: 60, seed: 20 + seed})
		p := r.path
		p.HasSpeed, p.SpeedSigmaMS, p.WanderM, p.WanderS = true, 0.05, 2, 60
		for i := range p.TimeS {
			p.Fixes = append(p.Fixes, PathFix{i, p.EastM[i], p.NorthM[i], p.SpeedMS[i]})
		}
		q := mustPlace(t, line, p)
		for s := 100.0; s < 800; s += 175 {
			a, okA := q.crossing(s)
			b, okB := q.crossing(s + 175)
			if s+175 > 880 || !okA || !okB {
				continue
			}
			off := b.timeS - a.timeS - (r.timeAt(c.stationOf(line, s+175)) - r.timeAt(c.stationOf(line, s)))
			w := PositionError{FloorM: 0.1}
			pa, pb := Passage{placed: q, at: a.at, speedMS: a.speedMS, floorS: w.FloorM / a.speedMS}, Passage{placed: q, at: b.at, speedMS: b.speedMS, floorS: w.FloorM / b.speedMS}
			_, own := w.split(&pa, &pb, b.timeS-a.timeS)
			if all++; math.Abs(off) <= 2*own {
				covered++
			}
			if math.Abs(off) > 0.1 {
				t.Errorf("seed %d from %g m: off by %.3f s, stated %.3f s", seed, s, off, own)
			}
		}
	}
	if float64(covered) < 0.85*float64(all) {
		t.Errorf("two stated uncertainties cover %d of %d", covered, all)
	}
}
