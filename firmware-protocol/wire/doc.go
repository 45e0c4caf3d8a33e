// Package wire encodes and decodes the frames that a travel sensor sends and that a sensor log holds.
//
// The format is described byte by byte in firmware-protocol/spec.md. In short: a frame is a 9-byte header, a payload and
// a CRC-32C, stuffed by COBS, with a zero byte before and after it. A log is the stream of frames as it was received.
//
// An Encoder appends frames to a buffer of the caller. A Decoder takes bytes in any split, finds its way back after any
// damage, and counts what was lost: see Losses. A Reader does the same over an io.Reader, and WholeLength tells
// how much of a torn log is whole. A LineDecoder reads the plain text mode of the simplest boards.
//
// # Memory
//
// A Decoder takes about 16 KiB and a LineDecoder about 1 KiB, whatever the input. Neither allocates for a samples
// frame or a text row; a hello allocates its names, a note or comment its text.
package wire
