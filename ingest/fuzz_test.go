package ingest

import (
	"encoding/binary"
	"math"
	"testing"
)

// fuzzLog makes a small log from bytes: a clock and a sensor from the first four, then a row from each group of two: a
// step between stamps (from fixed ones to any float64 at all) and a reading.
func fuzzLog(data []byte) (*Recording, Setup) {
	head := [4]byte{}
	data = data[copy(head[:], data):]
	pick := func(b byte, n int) int { return int(b) % n }
	rec := &Recording{
		Source: "fuzz",
		Clock: Clock{
			Kind:   []ClockKind{ClockCounter, ClockElapsed, ClockWall, ClockNone}[pick(head[0], 4)],
			TickS:  []float64{1e-6, 1e-3, 1, 1e-9, 1e-300}[pick(head[0]>>2, 5)],
			RateHz: []float64{1000, 300, 99999}[pick(head[0]>>5, 3)],
		},
		Unit: []Unit{UnitMM, UnitCounts, UnitVolts, UnitPercent}[pick(head[1], 4)],
	}
	setup := Setup{Fork: Fork{TravelMM: 160}, Sensor: Sensor{ADCBits: int(head[1]>>2) % 20, Method: []CalibrationMethod{CalibrateLinear, CalibratePCHIP}[pick(head[2], 2)]}}
	for i := range pick(head[2]>>1, 6) {
		setup.Sensor.Points = append(setup.Sensor.Points, CalibrationPoint{float64(i*i) * 50, float64(i*int(head[3])) / 8})
	}
	unit := []float64{1000, 1, 0.001, 1e6}[pick(head[3], 4)]
	at := 0.0
	row := func(code, reading byte) {
		switch {
		case code < 128:
			at += unit
		case code < 160:
			at += unit * float64(code-126)
		case code < 176:
			at += unit * float64(int(code)-168) / 4
		case code < 184:
			at = math.Mod(at+unit, 65536)
		case code < 192:
			at -= unit * 1e3
		case code == 192:
			at += 1e15
		case code == 193:
			at = -1e308
		case code == 194 && len(data) >= 8:
			at = math.Float64frombits(binary.LittleEndian.Uint64(data))
			data = data[8:]
		}
		x := float64(reading)
		if reading == 255 {
			x = math.NaN()
		} else if reading == 254 {
			x = 1e300
		}
		rec.Stamps, rec.Travel = append(rec.Stamps, at), append(rec.Travel, x)
	}
	for len(data) >= 2 {
		code, reading := data[0], data[1]
		data = data[2:]
		repeat := 1
		if code >= 240 {
			repeat = 300
		}
		for range repeat {
			row(code%240, reading)
		}
	}
	rec.Extra = []Channel{{Name: "copy", Values: append([]float64(nil), rec.Travel...)}}
	rec.Markers = []Marker{{Sample: int(head[3]) - 5, Label: "m"}}
	if rec.Clock.Kind == ClockNone {
		rec.Stamps = nil
	}
	return rec, setup
}

func FuzzPrepare(f *testing.F) {
	f.Add([]byte{0, 0, 0, 0, 250, 10, 250, 20, 130, 30, 250, 40})                     // µs counter in mm, one gap
	f.Add([]byte{1, 1, 8, 9, 250, 10, 170, 9, 250, 20, 192, 30, 250, 40})             // counts through points, a leap of 1e15
	f.Add([]byte{3, 2, 9, 17, 250, 10, 250, 255, 0, 3, 250, 99, 0, 254})              // no stamps, NaN and absurd readings
	f.Add([]byte{2, 3, 0, 1, 250, 1, 185, 2, 250, 3, 193, 4, 250, 5, 165, 6, 166})    // backward and absurd stamps
	f.Add([]byte{0, 0, 0, 2, 250, 1, 145, 2, 150, 3, 159, 4, 250, 5, 180, 6, 250, 7}) // losses and wraps
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 400 {
			return
		}
		rec, setup := fuzzLog(data)
		rows := len(rec.Travel)
		tr, err := Prepare(rec, setup, DefaultPrepareOptions())
		if err != nil {
			return
		}
		checkTrace(t, tr, rows)
	})
}

// checkTrace fails the test unless tr is what every later step relies on.
func checkTrace(t *testing.T, tr *Trace, rows int) {
	t.Helper()
	q := tr.Quality
	if !(tr.RateHz >= minRateHz && tr.RateHz <= maxRateHz*1.01) || len(tr.Segments) == 0 {
		t.Fatalf("rate %g Hz, %d segments", tr.RateHz, len(tr.Segments))
	}
	n, end := 0, 0.0
	for _, s := range tr.Segments {
		if s.StartS < end-1/tr.RateHz || math.IsInf(s.StartS, 0) || len(s.TravelMM) == 0 {
			t.Fatalf("a segment of %d samples starts at %g s, the last ended at %g s", len(s.TravelMM), s.StartS, end)
		}
		end = s.StartS + float64(len(s.TravelMM)-1)/tr.RateHz
		n += len(s.TravelMM)
		for i, x := range s.TravelMM {
			if !(math.Abs(x) <= 1.1*travelLimitMM) {
				t.Fatalf("travel %d is %g", i, x)
			}
		}
		if len(s.Channels) != len(tr.Channels) || len(s.Channels) > 0 && len(s.Channels[0]) != len(s.TravelMM) {
			t.Fatal("a channel is missing or of another length")
		}
	}
	if n != q.Samples || n > (maxMadeUp+2)*rows {
		t.Fatalf("%d samples from %d rows, quality says %d", n, rows, q.Samples)
	}
	for _, v := range []float64{q.StampsJitterS, q.ShortSegmentsS, q.CalibrationRMSMM, q.MMPerCount, q.RateHz} {
		if math.IsNaN(v) || math.IsInf(v, 0) || v < 0 {
			t.Fatalf("quality holds %g", v)
		}
	}
	for _, m := range tr.Markers {
		if !(m.TimeS >= 0) {
			t.Fatalf("marker at %g s", m.TimeS)
		}
	}
}
