package wire

import "io"

// A Reader reads frames from an io.Reader, such as a log file.
type Reader struct {
	src    io.Reader
	dec    Decoder
	buf    []byte
	unread []byte
	end    error // of src
	closed bool
}

// NewReader returns a Reader of src. It reads ahead by up to 64 KiB.
func NewReader(src io.Reader) *Reader { return &Reader{src: src, buf: make([]byte, 1<<16)} }

// Next returns the next whole frame, and io.EOF after the last one. The frame holds until the next call. A read that fails
// ends the stream: frames received before it come first, then the error.
func (r *Reader) Next() (*Frame, error) {
	for {
		for len(r.unread) > 0 {
			var f *Frame
			if f, r.unread = r.dec.Next(r.unread); f != nil {
				return f, nil
			}
		}
		if r.end != nil {
			return r.last()
		}
		var n int
		n, r.end = r.src.Read(r.buf)
		r.unread = r.buf[:n]
	}
}

// last returns the frame that lacks only its closing delimiter, if there is one, and after it how the stream ended.
func (r *Reader) last() (*Frame, error) {
	if !r.closed {
		r.closed = true
		if f := r.dec.Close(); f != nil {
			return f, nil
		}
	}
	return nil, r.end
}

// Losses returns what was received and what was lost so far.
func (r *Reader) Losses() Losses { return r.dec.Losses() }
