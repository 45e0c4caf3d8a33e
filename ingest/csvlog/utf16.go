package csvlog

import (
	"bufio"
	"io"
	"unicode/utf16"
	"unicode/utf8"
)

// A utf16Reader turns UTF-16 into UTF-8. Halves of pairs without the other half become U+FFFD.
type utf16Reader struct {
	r    *bufio.Reader
	big  bool
	rest []byte // UTF-8 that did not fit, in buf
	buf  [utf8.UTFMax]byte
	held rune // unit read too early
	has  bool
}

func (u *utf16Reader) Read(p []byte) (int, error) {
	n := copy(p, u.rest)
	u.rest = u.rest[n:]
	for n < len(p) {
		c, err := u.next()
		if err != nil {
			if n > 0 && err == io.EOF {
				return n, nil
			}
			return n, err
		}
		if c < utf8.RuneSelf {
			p[n] = byte(c)
			n++
			continue
		}
		size := utf8.EncodeRune(u.buf[:], c)
		k := copy(p[n:], u.buf[:size])
		u.rest = u.buf[k:size]
		n += k
	}
	return n, nil
}

// next returns the next character.
func (u *utf16Reader) next() (rune, error) {
	c, err := u.unit()
	if err != nil || !utf16.IsSurrogate(c) {
		return c, err
	}
	low, err := u.unit()
	if err != nil {
		return utf8.RuneError, nil // the error comes again at the next read
	}
	pair := utf16.DecodeRune(c, low)
	if pair == utf8.RuneError {
		u.held, u.has = low, true
	}
	return pair, nil
}

// unit returns the next 16 bits. A single last byte is left out.
func (u *utf16Reader) unit() (rune, error) {
	if u.has {
		u.has = false
		return u.held, nil
	}
	a, err := u.r.ReadByte()
	if err != nil {
		return 0, err
	}
	b, err := u.r.ReadByte()
	if err != nil {
		return 0, err
	}
	if u.big {
		return rune(a)<<8 | rune(b), nil
	}
	return rune(b)<<8 | rune(a), nil
}

// looksUTF16 tells whether b could be UTF-16 without a byte-order mark: at least 8 bytes, and nearly every byte at the
// positions of parity zero is NUL while no other is.
func looksUTF16(b []byte, zero int) bool {
	if len(b) < 8 {
		return false
	}
	nul := 0
	for i, c := range b {
		switch {
		case c == 0 && i&1 == zero:
			nul++
		case c == 0:
			return false
		}
	}
	return nul*10 >= len(b)*4
}
