package ridesim

import (
	"errors"
	"fmt"
	"io"
	"math"
)

// seamS is the time over which the end of a repeated ride passes into its beginning.
const seamS = 1.0

// WriteLong writes a log of the given length in s as CSV (PlainCSV), for trials on long recordings: it rides p once and then repeats
// the ride, the last second of each round passing smoothly into the first of the next, with stamps that run on. What
// the sensor did (losses, spikes, jitter) is repeated with it. DefaultParams is a good p.
func WriteLong(w io.Writer, p Params, seconds float64) error {
	if !(seconds > 0 && seconds <= 1e6) {
		return fmt.Errorf("long log: length is %g s: must be over 0 and at most a million", seconds)
	}
	log, _, err := Ride(p)
	if err != nil {
		return err
	}
	round, err := newRound(&log)
	if err != nil {
		return err
	}
	f := PlainCSV(p.Sensor.Unit)
	buf := f.header(make([]byte, 0, 1<<16))
	end := uint64(math.Round(seconds / p.Sensor.tick()))
	for i, done := 0, uint64(0); ; i++ {
		if i == len(round.reading) {
			i = 0
			done += round.ticks
		}
		at := done + round.elapsed[i]
		if at >= end {
			break
		}
		tick := p.Sensor.StartTick + at
		if p.Sensor.CounterBits > 0 {
			tick &= 1<<p.Sensor.CounterBits - 1
		}
		buf = f.row(f.fixed(buf, int64(tick), f.TimeDecimals), round.reading[i], round.speed[i], nil, "")
		if len(buf) > 1<<16-100 {
			if _, err := w.Write(buf); err != nil {
				return err
			}
			buf = buf[:0]
		}
	}
	_, err = w.Write(buf)
	return err
}

// round is a ride that joins its own beginning.
type round struct {
	elapsed        []uint64 // ticks since the first sample
	ticks          uint64   // of a whole round
	reading, speed []float64
}

func newRound(l *Log) (round, error) {
	seam := int(math.Round(seamS * l.Sensor.RateHz))
	n := len(l.Reading) - seam
	if n <= seam {
		return round{}, errors.New("long log: the ride to repeat is under 3 s: give it a longer course")
	}
	r := round{elapsed: l.elapsed(), reading: l.Reading[:n:n], speed: l.SpeedMS[:n:n]}
	r.ticks = r.elapsed[n]
	r.elapsed = r.elapsed[:n]
	for i := range seam {
		keep := smoothstep(float64(i) / float64(seam))
		r.reading[i] = keep*l.Reading[i] + (1-keep)*l.Reading[n+i]
		r.speed[i] = keep*l.SpeedMS[i] + (1-keep)*l.SpeedMS[n+i]
	}
	return r, nil
}
