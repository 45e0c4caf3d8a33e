// Package gpx reads the track of a run from a GPX file (GPX 1.1, and 1.0 as far as it differs), plain or gzip.
//
// The file is read as a stream under bounds: bytes, points, depth and the length of one piece of markup. Document type
// declarations, and with them entities, are refused. Extensions are passed over, save for a speed, which GPX 1.1 has no
// element for. Points that cannot be used are left out, counted and named with their line.
package gpx
