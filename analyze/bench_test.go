package analyze

import (
	"math"
	"math/rand/v2"
	"testing"

	"stanchion/ingest"
)

// demoRide is seconds of made-up riding at fs: a body motion, wheel bumps whose strength comes and goes, sensor noise, and 4 s of rest
// at the start. It is good for load and invariants; nothing about it is true to a fork.
func demoRide(fs, seconds float64, seed uint64) []float64 {
	rng := rand.New(rand.NewPCG(seed, 1))
	x := make([]float64, int(math.Round(seconds*fs)))
	for i := range x {
		t := float64(i) / fs
		x[i] = 35 + 0.05*rng.NormFloat64()
		if t < 4 {
			continue
		}
		gust := math.Pow(math.Sin(2*math.Pi*0.031*t), 2)
		x[i] += 14*math.Sin(2*math.Pi*1.3*t) + gust*(22*math.Sin(2*math.Pi*2.9*t+1)+9*math.Sin(2*math.Pi*11.3*t)+
			30*math.Pow(max(0, math.Sin(2*math.Pi*0.37*t)), 20))
		x[i] = max(-0.5, x[i])
	}
	return x
}

func benchRide(b *testing.B, seconds float64) *ride {
	return rideOf(b, 1000, demoRide(1000, seconds, 7))
}

func BenchmarkFigures(b *testing.B) {
	for _, size := range []struct {
		name    string
		seconds float64
	}{{"5min", 300}, {"60min", 3600}} {
		r := benchRide(b, size.seconds)
		strokes := r.strokes().List
		spells := r.air(strokes).Spells
		for _, f := range []struct {
			name string
			run  func()
		}{
			{"measure", func() { r.measure() }},
			{"quality", func() { r.quality() }},
			{"riding", func() { r.riding() }},
			{"strokes", func() { r.strokes() }},
			{"sag", func() { r.sag() }},
			{"travel", func() { r.travel(strokes) }},
			{"velocity", func() { r.velocity() }},
			{"density", func() { r.density() }},
			{"air", func() { r.air(strokes) }},
			{"reversals", func() { r.reversals(strokes, spells) }},
		} {
			b.Run(f.name+"/"+size.name, func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					f.run()
				}
			})
		}
	}
}

// BenchmarkRun is the whole analysis of one run, filtering included.
func BenchmarkRun(b *testing.B) {
	for _, size := range []struct {
		name    string
		seconds float64
	}{{"5min", 300}, {"60min", 3600}} {
		trace := traceOf(1000, demoRide(1000, size.seconds, 7))
		for _, part := range []struct {
			name string
			run  func(*ingest.Trace) error
		}{
			{"newRide", func(t *ingest.Trace) error { _, err := newRide(t, DefaultOptions()); return err }},
			{"run", func(t *ingest.Trace) error { _, _, err := Run(t, DefaultOptions()); return err }},
		} {
			b.Run(part.name+"/"+size.name, func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					if err := part.run(trace); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
