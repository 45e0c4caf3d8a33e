package trail

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"stanchion/analyze"
	"stanchion/analyze/signal"
	"stanchion/ingest"
	"stanchion/sampledata/ridesim"
)

// The tables of testdata/reading.md come from the tests of this file with STANCHION_STUDY=1; without, they ride a few short courses.

func study() bool { return os.Getenv("STANCHION_STUDY") != "" }

// simOptions are the defaults with few resamples of the damping ratio, which is not what is tested here.
func simOptions() analyze.Options {
	o := analyze.DefaultOptions()
	o.BootstrapN = 50
	return o
}

// rode simulates and analyses a run. noiseMM is the sensor's.
func rode(t testing.TB, p ridesim.Params, rateHz, noiseMM float64) (RunOnTrail, ridesim.Truth) {
	t.Helper()
	p.Sensor = ridesim.Sensor{Seed: p.Seed, RateHz: rateHz, Unit: ingest.UnitMM, NoiseMM: noiseMM, SpeedHz: 10, SpeedMS: 0.01}
	log, truth, err := ridesim.Ride(p)
	if err != nil {
		t.Fatal(err)
	}
	res, sig, err := analyze.Run(&ingest.Trace{
		Source: "simulated", Fork: ingest.Fork{TravelMM: 1000 * p.Fork.TravelM}, RateHz: rateHz,
		Channels: []ingest.ChannelInfo{{Name: "speed", Unit: "m/s"}},
		Segments: []ingest.Segment{{TravelMM: log.Reading, Channels: [][]float64{log.SpeedMS}}},
	}, simOptions())
	if err != nil {
		t.Fatal(err)
	}
	return RunOnTrail{Result: res, Signals: sig}, truth
}

// place lays a run on its trail as if by a receiver at 5 Hz whose station errs by noiseM (standard deviation, correlated over 10 s: nothing is credited to
// smoothing) and whose speed errs by 0.1 m/s.
func place(truth *ridesim.Truth, seed uint64, noiseM float64) *Placed {
	rng := rand.New(rand.NewPCG(seed, 0x706c616365))
	p := &Placed{}
	stay := math.Exp(-0.2 / 10)
	e, highest := noiseM*rng.NormFloat64(), math.Inf(-1)
	for i := 0; i < len(truth.DistanceM); i += int(truth.RateHz / 5) {
		e = stay*e + noiseM*math.Sqrt(1-stay*stay)*rng.NormFloat64()
		highest = max(highest, truth.DistanceM[i]+e)
		p.TimeS = append(p.TimeS, float64(i)/truth.RateHz)
		p.StationM = append(p.StationM, highest)
		p.SpeedMS = append(p.SpeedMS, max(0, truth.SpeedMS[i]+0.1*rng.NormFloat64()))
	}
	return p
}

// stretchM is a stretch of trail in m.
type stretchM struct{ from, to float64 }

// harshTruth is the harsh ground of a course; sections that follow on one another are one stretch.
func harshTruth(c ridesim.Course) (out []stretchM) {
	at := 0.0
	for _, s := range c.Sections {
		if harshKind(s.Kind) {
			if n := len(out); n > 0 && out[n-1].to >= at-1e-6 {
				out[n-1].to = at + s.LengthM
			} else {
				out = append(out, stretchM{at, at + s.LengthM})
			}
		}
		at += s.LengthM
	}
	return out
}

// agreedPlaces are the places that enough runs found.
func agreedPlaces(r *Reading) (out []stretchM) {
	for i := range r.Places {
		if minority(&r.Places[i], &r.Options) == 0 {
			out = append(out, stretchM{r.Places[i].StartM, r.Places[i].EndM})
		}
	}
	return out
}

// shared is the length that two lists of stretches have in common. The stretches of a list must not overlap.
func sharedM(a, b []stretchM) float64 {
	sum := 0.0
	for _, p := range a {
		for _, q := range b {
			sum += max(0, min(p.to, q.to)-max(p.from, q.from))
		}
	}
	return sum
}

func lengthM(a []stretchM) float64 { return sharedM(a, []stretchM{{-1e9, 1e9}}) }

