package wire

import (
	"bytes"
	"encoding/hex"
	"errors"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func unhex(t testing.TB, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(s, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// seq returns the bytes first, first+1, … last.
func seq(first, last int) []byte {
	var b []byte
	for v := first; v <= last; v++ {
		b = append(b, byte(v))
	}
	return b
}

func join(parts ...[]byte) []byte { return bytes.Join(parts, nil) }

// cobsVectors are the common published pairs: the IP header from Cheshire and Baker 1999 (from memory), the others as quoted in
// the documents of several public COBS libraries, each checked by hand against the rule of the paper. longer is the form of an
// encoder that closes a block as soon as it is full, where it differs.
func cobsVectors(t testing.TB) []struct{ plain, stuffed, longer []byte } {
	ones := bytes.Repeat([]byte{1}, 254)
	ff, one := []byte{0xFF}, []byte{1}
	return []struct{ plain, stuffed, longer []byte }{
		{nil, one, nil},
		{[]byte{0}, unhex(t, "01 01"), nil},
		{[]byte{0, 0}, unhex(t, "01 01 01"), nil},
		{unhex(t, "00 11 00"), unhex(t, "01 02 11 01"), nil},
		{unhex(t, "11 22 00 33"), unhex(t, "03 11 22 02 33"), nil},
		{unhex(t, "11 22 33 44"), unhex(t, "05 11 22 33 44"), nil},
		{unhex(t, "11 00 00 00"), unhex(t, "02 11 01 01 01"), nil},
		{unhex(t, "45 00 00 2C 4C 79 00 00 40 06 4F 37"), unhex(t, "02 45 01 04 2C 4C 79 01 05 40 06 4F 37"), nil},
		{seq(1, 0xFD), join([]byte{0xFE}, seq(1, 0xFD)), nil},
		{seq(1, 0xFE), join(ff, seq(1, 0xFE)), join(ff, seq(1, 0xFE), one)},
		{seq(0, 0xFE), join(one, ff, seq(1, 0xFE)), join(one, ff, seq(1, 0xFE), one)},
		{seq(1, 0xFF), join(ff, seq(1, 0xFE), []byte{2, 0xFF}), nil},
		{join(seq(2, 0xFF), []byte{0}), join(ff, seq(2, 0xFF), []byte{1, 1}), nil},
		{join(seq(3, 0xFF), []byte{0, 1}), join([]byte{0xFE}, seq(3, 0xFF), []byte{2, 1}), nil},
		{join(ones, ones), join(ff, ones, ff, ones), join(ff, ones, ff, ones, one)},
		{join(ones, ones, one), join(ff, ones, ff, ones, []byte{2, 1}), nil},
		// The trap: a full block stands for no zero, so that the zero after it needs a block of its own.
		{join(ones, []byte{0}), join(ff, ones, []byte{1, 1}), nil},
	}
}

func TestStuffVectors(t *testing.T) {
	for _, v := range cobsVectors(t) {
		if got := AppendStuffed([]byte("kept"), v.plain); !bytes.Equal(got, append([]byte("kept"), v.stuffed...)) {
			t.Errorf("stuff %X = %X, want %X", v.plain, got[4:], v.stuffed)
		}
		for _, form := range [][]byte{v.stuffed, v.longer} {
			if form == nil {
				continue
			}
			if got, err := AppendUnstuffed([]byte("kept"), form); err != nil || !bytes.Equal(got, append([]byte("kept"), v.plain...)) {
				t.Errorf("unstuff %X = %X, %v, want %X", form, got[4:], err, v.plain)
			}
		}
	}
}

func TestUnstuffRefuses(t *testing.T) {
	for _, c := range []struct {
		stuffed []byte
		want    error
	}{
		{nil, errStuffedEmpty},
		{[]byte{0}, errStuffedZero},
		{[]byte{3, 0x11, 0}, errStuffedZero},
		{[]byte{2, 0x11, 0, 2, 0x22}, errStuffedZero},
		{[]byte{2}, errStuffedShort},
		{[]byte{5, 0x11, 0x22, 0x33}, errStuffedShort},
		{[]byte{1, 0xFF, 1, 2, 3}, errStuffedShort},
	} {
		got, err := AppendUnstuffed([]byte{7}, c.stuffed)
		if !errors.Is(err, c.want) || !bytes.Equal(got, []byte{7}) {
			t.Errorf("unstuff %X: %X, %v, want an untouched buffer and %v", c.stuffed, got, err, c.want)
		}
	}
}

// zeroHeavy draws bytes with many zeros and long runs without any, the two things that COBS is about.
func zeroHeavy(t *rapid.T) []byte {
	var b []byte
	for range rapid.IntRange(0, 12).Draw(t, "parts") {
		switch rapid.IntRange(0, 2).Draw(t, "part") {
		case 0:
			b = append(b, make([]byte, rapid.IntRange(1, 5).Draw(t, "zeros"))...)
		case 1:
			b = append(b, bytes.Repeat([]byte{rapid.ByteRange(1, 255).Draw(t, "byte")}, rapid.IntRange(250, 258).Draw(t, "run"))...)
		case 2:
			b = append(b, rapid.SliceOfN(rapid.Byte(), 0, 40).Draw(t, "bytes")...)
		}
	}
	return b
}

func TestStuffProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		plain := zeroHeavy(t)
		stuffed := AppendStuffed(nil, plain)
		if bytes.IndexByte(stuffed, 0) >= 0 {
			t.Fatalf("a zero in %X", stuffed)
		}
		if most := max(1+len(plain), len(plain)+(len(plain)+253)/254); len(stuffed) > most {
			t.Fatalf("%d bytes became %d, want at most %d", len(plain), len(stuffed), most)
		}
		if got, err := AppendUnstuffed(nil, stuffed); err != nil || !bytes.Equal(got, plain) {
			t.Fatalf("unstuff(stuff(x)): %v, %X, want %X", err, got, plain)
		}
	})
}

func FuzzUnstuff(f *testing.F) {
	for _, v := range cobsVectors(f) {
		f.Add(v.stuffed)
		f.Add(v.plain)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		if plain, err := AppendUnstuffed(nil, b); err == nil {
			// What decodes is one of the two forms of its data.
			short := AppendStuffed(nil, plain)
			if !bytes.Equal(b, short) && !bytes.Equal(b, append(short, 1)) {
				t.Errorf("%X decodes to %X, whose form is %X", b, plain, short)
			}
		}
		if got, err := AppendUnstuffed(nil, AppendStuffed(nil, b)); err != nil || !bytes.Equal(got, b) {
			t.Errorf("unstuff(stuff(%X)) = %X, %v", b, got, err)
		}
	})
}
