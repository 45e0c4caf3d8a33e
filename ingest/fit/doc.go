// Package fit reads the track of a run from a FIT activity file, plain or gzip. The binary format is decoded by a library; this package bounds what
// it is given and turns its messages into a track. Points that cannot be used are left out and counted.
package fit
