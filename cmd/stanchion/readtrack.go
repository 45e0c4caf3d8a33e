package main

import (
	"slices"
	"strings"

	"stanchion/ingest"
	"stanchion/ingest/fit"
	"stanchion/ingest/gpx"
)

// trackEndings are those of files with a track.
func trackEndings() []string { return []string{".gpx", ".gpx.gz", ".fit", ".fit.gz"} }

// isTrack says whether a file is a track by its ending.
func isTrack(path string) bool {
	return slices.ContainsFunc(trackEndings(), func(end string) bool { return strings.HasSuffix(strings.ToLower(path), end) })
}

// readTrack reads the track of a file: FIT by its ending, GPX otherwise.
func readTrack(path string) (*ingest.Track, error) {
	if name := strings.ToLower(path); strings.HasSuffix(name, ".fit") || strings.HasSuffix(name, ".fit.gz") {
		return fit.Read(path, fit.Options{})
	}
	return gpx.Read(path, gpx.Options{})
}
