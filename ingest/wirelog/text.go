package wirelog

import (
	"fmt"
	"math"
	"strings"

	"stanchion/firmware-protocol/wire"
	"stanchion/ingest"
)

// text takes bytes of a log of text lines with host frames between them; nil ends it.
func (b *builder) text(p []byte) error {
	b.isText = true
	if p == nil {
		return b.endPiece()
	}
	for _, c := range p {
		if c == 0 {
			if err := b.endPiece(); err != nil {
				return err
			}
			continue
		}
		b.piece = append(b.piece, c)
		if len(b.piece) > 2*wire.MaxEncoded { // too long for a frame
			if err := b.feed(b.piece); err != nil {
				return err
			}
			b.piece = b.piece[:0]
		}
	}
	return nil
}

// endPiece takes the bytes between two zero bytes: a frame of the host, or text.
func (b *builder) endPiece() error {
	if len(b.piece) == 0 {
		return nil
	}
	b.piece = append(b.piece, 0)
	f, _ := b.dec.Next(b.piece)
	text := b.piece[:len(b.piece)-1]
	b.piece = b.piece[:0]
	if f != nil {
		b.host(f)
		return nil
	}
	return b.feed(text)
}

func (b *builder) feed(text []byte) error {
	for len(text) > 0 {
		var l *wire.Line
		if l, text = b.lines.Next(text); l == nil {
			return nil
		}
		switch l.Kind {
		case wire.LineRow:
			if err := b.row(l); err != nil {
				return err
			}
		case wire.LineHeader:
			b.names = l.Names
		case wire.LineBad:
			b.bad++
			if len(b.firstBad) < maxFirst {
				b.firstBad = append(b.firstBad, ingest.BadRow{Line: int(l.Number), Reason: l.Err.Error()})
			}
		}
	}
	return nil
}

// broken says that the stream broke off: a line that was under way is lost, and so may be the start of the next one.
func (b *builder) broken() {
	b.lines = wire.NewLineDecoder(true)
	b.lastStamp = math.NaN()
	b.lastSection = -1
}

func (b *builder) row(l *wire.Line) error {
	if len(b.values)+len(l.Values) > maxValues {
		return errTooMuch()
	}
	if l.Restart || len(b.sections) == 0 || b.lastSection < 0 {
		b.open(uint32(len(b.sections)))
	}
	at := len(b.sections) - 1
	stamp := float64(l.StampUS)
	b.heard(at, stamp)
	b.blocks = append(b.blocks, block{section: at, n: 1, channels: len(l.Values), at: len(b.values), stampUS: stamp})
	b.values = append(b.values, l.Values...)
	b.span(at, stamp, stamp, 1)
	b.rows++
	return nil
}

// textChannels describes the columns of a text log.
func (b *builder) textChannels() []wire.Channel {
	out := make([]wire.Channel, b.blocks[0].channels)
	for i := range out {
		c := &out[i]
		c.Name = fmt.Sprintf("column %d", i+2)
		if i+1 < len(b.names) {
			c.Name = b.names[i+1]
		}
		name, unit, found := strings.Cut(strings.TrimSuffix(c.Name, "]"), "[")
		if found {
			c.Name = strings.TrimSpace(name)
			c.Unit = unitNamed(unit)
		}
		if i == 0 {
			c.Kind = wire.KindTravel
			if !found && b.whole(0) {
				c.Unit = wire.UnitCounts
			}
		}
	}
	return out
}

// unitNamed is the inverse of unitName, with the long names of travel units.
func unitNamed(s string) wire.Unit {
	switch s {
	case "volts":
		return wire.UnitVolt
	case "percent":
		return wire.UnitPercent
	}
	for u := wire.UnitCounts; u <= wire.UnitRadianPerSecond; u++ {
		if unitName(u) == s {
			return u
		}
	}
	return wire.UnitNone
}

// whole tells whether all values of a column are whole numbers.
func (b *builder) whole(column int) bool {
	for _, k := range b.blocks {
		if column < k.channels && b.values[k.at+column] != math.Trunc(b.values[k.at+column]) {
			return false
		}
	}
	return true
}
