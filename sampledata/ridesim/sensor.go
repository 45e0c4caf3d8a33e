package ridesim

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"stanchion/ingest"
)

// Sensor is the travel sensor and its logger.
type Sensor struct {
	Seed   uint64  // of noise, jitter, losses and spikes
	RateHz float64 // nominal sample rate

	Unit     ingest.Unit // of Reading: counts are rounded to whole codes and held within the ADC's range
	ADCBits  int         // UnitCounts and UnitVolts: number of codes is 2^ADCBits; 0 = no quantisation
	AtZero   float64     // reading at zero travel, in Unit
	AtFull   float64     // reading at full travel, in Unit
	RangeV   float64     // UnitVolts: full scale of the ADC, V
	NoiseMM  float64     // RMS of white noise, mm of travel
	OffsetMM float64     // added to travel: the sensor sits this much off

	TickS       float64 // s per stamp unit, 0 = 1 µs
	CounterBits int     // the stamp counter wraps at this many bits, 0 = never
	StartTick   uint64  // counter value at the first sample
	JitterS     float64 // RMS of the sampling instant about the uniform grid (held within ±2.5 of it and 0.45 periods); the stamp tells the truth

	LostShare float64 // share of samples lost one by one
	LostRuns  int     // further runs of LostRunS lost, spread over the log
	LostRunS  float64
	Spikes    int // lone samples thrown off by about SpikeMM either way
	SpikeMM   float64

	SpeedHz float64 // the speed channel is renewed at this rate and held between, 0 = every sample
	SpeedMS float64 // its resolution, 0 = exact
}

// DefaultSensor is a 12-bit sensor at 1 kHz with low noise, a 32-bit µs counter, and neither losses nor spikes.
func DefaultSensor() Sensor {
	return Sensor{
		RateHz: 1000, Unit: ingest.UnitCounts, ADCBits: 12, AtZero: 310, AtFull: 3720, NoiseMM: 0.012,
		CounterBits: 32, StartTick: 5_000_000, JitterS: 4e-6, SpeedHz: 10, SpeedMS: 0.01,
	}
}

// CleanSensor logs true travel in mm at the given rate: no noise, no quantisation, perfect stamps.
func CleanSensor(rateHz float64) Sensor {
	return Sensor{RateHz: rateHz, Unit: ingest.UnitMM}
}

// Log is what the logger wrote: slices of equal length, one entry a sample that was not lost.
type Log struct {
	Sensor  Sensor
	Tick    []uint64  // stamps in units of Sensor.TickS, wrapped
	Reading []float64 // in Sensor.Unit
	SpeedMS []float64
	Markers []ingest.Marker
	// What the sensor did, for checks.
	Lost   int // samples
	Spiked []int

	located []*ingest.Fix // see Locate; nil or one a sample
}

func (s Sensor) tick() float64 { return orElse(s.TickS, 1e-6) }

// Read samples the truth.
func (s Sensor) Read(t *Truth) (Log, error) {
	if s.RateHz != t.RateHz {
		return Log{}, fmt.Errorf("sensor: rate is %g Hz, but the ride was simulated at %g Hz: simulate with this sensor", s.RateHz, t.RateHz)
	}
	if s.Unit == ingest.UnitCounts && (s.ADCBits < 1 || s.ADCBits > 24) {
		return Log{}, fmt.Errorf("sensor: counts with %d ADC bits: set ADCBits to 1 to 24", s.ADCBits)
	}
	rng := rand.New(rand.NewPCG(s.Seed, 0x73656e73))
	n := len(t.TravelMM)
	spike := s.spikes(n, rng)
	lost := s.lostRuns(n, rng)
	log := Log{Sensor: s}
	speedEvery := 1
	if s.SpeedHz > 0 {
		speedEvery = max(1, int(math.Round(s.RateHz/s.SpeedHz)))
	}
	jitterMax := min(2.5*s.JitterS, 0.45/s.RateHz)
	speed := 0.0
	for i := range n {
		jitter := clamp(s.JitterS*rng.NormFloat64(), jitterMax)
		if i == 0 {
			jitter = 0 // the counter starts with the first sample
		}
		noise := s.NoiseMM * rng.NormFloat64()
		drop := rng.Float64() < s.LostShare
		if i%speedEvery == 0 {
			speed = t.SpeedMS[i]
			if s.SpeedMS > 0 {
				speed = math.Round(speed/s.SpeedMS) * s.SpeedMS
			}
		}
		if (drop || lost[i]) && i > 0 && i < n-1 {
			log.Lost++
			continue
		}
		x := t.between(i, jitter) + noise + s.OffsetMM
		if k := spike[i]; k != 0 {
			x += k
			log.Spiked = append(log.Spiked, len(log.Reading))
		}
		log.Tick = append(log.Tick, s.stamp(float64(i)/s.RateHz+jitter))
		log.Reading = append(log.Reading, s.reading(x, t.Fork.TravelM*1000))
		log.SpeedMS = append(log.SpeedMS, speed)
	}
	return log, nil
}

