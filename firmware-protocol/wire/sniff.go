package wire

// A Mode is how a device sends.
type Mode int

// The modes.
const (
	ModeUnknown Mode = iota
	ModeFrames
	ModeText
)

// SniffBytes is how much of a stream is worth looking at to find its mode. A frame is at most MaxEncoded bytes, so that a
// stream of frames shows a whole one by then, whatever the point at which it was joined.
const SniffBytes = 4096

// SniffRows is how many rows of text in a row make a stream text.
const SniffRows = 3

// Sniff tells in which mode a device sends, from the first bytes of the stream. One whole frame anywhere means frames, for no
// text passes its CRC; a board that prints while it starts may still speak in frames afterwards. Otherwise SniffRows rows of text,
// one straight after the other and not damaged, mean text. ModeUnknown means: wait for more, up to SniffBytes.
func Sniff(b []byte) Mode {
	var frames Decoder
	for p := b; len(p) > 0; {
		var f *Frame
		if f, p = frames.Next(p); f != nil {
			return ModeFrames
		}
	}
	if frames.Close() != nil {
		return ModeFrames
	}
	text := NewLineDecoder(true)
	rows := 0
	for p := b; len(p) > 0; {
		var l *Line
		l, p = text.Next(p)
		switch {
		case l == nil:
		case l.Kind == LineRow:
			if rows++; rows == SniffRows {
				return ModeText
			}
		case l.Kind == LineBad:
			rows = 0
		}
	}
	return ModeUnknown
}
