package ridesim

import (
	"bytes"
	"encoding/csv"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"stanchion/ingest"
)

// sineTruth is travel 80 + 60·sin(2π·5·t) mm with its exact velocity.
func sineTruth(rate float64, n int) Truth {
	t := Truth{RateHz: rate, Fork: DefaultFork()}
	for i := range n {
		s, c := math.Sincos(2 * math.Pi * 5 * float64(i) / rate)
		t.TravelMM = append(t.TravelMM, 80+60*s)
		t.VelocityMMS = append(t.VelocityMMS, 60*2*math.Pi*5*c)
		t.SpeedMS = append(t.SpeedMS, float64(i)/rate)
	}
	return t
}

func read(t *testing.T, s Sensor, truth Truth) Log {
	t.Helper()
	log, err := s.Read(&truth)
	if err != nil {
		t.Fatal(err)
	}
	return log
}

// Jittered samples are the true travel at the stamped instant, to what a µs of rounding is worth at 1.9 m/s (1e-3 mm).
func TestJitteredStampsTellTheTruth(t *testing.T) {
	s := CleanSensor(500)
	s.JitterS, s.Seed = 200e-6, 3
	log := read(t, s, sineTruth(500, 2000))
	moved := 0
	for i, tick := range log.Tick {
		at := float64(tick) * 1e-6
		if want := 80 + 60*math.Sin(2*math.Pi*5*at); math.Abs(log.Reading[i]-want) > 2e-3 {
			t.Fatalf("sample %d at %.6f s reads %.6f mm, true %.6f", i, at, log.Reading[i], want)
		}
		if math.Abs(at-float64(i)/500) > 100e-6 {
			moved++
		}
	}
	if moved < 1000 {
		t.Errorf("only %d of 2000 stamps are jittered by over half an RMS", moved)
	}
}

// Without noise a code is the true travel to half a code, and codes stay within the ADC.
func TestCountsAreQuantised(t *testing.T) {
	s := DefaultSensor()
	s.NoiseMM, s.JitterS = 0, 0
	truth := sineTruth(1000, 3000)
	for i := range 100 {
		truth.TravelMM[i] = 400 // off the scale
	}
	log := read(t, s, truth)
	for i, code := range log.Reading {
		if i < 100 {
			if code != 4095 {
				t.Fatalf("off the scale: code %g", code)
			}
			continue
		}
		exact := 310 + 3410*truth.TravelMM[i]/160
		if code != math.Trunc(code) || math.Abs(code-exact) > 0.5+1e-9 {
			t.Fatalf("sample %d: code %g for %g", i, code, exact)
		}
	}
}

func TestVoltsAndPercent(t *testing.T) {
	s := Sensor{RateHz: 1000, Unit: ingest.UnitVolts, AtZero: 0.25, AtFull: 3, ADCBits: 10, RangeV: 3.3}
	truth := sineTruth(1000, 1)
	if got, want := read(t, s, truth).Reading[0], math.Round((0.25+2.75/2)/(3.3/1024))*3.3/1024; math.Abs(got-want) > 1e-12 {
		t.Errorf("half travel reads %g V, want %g", got, want)
	}
	s = Sensor{RateHz: 1000, Unit: ingest.UnitPercent}
	if got := read(t, s, truth).Reading[0]; math.Abs(got-50) > 1e-9 {
		t.Errorf("half travel reads %g %%, want 50", got)
	}
}

// White noise has the RMS asked for: 3 % at 40 000 samples is over eight standard errors.
func TestNoiseHasTheRMSAskedFor(t *testing.T) {
	s := CleanSensor(1000)
	s.NoiseMM, s.OffsetMM = 0.3, 2
	truth := sineTruth(1000, 40000)
	log := read(t, s, truth)
	off := make([]float64, len(log.Reading))
	for i := range off {
		off[i] = log.Reading[i] - truth.TravelMM[i] - 2
	}
	if got := rms(off); math.Abs(got-0.3) > 0.01 {
		t.Errorf("noise RMS about an offset of 2 mm is %.4f mm, want 0.3", got)
	}
}