// between is the true travel in mm at sample i plus dt seconds, by cubic Hermite interpolation of travel and velocity; at the
// very ends the cubic of the neighbouring interval is continued.
func (t *Truth) between(i int, dt float64) float64 {
	n := len(t.TravelMM)
	if dt == 0 || n < 2 {
		return t.TravelMM[i]
	}
	j := i + 1
	if (dt < 0 && i > 0) || j == n {
		j = i - 1
	}
	span := float64(j-i) / t.RateHz
	u := dt / span
	a, b := t.TravelMM[i], t.TravelMM[j]
	da, db := t.VelocityMMS[i]*span, t.VelocityMMS[j]*span
	return hermite(a, b, da, db, u)
}

// stamp is the counter at time s.
func (s Sensor) stamp(at float64) uint64 {
	ticks := s.StartTick + uint64(max(0, math.Round(at/s.tick())))
	if s.CounterBits > 0 {
		ticks &= 1<<s.CounterBits - 1
	}
	return ticks
}

// reading turns travel in mm into the sensor's unit.
func (s Sensor) reading(x, full float64) float64 {
	codes := math.Pow(2, float64(s.ADCBits))
	switch s.Unit {
	case ingest.UnitCounts:
		return max(0, min(codes-1, math.Round(s.AtZero+(s.AtFull-s.AtZero)*x/full)))
	case ingest.UnitVolts:
		v := s.AtZero + (s.AtFull-s.AtZero)*x/full
		if s.ADCBits == 0 {
			return v
		}
		step := s.RangeV / codes
		return max(0, min(codes-1, math.Round(v/step))) * step
	case ingest.UnitPercent:
		return 100 * x / full
	}
	return x
}

// spikes spreads the spikes evenly with a random shift, never at the very ends; the map holds mm to add.
func (s Sensor) spikes(n int, rng *rand.Rand) map[int]float64 {
	out := make(map[int]float64, s.Spikes)
	for k := range s.Spikes {
		at := int((float64(k) + 0.2 + 0.6*rng.Float64()) / float64(s.Spikes) * float64(n))
		size := s.SpikeMM * (0.7 + 0.6*rng.Float64())
		if rng.IntN(2) == 0 {
			size = -size
		}
		out[min(max(at, 1), n-2)] = size
	}
	return out
}

// lostRuns marks the samples of the lost runs.
func (s Sensor) lostRuns(n int, rng *rand.Rand) []bool {
	out := make([]bool, n)
	length := int(math.Round(s.LostRunS * s.RateHz))
	for k := range s.LostRuns {
		at := int((float64(k) + 0.2 + 0.6*rng.Float64()) / float64(s.LostRuns) * float64(n))
		for i := at; i < min(at+length, n); i++ {
			out[i] = true
		}
	}
	return out
}

// elapsed is the stamps as ticks since the first, wraps undone. A lawful log never steps by a whole counter range.
func (l *Log) elapsed() []uint64 {
	out := make([]uint64, len(l.Tick))
	for i := 1; i < len(out); i++ {
		step := l.Tick[i] - l.Tick[i-1]
		if l.Sensor.CounterBits > 0 {
			step &= 1<<l.Sensor.CounterBits - 1
		}
		out[i] = out[i-1] + step
	}
	return out
}

// Mark adds a marker at the first logged sample at or after time s from the first sample; at the last one where s is later.
func (l *Log) Mark(s float64, label string) {
	ticks := uint64(max(0, math.Round(s/l.Sensor.tick())))
	i, _ := slices.BinarySearch(l.elapsed(), ticks)
	l.Markers = append(l.Markers, ingest.Marker{Sample: min(i, len(l.Tick)-1), Label: label})
}

// Recording is the log as a reader would deliver it.
func (l *Log) Recording(source string) *ingest.Recording {
	kind := ingest.ClockElapsed
	if l.Sensor.CounterBits > 0 {
		kind = ingest.ClockCounter
	}
	stamps := make([]float64, len(l.Tick))
	for i, t := range l.Tick {
		stamps[i] = float64(t)
	}
	return &ingest.Recording{
		Source: source, Clock: ingest.Clock{Kind: kind, TickS: l.Sensor.tick()}, Stamps: stamps,
		Travel: l.Reading, Unit: l.Sensor.Unit, Markers: l.Markers,
		Extra: []ingest.Channel{{Name: "speed", Unit: "m/s", Values: l.SpeedMS}},
		Rows:  ingest.RowCount{Data: len(l.Reading)},
	}
}

// Setup is the fork and sensor description that belongs to the log of a ride on f.
func (l *Log) Setup(f Fork) ingest.Setup {
	s := ingest.Setup{
		Fork:   ingest.Fork{Name: "simulated fork", TravelMM: f.TravelM * 1000, HeadAngleDeg: f.HeadAngleDeg},
		Sensor: ingest.Sensor{Unit: l.Sensor.Unit, ADCBits: l.Sensor.ADCBits},
	}
	if l.Sensor.Unit == ingest.UnitCounts || l.Sensor.Unit == ingest.UnitVolts {
		s.Sensor.Method = ingest.CalibrateLinear
		s.Sensor.Points = []ingest.CalibrationPoint{
			{Reading: l.Sensor.AtZero, TravelMM: 0}, {Reading: l.Sensor.AtFull, TravelMM: f.TravelM * 1000},
		}
	}
	return s
}
