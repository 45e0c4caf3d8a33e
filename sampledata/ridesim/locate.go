package ridesim

import "stanchion/ingest"

// Locate wires the receiver to the logger: each sample carries the newest fix that has come in, repeated until the next. r must be the receiver
// that made the track. Where the next fix is overdue by half a period, and before the first, there is none.
func (l *Log) Locate(t *ingest.Track, r Receiver) {
	l.located = make([]*ingest.Fix, len(l.Tick))
	hold := 1.5/r.RateHz - 1e-9
	k := -1
	for i, ticks := range l.elapsed() {
		at := float64(ticks)*l.Sensor.tick() - r.ClockOffsetS // on the receiver's clock
		for k+1 < len(t.Fixes) && t.Fixes[k+1].TimeS <= at+1e-9 {
			k++
		}
		if k >= 0 && at-t.Fixes[k].TimeS < hold {
			l.located[i] = &t.Fixes[k]
		}
	}
}

// fixAt is the fix that sample i carries, nil where none.
func (l *Log) fixAt(i int) *ingest.Fix {
	if l.located == nil {
		return nil
	}
	return l.located[i]
}
