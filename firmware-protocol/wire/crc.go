package wire

import "hash/crc32"

// Checksum returns the CRC-32C of b: polynomial 1EDC6F41, initial value FFFFFFFF, input and output reflected,
// final exclusive-or FFFFFFFF. Its value over the ASCII text 123456789 is E3069283.
func Checksum(b []byte) uint32 {
	// MakeTable returns the one shared Castagnoli table, which the processor's own CRC instruction serves.
	return crc32.Checksum(b, crc32.MakeTable(crc32.Castagnoli))
}