// covered counts the stretches of a of which at least half lies in b.
func covered(a, b []stretchM) int {
	n := 0
	for _, p := range a {
		if 2*sharedM([]stretchM{p}, b) >= p.to-p.from {
			n++
		}
	}
	return n
}

// boundaryErrors are the distances of the true boundaries from the nearest found one, of the stretches of which at least half was found.
func boundaryErrors(truth, found []stretchM) (out []float64) {
	for _, p := range truth {
		if covered([]stretchM{p}, found) == 0 {
			continue
		}
		start, end := math.Inf(1), math.Inf(1)
		for _, q := range found {
			start, end = min(start, math.Abs(q.from-p.from)), min(end, math.Abs(q.to-p.to))
		}
		out = append(out, start, end)
	}
	return out
}

// placeTally is how harsh places agree with the truth over several courses.
type placeTally struct {
	table                 strings.Builder
	errors                []float64 // of boundaries, m
	truthM, foundM, bothM float64
	truthN, truthHit      int
	foundN, foundHit      int
}

// add counts a course; head is the beginning of its row in the table.
func (n *placeTally) add(head string, truth, found []stretchM) {
	both, e := sharedM(truth, found), boundaryErrors(truth, found)
	n.errors = append(n.errors, e...)
	n.truthM, n.foundM, n.bothM = n.truthM+lengthM(truth), n.foundM+lengthM(found), n.bothM+both
	n.truthN, n.truthHit = n.truthN+len(truth), n.truthHit+covered(truth, found)
	n.foundN, n.foundHit = n.foundN+len(found), n.foundHit+covered(found, truth)
	fmt.Fprintf(&n.table, "| %s | %d | %.1f %% | %.1f %% | %.1f | %.1f |\n", head, len(truth), 100*both/lengthM(truth), 100*both/lengthM(found), middle(e), slices.Max(e))
}

// merge adds all that m counted, but for its table.
func (n *placeTally) merge(m *placeTally) {
	n.errors = append(n.errors, m.errors...)
	n.truthM, n.foundM, n.bothM = n.truthM+m.truthM, n.foundM+m.foundM, n.bothM+m.bothM
	n.truthN, n.truthHit, n.foundN, n.foundHit = n.truthN+m.truthN, n.truthHit+m.truthHit, n.foundN+m.foundN, n.foundHit+m.foundHit
}

func (n *placeTally) log(t *testing.T, name string) {
	t.Helper()
	q := signal.Quantiles(n.errors, 0.5, 0.8, 0.95, 1)
	t.Logf("%s\n%sby metres: recall %.1f %%, precision %.1f %%; by stretches: %d of %d found, %d of %d right; boundaries: median %.1f m, 80 %% %.1f m, 95 %% %.1f m, most %.1f m, %.1f %% of %d within 5 m",
		name, n.table.String(), 100*n.bothM/n.truthM, 100*n.bothM/n.foundM, n.truthHit, n.truthN, n.foundHit, n.foundN, q[0], q[1], q[2], q[3], 100*within(n.errors, 5), len(n.errors))
}

// check holds the whole to the limits: recall of 90 % and more, precision of 80 % and more, by metres and by stretches, and a share of the boundaries within 5 m.
func (n *placeTally) check(t *testing.T, name string, share float64) {
	t.Helper()
	if n.truthN == 0 {
		t.Fatalf("%s: nothing was read", name)
	}
	n.log(t, name+", all")
	if n.bothM < 0.9*n.truthM || 10*n.truthHit < 9*n.truthN {
		t.Errorf("%s: recall is under 90 %%", name)
	}
	if n.bothM < 0.8*n.foundM || 10*n.foundHit < 8*n.foundN {
		t.Errorf("%s: precision is under 80 %%", name)
	}
	if in := within(n.errors, 5); in < share {
		t.Errorf("%s: %.1f %% of the boundaries lie within 5 m", name, 100*in)
	}
}

