package ridesim

import (
	"bytes"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"
)

// Bumps met at 12 Hz move the fork at 12 Hz: 12 compressions a second, to within one at each end.
func TestBumpTrainComesAtItsFrequency(t *testing.T) {
	truth := simulate(t, BumpTrain(DefaultFork(), CleanSensor(1000), 12, 30, 6, 5))
	peaks := 0
	for i := 3001; i < 6001; i++ {
		if truth.VelocityMMS[i-1] > 0 && truth.VelocityMMS[i] <= 0 {
			peaks++
		}
	}
	if peaks < 35 || peaks > 37 {
		t.Errorf("%d compression peaks in 3 s, want 36", peaks)
	}
}

// On level ground at constant speed nothing moves.
func TestSmoothGroundKeepsTheForkStill(t *testing.T) {
	truth := simulate(t, SmoothGround(DefaultFork(), CleanSensor(1000), 8, 5))
	for i, v := range truth.VelocityMMS {
		if math.Abs(v) > 1e-6 {
			t.Fatalf("sample %d moves at %g mm/s", i, v)
		}
	}
	if d := truth.Summary.DistanceM; math.Abs(d-40) > 0.02 {
		t.Errorf("rode %g m, want 40", d)
	}
}

// Rough ground at constant speed: four times the roughness moves a linear fork that keeps to the ground twice as much.
func TestLinearForkScalesWithRoughness(t *testing.T) {
	move := func(gd float64) float64 {
		p := ConstantClass(goldenFork(), CleanSensor(500), gd, 8, 6, 11)
		return rms(simulate(t, p).VelocityMMS)
	}
	if ratio := move(64e-6) / move(16e-6); math.Abs(ratio-2) > 1e-6 {
		t.Errorf("velocity scales by %.8f, want 2", ratio)
	}
}

// Braking at a m/s² puts BrakeShiftKg·a N more on the fork: at rest under it the spring carries that as well.
func TestBrakingPressesTheFork(t *testing.T) {
	f := DefaultFork()
	f.FrictionN = 0
	truth := simulate(t, Params{Fork: f, Sensor: CleanSensor(1000), Course: Course{
		StartSpeed: 20, EndHoldS: 1,
		Sections: []Section{{Kind: "brake", LengthM: 200, BrakeMS2: 3}},
	}})
	want := 1000 * f.TravelAtLoad((36*Gravity+75*3)*f.sin())
	if got := truth.TravelMM[4000]; math.Abs(got-want) > 0.05 {
		t.Errorf("travel after 4 s of braking at 3 m/s² is %.3f mm, force balance gives %.3f", got, want)
	}
	if v := truth.SpeedMS[len(truth.SpeedMS)-1]; v != 0 {
		t.Errorf("ends at %g m/s, want a stand", v)
	}
}

// In a long compression of 1 g more the spring carries twice the sprung weight.
func TestCompressionLoadsTheFork(t *testing.T) {
	f := DefaultFork()
	f.FrictionN = 0
	truth := simulate(t, Params{Fork: f, Sensor: CleanSensor(1000), Course: Course{
		StartSpeed: 5, Sections: []Section{{Kind: "compression", LengthM: 100, SpeedMS: 5, LoadG: 1}},
	}})
	want := 1000 * f.TravelAtLoad(2*36*Gravity*f.sin())
	if got := truth.Summary.MaxTravelMM; math.Abs(got-want) > 0.2 {
		t.Errorf("deepest at %.3f mm, force balance at 2 g gives %.3f", got, want)
	}
}

// A bottom-out opens at 97 % and closes under 92 %; travel in between does not open another.
func TestBottomOutsOfAKnownTravel(t *testing.T) {
	truth := Truth{RateHz: 1000, Fork: DefaultFork()}
	for _, run := range []struct {
		x float64
		n int
	}{{100, 10}, {156, 5}, {150, 5}, {158, 3}, {146, 4}, {154, 5}, {157, 2}} {
		for range run.n {
			truth.TravelMM = append(truth.TravelMM, run.x)
			truth.VelocityMMS = append(truth.VelocityMMS, float64(len(truth.TravelMM)))
		}
	}
	got := truth.bottomOuts()
	want := []BottomOut{
		{StartS: 0.010, EndS: 0.023, PeakMM: 158, EntryMMS: 11, Over97S: 0.008},
		{StartS: 0.032, EndS: 0.034, PeakMM: 157, EntryMMS: 33, Over97S: 0.002},
	}
	if len(got) != len(want) {
		t.Fatalf("%d bottom-outs: %+v", len(got), got)
	}
	for i := range want {
		g, w := got[i], want[i]
		if math.Abs(g.StartS-w.StartS)+math.Abs(g.EndS-w.EndS)+math.Abs(g.Over97S-w.Over97S) > 1e-9 || g.PeakMM != w.PeakMM || g.EntryMMS != w.EntryMMS {
			t.Errorf("bottom-out %d: %+v, want %+v", i, g, w)
		}
	}
}

// shortRide is a few seconds of rough ground.
func shortRide() Params {
	p := ConstantClass(DefaultFork(), DefaultSensor(), 4000e-6, 6, 6, 2)
	p.Sensor.StartTick = 1<<32 - 3_000_000
	return p
}

// A long log has one row a period, stamps that run on through rounds and wraps, and no jump where a round joins the next:
// no step is larger than the largest of the ride itself.
func TestLongLogRunsOn(t *testing.T) {
	p := shortRide()
	log, _, err := Ride(p)
	if err != nil {
		t.Fatal(err)
	}
	largest := 0.0
	for i := 1; i < len(log.Reading); i++ {
		largest = max(largest, math.Abs(log.Reading[i]-log.Reading[i-1]))
	}
	var b bytes.Buffer
	if err := WriteLong(&b, p, 20); err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(b.String()), "\n")
	if n := len(lines) - 1; n < 19990 || n > 20010 {
		t.Errorf("%d rows for 20 s at 1 kHz", n)
	}
	var before [2]int64
	for i, line := range lines[1:] {
		cells := strings.Split(line, ",")
		tick, err1 := strconv.ParseInt(cells[0], 10, 64)
		code, err2 := strconv.ParseInt(cells[1], 10, 64)
		if err1 != nil || err2 != nil {
			t.Fatalf("row %d: %q", i, line)
		}
		if step := (tick - before[0]) & (1<<32 - 1); i > 0 && (step < 900 || step > 1100) {
			t.Errorf("row %d: %d µs after the last", i, step)
		}
		if jump := math.Abs(float64(code - before[1])); i > 0 && jump > largest+1 {
			t.Errorf("row %d jumps by %g codes, the ride never by over %g", i, jump, largest)
		}
		before = [2]int64{tick, code}
	}
	if err := WriteLong(io.Discard, p, math.NaN()); err == nil {
		t.Error("a length of NaN was accepted")
	}
}

func BenchmarkRide3Min(b *testing.B) {
	p := DefaultParams()
	p.Course = MixedCourse(4)
	for b.Loop() {
		_, truth, err := Ride(p)
		if err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(truth.Summary.DurationS, "ride-s")
	}
}

type countWriter int64

func (c *countWriter) Write(p []byte) (int, error) {
	*c += countWriter(len(p))
	return len(p), nil
}

// BenchmarkWriteLong writes an hour at 1 kHz, the ride that is repeated included.
func BenchmarkWriteLong(b *testing.B) {
	p := DefaultParams()
	for b.Loop() {
		var n countWriter
		if err := WriteLong(&n, p, 3600); err != nil {
			b.Fatal(err)
		}
		b.SetBytes(int64(n))
	}
}
