// Package virtual is a travel sensor without hardware: it plays a track in the frames or the text lines of a real board,
// answers commands, and can be made to fail in the ways in which boards and cables fail.
//
// Device makes the bytes and knows no clock and no port; Serve plays it over a port in real time, faster, or as fast as the other
// side reads.
package virtual