// Against the simulator's sections, harsh places that at least half of the runs found have a recall of 90 % and more and a precision of 80 % and more, by metres and by
// stretches, whether a tenth or two thirds of the trail is harsh; nine in ten of their boundaries lie within 5 m at 3 m of position error. Once with
// stations that err by so much, and once through the whole chain: tracks of receivers in the open, smoothed, clocks put together, laid on the line of all runs.
func TestSimulatedHarshPlaces(t *testing.T) {
	if testing.Short() {
		t.Skip("rides trails")
	}
	seeds, shares, runs, length := []uint64{15}, []float64{0.3}, 3, 350.0
	if study() {
		seeds, shares, runs, length = []uint64{11, 12, 13, 14, 50}, []float64{0.1, 0.3, 0.6}, 4, 500
	}
	var all [2]placeTally
	for _, share := range shares {
		t.Run(fmt.Sprintf("%.0f %%", 100*share), func(t *testing.T) {
			var modelled, chained placeTally
			for _, seed := range seeds {
				readDay(t, seed, share, length, runs, &modelled, &chained)
			}
			modelled.log(t, "stations that err by 3 m")
			chained.log(t, "through the whole chain")
			all[0].merge(&modelled)
			all[1].merge(&chained)
		})
	}
	all[0].check(t, "stations that err by 3 m", 0.9)
	all[1].check(t, "through the whole chain", 0.9)
}

// readDay reads one simulated day both ways.
func readDay(t *testing.T, seed uint64, share, lengthM float64, runs int, modelled, chained *placeTally) {
	t.Helper()
	day, err := rideDay(seed, share, lengthM, runs, ridesim.OpenGround(5))
	if err != nil {
		t.Fatal(err)
	}
	list, line, given, err := day.chain()
	if err != nil {
		t.Fatal(err)
	}
	read := func(n *placeTally, head string, truth []stretchM) {
		r, err := Read(list, nil, DefaultReadingOptions())
		if err != nil {
			t.Fatal(err)
		}
		n.add(fmt.Sprintf("%.0f %% | %d | %s%s", 100*share, seed, simForks()[int(seed)%len(simForks())].name, head), truth, agreedPlaces(r))
	}
	read(chained, fmt.Sprint(" | ", given), day.harshOnLine(t, line))
	for k := range list {
		list[k].OffsetS, list[k].Placed = 0, place(&day.rides[k].ridden, 10*seed+uint64(k), 3)
	}
	read(modelled, "", harshTruth(day.course))
}

// On ground of one kind there is no harsh place.
func TestEvenGroundHasNoHarshPlace(t *testing.T) {
	if testing.Short() {
		t.Skip("rides trails")
	}
	for _, gd := range []float64{800e-6, 8000e-6} {
		c := ridesim.Course{StartHoldS: 2, EnvelopeM: 0.16, SwayN: 20, Sections: []ridesim.Section{{Kind: "even", LengthM: 250, GdN0: gd, SpeedMS: 6}}}
		run, truth := rode(t, ridesim.Params{Seed: 5, Fork: ridesim.DefaultFork(), Course: c}, 500, 0.02)
		run.Placed = place(&truth, 1, 0)
		read, err := Read([]RunOnTrail{run}, nil, DefaultReadingOptions())
		if err != nil {
			t.Fatal(err)
		}
		if len(read.Places) > 0 {
			t.Errorf("Gd %g: harsh from %.0f to %.0f m", gd, read.Places[0].StartM, read.Places[0].EndM)
		}
		if _, ok := read.Runs[0].LimitMMS.Get(); ok {
			t.Errorf("Gd %g: a limit on even ground", gd)
		}
	}
}

// jumpTally is how the jumps of a fork were found.
type jumpTally struct {
	flights, found    int // true flights over 0.3 s
	bySpell           int // of those, found as an extended spell of 0.3 s by the rule of package analyze
	reported, shorter int // jumps reported; of those, with a true flight of 0.2 to 0.3 s
	short, invented   int // with one under 0.2 s; with none
	spellShort        int // spells of 0.3 s without a true flight over 0.2 s
	airError          []float64
}

