package ingest

import "time"

// A Fix is one position that a satellite receiver wrote down.
type Fix struct {
	TimeS   float64 // s from Track.Start, NaN where the recorder wrote no time
	LatDeg  float64 // WGS84, −90 to 90
	LonDeg  float64 // WGS84, −180 to under 180
	EleM    float64 // as written (above sea level or the ellipsoid, the recorder's choice), NaN where not known
	SpeedMS float64 // over ground, as the receiver itself measured it, NaN where not known
	// Piece counts up where reception was lost: no distance is added, and nothing is smoothed, across a change of it.
	Piece int
}

// A Track is where a run was ridden, as the recorder wrote it: no repair, no smoothing. Times of the fixes that have one rise.
type Track struct {
	Source string
	Start  time.Time // of TimeS 0, UTC; zero where the times are relative to the sensor log (columns of its CSV) or absent
	Fixes  []Fix
	// OnLogClock: TimeS is s from the first sample of the sensor log, because the positions came from its own columns.
	OnLogClock bool
	// Understood and Cautions are for people, as in Recording.
	Understood []string
	Cautions   []string
	Rows       RowCount // points met and left out
}
