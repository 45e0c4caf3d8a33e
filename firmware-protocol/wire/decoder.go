package wire

import (
	"bytes"
	"encoding/binary"
)

// A Decoder finds the frames in a stream of bytes. The zero value is ready to use. It is not safe for use by several goroutines
// at once.
//
// Any damage costs the frames whose own bytes were hit (delimiters included) and no other: each zero byte is a fresh start.
type Decoder struct {
	read    int64                // bytes of the stream taken so far
	started int64                // offset at which the piece under way began
	held    int                  // bytes of that piece in hold
	hold    [MaxEncoded + 1]byte // full means: longer than any frame
	raw     [MaxEncoded]byte
	damage  Damage
	account account
	frame   Frame
	known   messages
}

// messages are the values that frames are parsed into, one of each type, used again and again.
type messages struct {
	hello    Hello
	samples  Samples
	marker   Marker
	status   Status
	end      End
	reply    Reply
	identify Identify
	start    Start
	stop     Stop
	setRate  SetRate
	mark     Mark
	hostTime HostTime
	hostGap  HostGap
	hostNote HostNote
	other    Other
}

func (m *messages) of(t Type) Message {
	switch t {
	case TypeHello:
		return &m.hello
	case TypeSamples:
		return &m.samples
	case TypeMarker:
		return &m.marker
	case TypeStatus:
		return &m.status
	case TypeEnd:
		return &m.end
	case TypeReply:
		return &m.reply
	case TypeIdentify:
		return &m.identify
	case TypeStart:
		return &m.start
	case TypeStop:
		return &m.stop
	case TypeSetRate:
		return &m.setRate
	case TypeMark:
		return &m.mark
	case TypeHostTime:
		return &m.hostTime
	case TypeHostGap:
		return &m.hostGap
	case TypeHostNote:
		return &m.hostNote
	}
	m.other.Kind = t
	return &m.other
}

// Next takes bytes from p until a frame is whole, and returns the frame and the bytes after it. Where p ends first the frame
// is nil, and the frame under way is kept for the next call:
//
//	for len(p) > 0 {
//		var f *wire.Frame
//		if f, p = d.Next(p); f != nil {
//			// use f
//		}
//	}
//
// The frame and its message belong to the Decoder and hold until the next call; copy what is to stay. A duplicate is
// counted and not returned.
func (d *Decoder) Next(p []byte) (*Frame, []byte) {
	for len(p) > 0 {
		i := bytes.IndexByte(p, 0)
		if i < 0 {
			d.keep(p)
			d.read += int64(len(p))
			return nil, nil
		}
		piece := p[:i]
		p = p[i+1:]
		if d.held > 0 {
			d.keep(piece)
			piece = d.hold[:d.held]
		}
		at, size := d.started, d.read+int64(i)-d.started
		d.read += int64(i) + 1
		d.damage.DelimiterBytes++
		fresh := d.accept(piece, at, size)
		d.started, d.held = d.read, 0
		if fresh {
			return &d.frame, p
		}
	}
	return nil, nil
}

// Close ends the stream. Where the bytes after the last delimiter are a whole frame that lacks only its delimiter it returns
// that frame, otherwise nil, and those bytes are counted as torn. The Decoder can then take a new stream of the same
// device: counts and offsets run on.
func (d *Decoder) Close() *Frame {
	at, size := d.started, d.read-d.started
	piece := d.hold[:d.held]
	d.started, d.held = d.read, 0
	if size == 0 {
		return nil
	}
	raw, sum, ok := d.unwrap(piece)
	if !ok {
		d.damage.TornBytes += size
		return nil
	}
	if d.deliver(raw, sum, at, size) {
		return &d.frame
	}
	return nil
}

// Losses returns what was received and what was lost so far.
func (d *Decoder) Losses() Losses {
	l := d.account.losses()
	l.Damage = d.damage
	l.Bytes = d.read
	return l
}

// keep holds the part of a piece that came so far, up to the length at which it cannot be a frame any more.
func (d *Decoder) keep(p []byte) {
	d.held += copy(d.hold[d.held:], p)
}

// accept takes the bytes between two delimiters, and reports whether d.frame is now a frame to return.
func (d *Decoder) accept(piece []byte, at, size int64) bool {
	if size == 0 {
		return false
	}
	if raw, sum, ok := d.unwrap(piece); ok {
		return d.deliver(raw, sum, at, size)
	}
	d.damage.Pieces++
	d.damage.PieceBytes += size
	return false
}

// unwrap undoes COBS and checks the CRC. It returns header and payload, and the CRC.
func (d *Decoder) unwrap(piece []byte) (raw []byte, sum uint32, ok bool) {
	if len(piece) > MaxEncoded {
		return nil, 0, false
	}
	raw, err := appendUnstuffed(d.raw[:0], piece)
	n := len(raw) - sumSize
	if err != nil || n < headerSize || len(raw) > MaxFrame {
		return nil, 0, false
	}
	sum = Checksum(raw[:n])
	return raw[:n], sum, sum == binary.LittleEndian.Uint32(raw[n:])
}

// deliver parses and accounts for a frame whose CRC is right.
func (d *Decoder) deliver(raw []byte, sum uint32, at, size int64) bool {
	f := &d.frame
	*f = Frame{Offset: at, Header: Header{
		Type:     Type(raw[0]),
		Session:  binary.LittleEndian.Uint32(raw[1:]),
		Sequence: binary.LittleEndian.Uint32(raw[5:]),
	}}
	d.damage.FrameBytes += size
	m := d.known.of(f.Type)
	if f.Err = m.parsePayload(raw[headerSize:]); f.Err == nil {
		f.Message = m
	}
	return d.account.add(f, sum)
}
