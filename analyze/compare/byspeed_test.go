package compare

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"stanchion/analyze"
	"stanchion/ingest"
	"stanchion/sampledata/ridesim"
)

// sped is a simulated run with a speed channel alone: read scale times too fast, ten times a second, with noise, and with stops at a stand
// put in. truth is the true distance at each moment of the run.
func sped(t testing.TB, name string, p ridesim.Params, scale float64, seed uint64) (run Run, truth func(at float64) float64) {
	t.Helper()
	log, ride, err := ridesim.Ride(p)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(seed, 6))
	rate := p.Sensor.RateHz
	var travel, speed, place []float64
	stops := []int{int((0.2 + 0.2*rng.Float64()) * float64(len(log.Reading))), int((0.6 + 0.2*rng.Float64()) * float64(len(log.Reading)))}
	held := 0.0
	for k, x := range log.Reading {
		if k%int(rate/10) == 0 {
			held = max(0, ride.SpeedMS[k]*scale+0.05*rng.NormFloat64())
		}
		travel, speed, place = append(travel, x), append(speed, held), append(place, ride.DistanceM[k])
		if slices.Contains(stops, k) {
			for range int(rate * (2 + 4*rng.Float64())) {
				travel, speed, place = append(travel, x), append(speed, 0), append(place, ride.DistanceM[k])
			}
		}
	}
	run = analysed(t, &ingest.Trace{
		Source: name, Fork: ingest.Fork{TravelMM: 1000 * p.Fork.TravelM}, RateHz: rate, Channels: []ingest.ChannelInfo{{Name: "wheel_speed", Unit: "m/s"}},
		Segments: []ingest.Segment{{TravelMM: travel, Channels: [][]float64{speed}}}, Quality: ingest.Quality{RateHz: rate},
	})
	return run, func(at float64) float64 { return place[max(0, min(len(place)-1, int(at*rate)))] }
}

// Speed that reads up to 2 % wrong either way, with stops, still gives places: closer to the truth than warping by time does.
func TestAlignBySpeed(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates rides")
	}
	scales := []float64{1, 1.02, 0.98, 0.985}
	runs, truth := make([]Run, len(scales)+1), make([]func(float64) float64, len(scales)+1)
	each(len(runs), func(i int) {
		p, scale := trailOf(3, 10), 1.0
		if i < len(scales) {
			scale = scales[i]
		} else {
			p = trailOf(4, 10)
		}
		p.Sensor.RateHz = 250
		runs[i], truth[i] = sped(t, string(rune('a'+i)), p.Again(uint64(i+1), ridesim.DefaultVariation()), scale, uint64(i))
	})
	errors := map[Method][]float64{}
	for _, m := range []Method{"", ByRoughness} {
		opt := DefaultOptions()
		opt.Align = m
		al, err := Align(runs[:len(scales)], opt)
		if err != nil || al.Refused != "" || len(al.Doubtful) > 0 {
			t.Fatal(err, al.Refused, al.Doubtful)
		}
		ref := slices.IndexFunc(runs, func(r Run) bool { return r.Name == al.Reference })
		for i := range al.Runs {
			for at := al.StartS; i != ref && at < al.EndS; at += 0.25 {
				errors[al.Method] = append(errors[al.Method], math.Abs(truth[i](al.Runs[i].At(at))-truth[ref](at)))
			}
		}
	}
	at := func(m Method, p float64) float64 {
		slices.Sort(errors[m])
		return errors[m][int(p*float64(len(errors[m])-1))]
	}
	t.Log("| lined up by | position error: median | 95 % | largest |")
	for _, m := range []Method{BySpeed, ByRoughness} {
		if len(errors[m]) == 0 {
			t.Fatalf("not lined up by %s", m)
		}
		t.Logf("| %s | %.2f m | %.2f m | %.2f m |", m, at(m, 0.5), at(m, 0.95), at(m, 1))
	}
	if at(BySpeed, 0.5) > at(ByRoughness, 0.5) || at(BySpeed, 0.95) > at(ByRoughness, 0.95) || at(BySpeed, 0.95) > 2 {
		t.Error("speed gives worse places than roughness")
	}
	// Another trail is refused by speed too.
	opt := DefaultOptions()
	opt.Align = BySpeed
	al, err := Align([]Run{runs[0], runs[len(scales)]}, opt)
	if err != nil || !al.OtherTrail {
		t.Errorf("another trail passes by speed: %v %v", err, al.Runs)
	}
	if _, ok := runs[0].Result.Rough.MedianMMS.Get(); !ok || runs[0].Signals.DistanceFrom != analyze.DistanceFromSpeed {
		t.Error("no distance from speed")
	}
}
