package wire

import (
	"bytes"
	"encoding/binary"
	"slices"
	"testing"
)

// Check values of CRC-32C: the first is from the Catalogue of parametrised CRC algorithms (G. Cook), the 32-byte ones are from
// RFC 3720, appendix B.4 (the descending one and the three of one or no byte from memory, computed bit by bit below). Exact.
func TestChecksumVectors(t *testing.T) {
	down := seq(0, 0x1F)
	slices.Reverse(down)
	for _, c := range []struct {
		in   []byte
		want uint32
	}{
		{[]byte("123456789"), 0xE3069283},
		{nil, 0},
		{[]byte{0}, 0x527D5351},
		{[]byte("A"), 0xE16DCDEE},
		{make([]byte, 32), 0x8A9136AA},
		{bytes.Repeat([]byte{0xFF}, 32), 0x62A8AB43},
		{seq(0, 0x1F), 0x46DD794E},
		{down, 0x113FDB5C},
	} {
		if got := Checksum(c.in); got != c.want {
			t.Errorf("Checksum(%X) = %08X, want %08X", c.in, got, c.want)
		}
		if got := slowChecksum(c.in); got != c.want {
			t.Errorf("bit by bit: %X: %08X, want %08X", c.in, got, c.want)
		}
		// Over a message and its CRC, low byte first, the CRC is a constant.
		if got := Checksum(binary.LittleEndian.AppendUint32(slices.Clone(c.in), c.want)); got != 0x48674BC7 {
			t.Errorf("residue after %X = %08X, want 48674BC7", c.in, got)
		}
	}
}

// slowChecksum is CRC-32C from its definition: poly 1EDC6F41, which is 82F63B78 with its bits reversed.
func slowChecksum(b []byte) uint32 {
	sum := ^uint32(0)
	for _, v := range b {
		sum ^= uint32(v)
		for range 8 {
			sum = sum>>1 ^ 0x82F63B78*(sum&1)
		}
	}
	return ^sum
}
