// Package logbook keeps what was ridden, on which setup, and what came of it.
//
// A logbook is a folder:
//
//	logbook.sqlite      the book: bikes, forks, setups, trails, sessions, runs, figures, notes, services
//	recordings/         every recording (and track) that was filed, copied in whole, named by its SHA-256
//	entries/            one JSON document a run: all that the book says about it, in plain text
//
// Nothing filed is lost: a recording and its entry are on the disk, whole and synced, before the book says that the run
// is filed, and a run is filed in one transaction. A book that was damaged is made again from the entries (Rebuild). Two
// processes may use one logbook at a time; the second waits for the first.
//
// Figures are stored by key with the schema version and the definitions they were computed by, so that they can be
// computed again from the recordings when definitions change. SQL goes with bound parameters only.
package logbook
