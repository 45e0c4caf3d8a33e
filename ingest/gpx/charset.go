package gpx

import (
	"fmt"
	"io"
	"strings"

	"stanchion/ingest"
)

// charset reads the few single-byte encodings that an XML declaration may name beside UTF-8. Windows-1252 differs from Latin-1
// in characters that stand in names only, which are not read.
func charset(name string, in io.Reader) (io.Reader, error) {
	switch strings.ToLower(name) {
	case "us-ascii", "ascii":
		return in, nil
	case "iso-8859-1", "latin1", "iso-8859-15", "windows-1252":
		return &latin1{in: in.(io.ByteReader)}, nil
	}
	return nil, ingest.Hinted{Err: fmt.Errorf("text encoding %s is not read", short(name)), Hint: "save the file as UTF-8"}
}

// latin1 turns Latin-1 into UTF-8.
type latin1 struct {
	in   io.ByteReader
	next byte // second byte of a character, 0 = none
}

// ReadByte returns the next byte of UTF-8.
func (l *latin1) ReadByte() (byte, error) {
	if l.next != 0 {
		b := l.next
		l.next = 0
		return b, nil
	}
	b, err := l.in.ReadByte()
	if err != nil || b < 0x80 {
		return b, err
	}
	l.next = 0x80 | b&0x3f
	return 0xc0 | b>>6, nil
}

// Read is there for the decoder's type only.
func (l *latin1) Read(p []byte) (int, error) {
	if len(p) == 0 {
		return 0, nil
	}
	b, err := l.ReadByte()
	if err != nil {
		return 0, err
	}
	p[0] = b
	return 1, nil
}
