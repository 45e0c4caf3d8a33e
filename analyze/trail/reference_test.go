package trail

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// The smoother gives what the textbook gives: testdata/smooth_reference.py runs the same model by full matrices, matrix inverses and the recursion of Rauch, Tung
// and Striebel in NumPy. Both round at 1e-16 of numbers up to 1e4 (the first variance), so that they agree to 1e-6.
func TestSmootherAgainstReference(t *testing.T) {
	raw, err := os.ReadFile("testdata/smooth_reference.json")
	if err != nil {
		t.Fatal(err)
	}
	var ref struct {
		AccelMS2     float64 `json:"accel_ms2"`
		AccelS       float64 `json:"accel_s"`
		WanderM      float64 `json:"wander_m"`
		WanderS      float64 `json:"wander_s"`
		NoiseM       float64 `json:"noise_m"`
		T            []float64
		East, North  []float64
		Fixed        []bool
		AlongMS      []*float64 `json:"along_ms"`
		AlongDir     [2]float64 `json:"along_dir"`
		AlongSigmaMS float64    `json:"along_sigma_ms"`
		Position     [][2]float64
		Velocity     [][2]float64
		PositionVar  [][3]float64 `json:"position_var"`
		VelocityVar  [][3]float64 `json:"velocity_var"`
	}
	if err := json.Unmarshal(raw, &ref); err != nil {
		t.Fatal(err)
	}
	m := motion{accelMS2: ref.AccelMS2, accelS: ref.AccelS, wanderM: ref.WanderM, wanderS: ref.WanderS}
	s := &smoother{motion: m, noiseM: ref.NoiseM, speedMS: math.NaN()}
	var epochs []epoch
	for k, at := range ref.T {
		e := epoch{timeS: at, fix: -1}
		s.spots = append(s.spots, spot{t: at, e: ref.East[k], n: ref.North[k], speed: math.NaN()})
		if ref.Fixed[k] {
			e.fix = k
			s.set(&e, 0, nil, nil, k)
			if z := ref.AlongMS[k]; z != nil {
				e.measured = append(e.measured, scalar{i1: stVel, i2: axisN + stVel, c1: ref.AlongDir[0], c2: ref.AlongDir[1], z: *z, r: ref.AlongSigmaMS * ref.AlongSigmaMS})
			}
		}
		epochs = append(epochs, e)
	}
	s.run(epochs)
	near := func(what string, k int, got, want float64) {
		if math.Abs(got-want) > 1e-6*(1+math.Abs(want)) {
			t.Errorf("%s at %g s: %.9g, want %.9g", what, ref.T[k], got, want)
		}
	}
	for k, e := range m.backward(epochs) {
		if epochs[k].fix >= 0 && !epochs[k].trust {
			t.Fatalf("the fix at %g s was not believed", ref.T[k])
		}
		near("east", k, e.x[stPos], ref.Position[k][0])
		near("north", k, e.x[axisN+stPos], ref.Position[k][1])
		near("speed east", k, e.x[stVel], ref.Velocity[k][0])
		near("speed north", k, e.x[axisN+stVel], ref.Velocity[k][1])
		for i := range 3 {
			near("variance of the position", k, e.posVar[i], ref.PositionVar[k][i])
			near("variance of the speed", k, e.velVar[i], ref.VelocityVar[k][i])
		}
	}
}
