package ingest

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// rideLog is a made-up log for benchmarks: chassis, wheel and hit motion on 170 mm in 12-bit counts, with µs stamps.
// jitter is the standard deviation of the stamps in µs; every lose-th sample (0 = none) is missing.
func rideLog(n int, jitter float64, lose int) *Recording {
	rnd := rand.New(rand.NewPCG(7, 11))
	rec := &Recording{Source: "bench", Clock: Clock{Kind: ClockCounter, TickS: 1e-6}, Unit: UnitCounts}
	for i := range n {
		if lose > 0 && i%lose == lose-1 {
			continue
		}
		t := float64(i) * 1e-3
		x := 45 + 20*math.Sin(2*math.Pi*1.7*t) + 12*math.Sin(2*math.Pi*13*t)*math.Sin(2*math.Pi*0.11*t)
		x += 40 * math.Exp(-20*math.Mod(t, 1.3)) * math.Sin(2*math.Pi*4*math.Mod(t, 1.3))
		stamp := math.Round(float64(i)*1000 + jitter*rnd.NormFloat64())
		rec.Stamps = append(rec.Stamps, math.Mod(max(stamp, 0), 0x1p32))
		rec.Travel = append(rec.Travel, math.Round(200+x*20+0.7*rnd.NormFloat64()))
	}
	return rec
}

var benchSetup = Setup{
	Fork:   Fork{TravelMM: 170},
	Sensor: Sensor{ADCBits: 12, Points: []CalibrationPoint{{200, 0}, {3600, 170}}},
}

func BenchmarkPrepare(b *testing.B) {
	for _, minutes := range []int{5, 60} {
		n := minutes * 60000
		for _, c := range []struct {
			name   string
			jitter float64
			lose   int
		}{{"clean", 0, 0}, {"jittered", 60, 0}, {"gappy", 5, 200}} {
			b.Run(fmt.Sprintf("%s/%dmin", c.name, minutes), func(b *testing.B) {
				master := rideLog(n, c.jitter, c.lose)
				rec := *master
				rec.Stamps, rec.Travel = make([]float64, len(master.Stamps)), make([]float64, len(master.Travel))
				b.ReportAllocs()
				for b.Loop() {
					b.StopTimer()
					copy(rec.Stamps, master.Stamps)
					copy(rec.Travel, master.Travel)
					b.StartTimer()
					if _, err := Prepare(&rec, benchSetup, DefaultPrepareOptions()); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
