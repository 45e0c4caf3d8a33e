package ridesim

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// The same equations written anew in Python and solved by SciPy's adaptive RK45 (testdata/bump_reference.py): single bumps
// at 6 m/s without friction, with it, and a bump that lifts the wheel. Travel agrees to 0.005 mm and velocity to 2 mm/s: the road here is
// interpolated on a 12.5 mm grid, and friction, knees and lift-off kink the equations.
func TestBumpAgainstSciPy(t *testing.T) {
	data, err := os.ReadFile("testdata/bump_reference.json")
	if err != nil {
		t.Fatal(err)
	}
	var want struct {
		TimeS []float64 `json:"time_s"`
		Rides []struct {
			FrictionN   float64   `json:"friction_n"`
			HeightMM    float64   `json:"height_mm"`
			LengthM     float64   `json:"length_m"`
			TravelMM    []float64 `json:"travel_mm"`
			VelocityMMS []float64 `json:"velocity_mm_s"`
		} `json:"rides"`
	}
	if err := json.Unmarshal(data, &want); err != nil {
		t.Fatal(err)
	}
	if len(want.Rides) != 3 || len(want.TimeS) < 20 {
		t.Fatalf("reference holds %d rides of %d times", len(want.Rides), len(want.TimeS))
	}
	for _, ride := range want.Rides {
		f := DefaultFork()
		f.FrictionN = ride.FrictionN
		truth := simulate(t, Params{Fork: f, Sensor: CleanSensor(1000), Course: Course{
			StartSpeed: 6, Sections: []Section{{Kind: "level", LengthM: 7, SpeedMS: 6, Features: []Feature{
				{Kind: Bumps, AtM: 2, HeightM: ride.HeightMM / 1000, LengthM: ride.LengthM, Count: 1}}}},
		}})
		for i, at := range want.TimeS {
			k := int(math.Round(at * 1000))
			if d := truth.TravelMM[k] - ride.TravelMM[i]; math.Abs(d) > 0.005 {
				t.Errorf("friction %g N, bump %g mm, %.2f s: travel %.4f mm, SciPy %.4f", ride.FrictionN, ride.HeightMM, at, truth.TravelMM[k], ride.TravelMM[i])
			}
			if d := truth.VelocityMMS[k] - ride.VelocityMMS[i]; math.Abs(d) > 2 {
				t.Errorf("friction %g N, bump %g mm, %.2f s: velocity %.3f mm/s, SciPy %.3f", ride.FrictionN, ride.HeightMM, at, truth.VelocityMMS[k], ride.VelocityMMS[i])
			}
		}
	}
}
