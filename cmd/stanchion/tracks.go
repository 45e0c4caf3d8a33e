package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"stanchion/analyze/trail"
	"stanchion/ingest"
)

// besideLog finds the track that has the name of a log and lies in a folder, "" where there is none.
func besideLog(log, dir string) (string, error) {
	for _, end := range trackEndings() {
		path := filepath.Join(dir, resultName(log)+end)
		if _, err := os.Stat(path); err == nil {
			return path, nil
		} else if !errors.Is(err, fs.ErrNotExist) {
			return "", fmt.Errorf("look for %s: %w", path, err)
		}
	}
	return "", nil
}

// A located run is a run with what is known of where it was ridden.
type locatedRun struct {
	file  string       // that was given
	track string       // file of the track, "" = the log itself
	path  *trail.Path  // nil where no positions are known
	marks []trail.Mark // of the log
	rows  string       // points that were left out, for people
}

// trackFiles finds the track file of every run; "" where the log itself must have the positions.
func trackFiles(runs, given []string) ([]string, error) {
	out := make([]string, len(runs))
	dir := ""
	if len(given) == 1 {
		if info, err := os.Stat(given[0]); err == nil && info.IsDir() {
			dir = given[0]
		}
	}
	if len(given) > 0 && dir == "" && len(given) != len(runs) {
		return nil, usagef("give one track for each log, in the order of the logs, or the folder in which they lie",
			"--gpx names %s for %s", counted(len(given), "track", "tracks"), counted(len(runs), "log", "logs"))
	}
	for i, run := range runs {
		switch {
		case isTrack(run) && len(given) > 0:
			return nil, usagef("give tracks alone, or logs with --gpx", "%s is a track itself", run)
		case isTrack(run):
			out[i] = run
		case dir != "":
			path, err := besideLog(run, dir)
			if err != nil {
				return nil, err
			}
			if path == "" {
				return nil, usagef("tracks have the names of their logs there: "+filepath.Join(dir, resultName(run)+".gpx"), "no track of %s in %s", run, dir)
			}
			out[i] = path
		case len(given) > 0:
			out[i] = given[i]
		default:
			path, err := besideLog(run, filepath.Dir(run))
			if err != nil {
				return nil, err
			}
			out[i] = path
		}
	}
	return out, nil
}

func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// locate reads where a run was ridden: from its track, or else from the log, which then also gives its markers.
func (p *pipeline) locate(ctx context.Context, file, track string) (*locatedRun, error) {
	r := &locatedRun{file: file, track: track}
	var t *ingest.Track
	if track != "" {
		var err error
		if t, err = readTrack(track); err != nil {
			return nil, err
		}
	} else {
		trace, err := p.trace(ctx, file)
		if err != nil {
			return nil, err
		}
		for _, m := range trace.Markers {
			r.marks = append(r.marks, trail.Mark{TimeS: m.TimeS, Label: m.Label})
		}
		own, ok := trail.FromChannels(trace)
		if !ok {
			return r, nil
		}
		t = &own
	}
	path, err := trail.Smooth(t, trail.DefaultSmoothOptions())
	if err != nil {
		return nil, fmt.Errorf("%s: %w", cmp.Or(track, file), err)
	}
	r.path = path
	if t.Rows.Bad > 0 {
		r.rows = fmt.Sprintf("%s: %d of %d points could not be used\n", cmp.Or(track, file), t.Rows.Bad, t.Rows.Data)
	}
	return r, ctx.Err()
}