func TestLossesSpikesAndWrap(t *testing.T) {
	s := CleanSensor(1000)
	s.LostShare, s.LostRuns, s.LostRunS = 0.01, 3, 0.02
	s.Spikes, s.SpikeMM = 10, 50
	s.CounterBits, s.StartTick = 16, 65000
	truth := sineTruth(1000, 10000)
	log := read(t, s, truth)
	if len(log.Reading)+log.Lost != 10000 {
		t.Errorf("%d logged and %d lost of 10000", len(log.Reading), log.Lost)
	}
	if log.Lost < 60+60 || log.Lost > 60+150 {
		t.Errorf("%d lost, want about 160", log.Lost)
	}
	if n := len(log.Spiked); n < 8 || n > 10 {
		t.Errorf("%d spikes survive, want 10 less the lost", n)
	}
	elapsed := log.elapsed()
	spiked := map[int]bool{}
	for _, i := range log.Spiked {
		spiked[i] = true
	}
	for i, tick := range log.Tick {
		if tick > 65535 {
			t.Fatalf("stamp %d is over 16 bits", tick)
		}
		k := int(elapsed[i] / 1000)
		if off := math.Abs(log.Reading[i] - truth.TravelMM[k]); spiked[i] != (off > 30) {
			t.Errorf("sample %d is %g mm off; spike: %v", i, off, spiked[i])
		}
	}
	log.Mark(5, "half")
	m := log.Markers[0]
	if at := float64(elapsed[m.Sample]) * 1e-6; at < 5 || at > 5.03 {
		t.Errorf("marker for 5 s sits at %g s", at)
	}
}

func TestSpeedIsHeldBetweenUpdates(t *testing.T) {
	s := CleanSensor(1000)
	s.SpeedHz, s.SpeedMS = 10, 0.05
	for i, v := range read(t, s, sineTruth(1000, 1000)).SpeedMS {
		if want := math.Round(float64(i/100)*0.1/0.05) * 0.05; math.Abs(v-want) > 1e-12 {
			t.Fatalf("sample %d: speed %g, want %g", i, v, want)
		}
	}
}

// Numbers are written as strconv writes them, with either decimal mark.
func TestNumbersAreWrittenExactly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		decimals := rapid.IntRange(0, 5).Draw(t, "decimals")
		v := rapid.Int64Range(-1e12, 1e12).Draw(t, "v")
		scale := math.Pow(10, float64(decimals))
		got := string(CSVFormat{Decimal: ','}.fixed(nil, v, decimals))
		want := strings.Replace(strconv.FormatFloat(float64(v)/scale, 'f', decimals, 64), ".", ",", 1)
		if got != want {
			t.Fatalf("%d with %d decimals is %q, want %q", v, decimals, got, want)
		}
	})
}

// A log of mm read back from CSV is the log: columns, marks and values to the written decimals.
func TestCSVReadsBack(t *testing.T) {
	log := read(t, CleanSensor(1000), sineTruth(1000, 300))
	log.Mark(0.1, "gate")
	var b bytes.Buffer
	f := PlainCSV(ingest.UnitMM)
	f.Preamble = []string{"# a comment"}
	if err := f.Write(&b, &log); err != nil {
		t.Fatal(err)
	}
	r := csv.NewReader(&b)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if got := strings.Join(rows[0], "|"); got != "t_us|travel [mm]|speed [m/s]|marker" {
		t.Errorf("header %q", got)
	}
	if len(rows) != 301 {
		t.Fatalf("%d rows, want 301", len(rows))
	}
	for i, row := range rows[1:] {
		tick, err1 := strconv.ParseUint(row[0], 10, 64)
		x, err2 := strconv.ParseFloat(row[1], 64)
		if err1 != nil || err2 != nil || tick != log.Tick[i] || math.Abs(x-log.Reading[i]) > 0.5e-4+1e-9 {
			t.Fatalf("row %d is %v, logged %d, %g", i, row, log.Tick[i], log.Reading[i])
		}
		if (row[3] == "gate") != (i == 100) {
			t.Errorf("row %d has the mark %q", i, row[3])
		}
	}
}

func TestRecordingAndSetup(t *testing.T) {
	log := read(t, DefaultSensor(), sineTruth(1000, 100))
	rec := log.Recording("sine")
	if rec.Clock.Kind != ingest.ClockCounter || rec.Clock.TickS != 1e-6 || len(rec.Stamps) != 100 || rec.Rows.Data != 100 || len(rec.Extra[0].Values) != 100 {
		t.Errorf("recording %+v", rec.Clock)
	}
	setup := log.Setup(DefaultFork())
	if setup.Fork.TravelMM != 160 || setup.Sensor.ADCBits != 12 || setup.Sensor.Points[1].Reading != 3720 || setup.Sensor.Points[1].TravelMM != 160 {
		t.Errorf("setup %+v", setup)
	}
}
