package wire

import (
	"bytes"
	"fmt"
	"io"
)

// WholeLength returns how many of the size bytes of a log are whole: up to and with the closing delimiter of the last whole
// frame. What follows is the torn rest of a frame, or damage; a last frame that lacks only its delimiter counts as whole.
// It reads backward from the end, 64 KiB at a time, and stops at the first whole frame it meets; 0 means that there is none.
//
// A log need not be cut to that length before more is appended: an encoder's opening zero byte ends the torn rest.
func WholeLength(log io.ReaderAt, size int64) (int64, error) {
	const block = 1 << 16
	// Neighbouring blocks share enough for a frame and its delimiters to lie whole in one of them.
	const shared = MaxEncoded + 2
	buf := make([]byte, block)
	for end := size; end > 0; {
		start := max(end-block, 0)
		b := buf[:end-start]
		if n, err := log.ReadAt(b, start); n < len(b) {
			return 0, fmt.Errorf("read log at byte %d: %w", start, err)
		}
		if n := lastWhole(b, start == 0, end == size); n > 0 {
			return start + int64(n), nil
		}
		if start == 0 {
			break
		}
		end = start + shared
	}
	return 0, nil
}

// lastWhole returns the length of b up to the end of the last whole frame in it. first and last say that b begins and ends where
// the log does, which serve as delimiters.
func lastWhole(b []byte, first, last bool) int {
	var d Decoder
	end := len(b)
	closed := last
	for {
		cut := bytes.LastIndexByte(b[:end], 0)
		if cut < 0 && !first {
			return 0
		}
		if _, _, ok := d.unwrap(b[cut+1 : end]); ok && closed {
			return min(end+1, len(b))
		}
		if cut < 0 {
			return 0
		}
		end, closed = cut, true
	}
}