// tallyJumps compares the jumps of a run with the truth. A flight is found by a jump that holds at least half of it.
func tallyJumps(n *jumpTally, run *RunOnTrail, truth *ridesim.Truth, jumps []Jump, log func(string)) {
	longest := func(from, to float64) (best *ridesim.Flight) {
		for i := range truth.Summary.Flights {
			f := &truth.Summary.Flights[i]
			if min(to, f.EndS)-max(from, f.StartS) >= 0.5*(f.EndS-f.StartS) && (best == nil || f.EndS-f.StartS > best.EndS-best.StartS) {
				best = f
			}
		}
		return best
	}
	foundBy := map[*ridesim.Flight]bool{}
	for i := range jumps {
		j := &jumps[i]
		n.reported++
		f := longest(j.TakeOffS-0.02, j.LandingS+0.02)
		switch {
		case f == nil:
			n.invented++
			log(fmt.Sprintf("invented at %.2f s: %.3f s", j.TakeOffS, j.AirS))
			continue
		case f.EndS-f.StartS < 0.2:
			n.short++
			log(fmt.Sprintf("short at %.2f s: %.3f s for %.3f", j.TakeOffS, j.AirS, f.EndS-f.StartS))
		case f.EndS-f.StartS <= 0.3:
			n.shorter++
		}
		foundBy[f] = true
		n.airError = append(n.airError, j.AirS-(f.EndS-f.StartS))
	}
	bySpell := map[*ridesim.Flight]bool{}
	for _, s := range run.Result.Air.Spells {
		if s.Jump {
			if f := longest(s.StartS-0.5, s.EndS+0.02); f == nil || f.EndS-f.StartS < 0.2 {
				n.spellShort++
			} else {
				bySpell[f] = true
			}
		}
	}
	for i := range truth.Summary.Flights {
		f := &truth.Summary.Flights[i]
		if f.EndS-f.StartS <= 0.3 {
			continue
		}
		n.flights++
		if foundBy[f] {
			n.found++
		} else {
			log(fmt.Sprintf("missed at %.2f s: %.3f s", f.StartS, f.EndS-f.StartS))
		}
		if bySpell[f] {
			n.bySpell++
		}
	}
}

// Every simulated flight over 0.3 s is found and none is invented, on forks from under-damped to very slow, among crests that unweight the wheel, berms, drops, bumps
// and rocks, and also through a poor sensor.
func TestSimulatedJumps(t *testing.T) {
	if testing.Short() {
		t.Skip("rides trails")
	}
	type logger struct{ rateHz, noiseMM float64 }
	seeds, features := []uint64{21}, 6
	forks := []simFork{simForks()[0], simForks()[4]}
	loggers := []logger{{500, 0.02}}
	if study() {
		seeds, features, forks = []uint64{21, 22, 23, 24}, 16, simForks()
		loggers = []logger{{500, 0.02}, {200, 0.15}}
	}
	var table strings.Builder
	for _, l := range loggers {
		for _, f := range forks {
			var n jumpTally
			for _, seed := range seeds {
				run, truth := rode(t, ridesim.Params{Seed: seed, Fork: f.fork(), Course: jumpCourse(seed, features)}, l.rateHz, l.noiseMM)
				run.Placed = place(&truth, seed, 3)
				opt := DefaultReadingOptions()
				jumps, why := jumpsOf(0, &run, newGround(&run), &opt)
				if why != "" {
					t.Fatal(why)
				}
				tallyJumps(&n, &run, &truth, jumps, func(s string) { t.Logf("%s, seed %d, %g Hz: %s", f.name, seed, l.rateHz, s) })
			}
			slices.Sort(n.airError)
			at := func(p float64) float64 { return n.airError[int(p*float64(len(n.airError)-1))] }
			fmt.Fprintf(&table, "| %g Hz, %g mm | %s | %d | %d | %d | %d | %d | %d | %d | %+.3f | %+.3f | %+.3f |\n", l.rateHz, l.noiseMM, f.name,
				n.flights, n.found, n.reported, n.shorter, n.short, n.invented, n.bySpell, at(0.05), at(0.5), at(0.95))
			if n.found < n.flights || n.invented > 0 {
				t.Errorf("%s, %g Hz: %d of %d flights found, %d invented", f.name, l.rateHz, n.found, n.flights, n.invented)
			}
		}
	}
	t.Logf("\n%s", table.String())
}
