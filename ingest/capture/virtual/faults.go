package virtual

import (
	"math"
	"math/rand/v2"
	"time"
)

// Faults are what goes wrong between the sensor and the computer. The zero value is a good line.
type Faults struct {
	Seed      uint64
	BitErrors float64 // share of bits that flip
	Drop      float64 // share of frames or lines that vanish
	Duplicate float64 // share that come twice
	Swap      float64 // share that come after the one that follows them
	// StallEvery and ResetEvery are device times between two faults, 0: never. A stalled device misses samples for StallFor.
	// A reset cuts off the frame under way.
	StallEvery, StallFor, ResetEvery time.Duration
}

// A line is the way from the device to the port.
type line struct {
	f       Faults
	rng     *rand.Rand
	late    []byte  // a frame that was overtaken
	toFlip  float64 // bits until the next one flips
	changed int     // bits flipped
}

func newLine(f Faults) *line {
	l := &line{f: f, rng: rand.New(rand.NewPCG(f.Seed, 0x6C696E65))}
	l.toFlip = l.gap()
	return l
}

// gap draws how many bits come whole before one that flips: a geometric distribution.
func (l *line) gap() float64 {
	if l.f.BitErrors <= 0 {
		return math.Inf(1)
	}
	return math.Floor(math.Log(1-l.rng.Float64()) / math.Log1p(-min(l.f.BitErrors, 0.5)))
}

// pass appends to dst what comes out where frame goes in. It may change frame.
func (l *line) pass(dst, frame []byte) []byte {
	if l.rng.Float64() < l.f.Drop {
		return dst
	}
	if l.late == nil && l.rng.Float64() < l.f.Swap {
		l.late = frame
		return dst
	}
	dst = l.noise(dst, frame)
	if l.rng.Float64() < l.f.Duplicate {
		dst = l.noise(dst, frame)
	}
	if l.late != nil {
		dst = l.noise(dst, l.late)
		l.late = nil
	}
	return dst
}

// flush appends what is still on its way.
func (l *line) flush(dst []byte) []byte {
	if l.late != nil {
		dst = l.noise(dst, l.late)
		l.late = nil
	}
	return dst
}

// noise appends frame with some bits flipped.
func (l *line) noise(dst, frame []byte) []byte {
	start := len(dst)
	dst = append(dst, frame...)
	bits := float64(8 * len(frame))
	for l.toFlip < bits {
		at := int(l.toFlip)
		dst[start+at/8] ^= 1 << (at % 8)
		l.changed++
		l.toFlip += 1 + l.gap()
	}
	l.toFlip -= bits
	return dst
}
