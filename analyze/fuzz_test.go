package analyze

import (
	"encoding/binary"
	"encoding/json"
	"math"
	"testing"
)

// FuzzRun analyses short traces of any shape: no panic, and a result that is valid JSON, so free of NaN and infinities.
// Every two bytes of data are a sample in hundredths of mm; 0x8000 starts a new segment. Fuzz with -fuzzminimizetime 1x:
// making inputs small takes long here.
func FuzzRun(f *testing.F) {
	add := func(fs, travel float64, x []float64) {
		var b []byte
		for _, v := range x {
			b = binary.LittleEndian.AppendUint16(b, uint16(int16(v*100)))
		}
		f.Add(fs, travel, b)
	}
	add(500, 160, demoRide(500, 8, 1))
	add(50, 160, sine(50, 10, 60, 50, 1))
	add(400, 120, path(0, [2]float64{118, 100}, [2]float64{0, 80}, [2]float64{0, 400}, [2]float64{40, 90}))
	add(1000, 160, []float64{3})
	f.Add(1000.0, 160.0, []byte{0, 0x80, 1, 0, 0, 0x80, 0, 0x80, 2, 0})
	f.Add(1e-3, 1e-3, []byte{1, 2, 3, 4})
	f.Fuzz(func(t *testing.T, fs, travel float64, data []byte) {
		if len(data) > 1<<13 || math.Abs(fs) > 1e5 {
			return
		}
		segments := [][]float64{nil}
		for ; len(data) >= 2; data = data[2:] {
			v := binary.LittleEndian.Uint16(data)
			if v == 0x8000 {
				segments = append(segments, nil)
				continue
			}
			last := len(segments) - 1
			segments[last] = append(segments[last], float64(int16(v))/100)
		}
		trace := traceOf(fs, segments...)
		trace.Fork.TravelMM = travel
		res, _, err := Run(trace, DefaultOptions())
		if err != nil {
			return
		}
		if _, err := json.Marshal(res); err != nil {
			t.Fatal(err)
		}
		log, err := AnalyzeSag(trace, DefaultOptions())
		if err != nil {
			t.Fatal(err)
		}
		if _, err := json.Marshal(log); err != nil {
			t.Fatal(err)
		}
	})
}
