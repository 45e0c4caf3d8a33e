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

// A Report is what a line did to the frames.
type Report struct {
	Frames int // sent by the device
	// Harmed are the frames of which no whole copy came through, in the order in which they were sent.
	Harmed []ID
	Bits   int // flipped
}

// A line is the way from the device to the port.
type line struct {
	f      Faults
	rng    *rand.Rand
	late   *frame  // that was overtaken
	toFlip float64 // bits until the next one flips
	report Report
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

// pass appends to dst what comes out where f goes in.
func (l *line) pass(dst []byte, f frame) []byte {
	l.report.Frames++
	if l.rng.Float64() < l.f.Drop {
		l.harm(f)
		return dst
	}
	if l.late == nil && l.rng.Float64() < l.f.Swap {
		l.late = &f
		return dst
	}
	dst, whole := l.noise(dst, f.bytes)
	if l.rng.Float64() < l.f.Duplicate {
		var again bool
		dst, again = l.noise(dst, f.bytes)
		whole = whole || again
	}
	if !whole {
		l.harm(f)
	}
	return l.flush(dst)
}

func (l *line) harm(f frame) { l.report.Harmed = append(l.report.Harmed, f.ID) }

// flush appends the frame that was overtaken.
func (l *line) flush(dst []byte) []byte {
	if l.late == nil {
		return dst
	}
	dst, whole := l.noise(dst, l.late.bytes)
	if !whole {
		l.harm(*l.late)
	}
	l.late = nil
	return dst
}

// noise appends frame with some bits flipped, and tells whether none was.
func (l *line) noise(dst, frame []byte) (out []byte, whole bool) {
	start := len(dst)
	dst = append(dst, frame...)
	bits := float64(8 * len(frame))
	whole = l.toFlip >= bits
	for l.toFlip < bits {
		at := int(l.toFlip)
		dst[start+at/8] ^= 1 << (at % 8)
		l.report.Bits++
		l.toFlip += 1 + l.gap()
	}
	l.toFlip -= bits
	return dst, whole
}
