package main

import (
	"context"

	"stanchion/ingest"
	"stanchion/ingest/csvlog"
	"stanchion/ingest/wirelog"
)

// readLog reads a log of either kind; what is in it decides. progress, where not nil, is told how many bytes are read.
func readLog(ctx context.Context, path string, opt csvlog.Options, progress func(done int64)) (*ingest.Recording, error) {
	frames, err := wirelog.Detect(path)
	if err == nil && frames {
		return wirelog.Read(ctx, path, wirelog.Options{Progress: progress})
	}
	// A file that cannot be opened is for this reader to complain about.
	if progress != nil {
		opt.Progress = func(done, _ int64) { progress(done) }
	}
	return csvlog.Read(ctx, path, opt)
}
