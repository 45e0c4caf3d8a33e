// Package capture records what a travel sensor sends over a serial port into a log that survives a crash.
//
// The log holds the bytes as they came, in the order in which they came, and between them frames of the host: notes, wall
// times, gaps and marks (firmware-protocol/spec.md). Host frames stand only where a frame or line of the device has ended.
// Each piece goes to the file as it comes, and the file is synced once a second: when the program is
// killed nothing that reached the file is lost, and when the power fails at most the last second is.
//
// A board in text mode is recorded in the same way: its lines as they came, with host frames between them. The reader
// (ingest/wirelog) takes the host frames out and reads the lines that remain.
package capture
