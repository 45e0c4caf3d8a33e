package demo

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"fmt"

	"stanchion/ingest"
	"stanchion/sampledata/ridesim"
)

// A File is one demo file.
type File struct {
	Name string
	Data []byte
}

// Builders are the demo files that can be built apart, in order.
func Builders() []Builder {
	return []Builder{
		{"fork.toml", func() ([]File, error) { return []File{{"fork.toml", []byte(forkTOML)}}, nil }},
		{"gates.toml", func() ([]File, error) { return []File{{"gates.toml", gatesTOML()}}, nil }},
		{"sag", sag},
		{"noisy-500hz", noisy},
		{"enduro-run-a", runA},
		{"enduro-run-b", runB},
	}
}

// A Builder makes a recording and what belongs to it.
type Builder struct {
	Name  string
	Build func() ([]File, error)
}

const forkTOML = `# The fork and the travel sensor of the demo recordings (simulated, invented).
[fork]
name = "160 mm demo fork"
travel_mm = 160.0
head_angle_deg = 64.5

[sensor]
unit = "counts"
adc_bits = 12
method = "linear"
points = [
  { reading = 310, travel_mm = 0.0 },
  { reading = 3720, travel_mm = 160.0 },
]
`

// runSensor is a good sensor whose 32-bit µs counter wraps a minute into the run, with a handful of faults.
func runSensor(seed uint64, noiseMM float64) ridesim.Sensor {
	s := ridesim.DefaultSensor()
	s.Seed, s.NoiseMM = seed, noiseMM
	s.StartTick = 1<<32 - 62_345_678
	s.LostShare, s.LostRuns, s.LostRunS = 2e-5, 3, 0.008
	s.Spikes, s.SpikeMM = 6, 40
	return s
}

// ParamsA is run A: the sound setting.
func ParamsA() ridesim.Params {
	return ridesim.Params{Seed: trailSeed, Fork: ridesim.DefaultFork(), Course: trail(1), Sensor: runSensor(101, 0.012)}
}

// ParamsB is run B: the same trail a little faster, rebound turned in.
func ParamsB() ridesim.Params {
	p := ridesim.Params{Seed: trailSeed, Fork: ridesim.DefaultFork(), Course: trail(1.015), Sensor: runSensor(202, 0.015)}
	p.Fork.Damper.Rebound = p.Fork.Damper.Rebound.AtClicks(reboundRunB, reboundReference, reboundRatio)
	return p
}

func runA() ([]File, error) { return run("enduro-run-a", ParamsA(), ReceiverA(), reboundReference) }
func runB() ([]File, error) { return run("enduro-run-b", ParamsB(), ReceiverB(), reboundRunB) }

func run(name string, p ridesim.Params, r ridesim.Receiver, clicks int) ([]File, error) {
	ground, err := Ground()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	line := ridesim.Line{Seed: r.Seed, RMSM: lineM}
	ride, err := ridesim.RideTrail(ground, p, line, r, Gates(), name)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	log, summary := ride.Log, ride.Passage.Truth.Summary
	sections := summary.Sections
	half := sections[len(sections)/2]
	finish := sections[len(sections)-1]
	log.Mark(sections[1].StartS, "start")
	log.Mark(half.StartS, "split")
	log.Mark(finish.StartS, "finish")
	f := ridesim.PlainCSV(ingest.UnitCounts)
	f.Preamble = []string{
		"# simulated enduro descent, invented fork and trail",
		fmt.Sprintf("# rebound: %d clicks from closed", clicks),
		"# travel sensor: 12-bit counts, see fork.toml",
	}
	files, err := pack(name, f, &log, summary)
	if err != nil {
		return nil, err
	}
	var gpx bytes.Buffer
	if err := ridesim.WriteGPX(&gpx, ride.Track); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return append(files, File{name + ".gpx", gpx.Bytes()}), nil
}

// sag is a log of two settles, standing.
func sag() ([]File, error) {
	sensor := ridesim.DefaultSensor()
	sensor.Seed, sensor.StartTick = 303, 41_000_000
	log, truth, err := ridesim.Ride(ridesim.TwoSettles(ridesim.DefaultFork(), sensor, 6, 5))
	if err != nil {
		return nil, fmt.Errorf("sag: %w", err)
	}
	f := ridesim.PlainCSV(ingest.UnitCounts)
	f.Speed, f.Marker = "", ""
	f.Preamble = []string{"# simulated sag log: pushed down and let up slowly, then lifted and let down slowly"}
	return pack("sag", f, &log, truth.Summary)
}

// noisy is a short ride through a poor logger: 500 Hz, much noise, jitter, losses, semicolons and decimal commas.
func noisy() ([]File, error) {
	sensor := ridesim.DefaultSensor()
	sensor.Seed, sensor.RateHz, sensor.NoiseMM = 404, 500, 0.25
	sensor.CounterBits, sensor.StartTick, sensor.JitterS = 0, 0, 150e-6
	sensor.LostShare, sensor.LostRuns, sensor.LostRunS = 0.002, 4, 0.014
	sensor.Spikes, sensor.SpikeMM = 25, 35
	log, truth, err := ridesim.Ride(ridesim.Params{Seed: 7, Fork: ridesim.DefaultFork(), Course: ridesim.MixedCourse(2), Sensor: sensor})
	if err != nil {
		return nil, fmt.Errorf("noisy-500hz: %w", err)
	}
	f := ridesim.CSVFormat{Comma: ';', Decimal: ',', Time: "time (ms)", TimeDecimals: 3, Travel: "travel (counts)"}
	return pack("noisy-500hz", f, &log, truth.Summary)
}

// pack writes the log as name.csv.gz and its truth as truth-name.json.
func pack(name string, f ridesim.CSVFormat, log *ridesim.Log, s ridesim.Summary) ([]File, error) {
	var csv bytes.Buffer
	z, err := gzip.NewWriterLevel(&csv, gzip.BestCompression) // its header holds no time
	if err != nil {
		return nil, err
	}
	if err := f.Write(z, log); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if err := z.Close(); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	truth, err := json.MarshalIndent(s.Rounded(), "", " ")
	if err != nil {
		return nil, fmt.Errorf("truth of %s: %w", name, err)
	}
	return []File{{name + ".csv.gz", csv.Bytes()}, {"truth-" + name + ".json", append(truth, '\n')}}, nil
}
