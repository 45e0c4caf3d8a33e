package analyze

import "testing"

func BenchmarkControlFigures(b *testing.B) {
	for _, size := range []struct {
		name    string
		seconds float64
	}{{"5min", 300}, {"60min", 3600}} {
		r := benchRide(b, size.seconds)
		strokes := r.strokes().List
		sag := r.sag()
		bottoms, packing := r.travel(strokes).Bottoms, r.packing(strokes, sag).Runs
		for _, f := range []struct {
			name string
			run  func()
		}{
			{"spectrum", func() { r.spectrum() }},
			{"packing", func() { r.packing(strokes, sag) }},
			{"returns", func() { r.returns(strokes, sag) }},
			{"damping", func() { r.damping(strokes) }},
			{"brakeDive", func() { r.brakeDive(sag) }},
			{"rough", func() { r.rough(strokes, bottoms, packing) }},
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

// Decays are rare on a trail, so that the benchmark of a whole ride hardly fits any: this is one fit of 0.8 s at 1 kHz.
func BenchmarkFitDampedSine(b *testing.B) {
	x := lcg(800, 1)
	for i := range x {
		x[i] = freeDecay(float64(i)/1000, 0.25, 3, 25, 6, 35) + 0.5*x[i]
	}
	b.ReportAllocs()
	for b.Loop() {
		fitDampedSine(x, 0.001, 6, 15)
	}
}
