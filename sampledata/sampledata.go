// Package sampledata holds demo recordings of an invented fork on an invented trail, made by the simulator in ridesim
// (its truth is beside each), so that the product can be tried and tested without hardware.
//
// The files are made anew, byte for byte the same, by
//
//	go generate ./sampledata
package sampledata

import (
	"embed"
	"fmt"
	"io/fs"
)

//go:generate go run ./ridesim/makedemo

//go:embed *.csv.gz *.gpx *.json fork.toml gates.toml
var files embed.FS

// A File is an embedded demo file.
type File struct {
	Name        string
	Description string // one line, for people
}

// Files lists the demo files in the order in which a newcomer should meet them.
func Files() []File {
	return []File{
		{"fork.toml", "the fork and the sensor calibration that all recordings share"},
		{"enduro-run-a.csv.gz", "three-minute descent at 1 kHz, sound setting: flow, rough ground, rocks, braking bumps, jumps, a drop, bottom-outs"},
		{"enduro-run-a.gpx", "where run A went, at 5 Hz, with a satellite receiver's errors and on its own clock"},
		{"enduro-run-b.csv.gz", "the same descent with the rebound adjuster four clicks further in"},
		{"enduro-run-b.gpx", "where run B went; reception was lost once"},
		{"gates.toml", "where time is taken on the trail: start, two splits, finish"},
		{"sag.csv.gz", "standing sag log with two settles: pushed down and let up, lifted and let down"},
		{"noisy-500hz.csv.gz", "short ride through a poor logger: 500 Hz, noise, jitter, lost samples, spikes, decimal commas"},
		{"truth-enduro-run-a.json", "what really happened in run A"},
		{"truth-enduro-run-b.json", "what really happened in run B"},
		{"truth-sag.json", "true static sag and friction band of the sag log"},
		{"truth-noisy-500hz.json", "what really happened in the noisy ride"},
	}
}

// FS is the embedded files, read-only.
func FS() fs.FS { return files }

// Open opens an embedded file by name. The caller closes it.
func Open(name string) (fs.File, error) {
	f, err := files.Open(name)
	if err != nil {
		return nil, fmt.Errorf("demo file %q: %w: the names are those of Files()", name, err)
	}
	return f, nil
}

// ReadFile returns the content of an embedded file, still compressed where its name ends in .gz.
func ReadFile(name string) ([]byte, error) {
	b, err := files.ReadFile(name)
	if err != nil {
		return nil, fmt.Errorf("demo file %q: %w: the names are those of Files()", name, err)
	}
	return b, nil
}
