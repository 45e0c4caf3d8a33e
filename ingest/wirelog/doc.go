// Package wirelog reads the logs that a sensor's frames or text lines were recorded into (firmware-protocol/spec.md) as
// a Recording.
//
// Damage costs only the frames that it hit. What is missing becomes a hole in the stamps, for ingest.Prepare to bridge or to split
// at. Frames that came late are put in their place. Where the device was reset its clock begins again: the new section is moved behind
// the one before, by the wall times in the log where it has them.
package wirelog
