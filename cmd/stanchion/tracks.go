package main

import (
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
	log   *analysed    // what the fork did, nil where there is no log or it could not be analysed
	rows  string       // what was left out, for people
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

// locate reads where a run was ridden, and what its log says of the fork. A log that cannot be analysed does not stop the timing of its track.
func (p *pipeline) locate(ctx context.Context, file, track string) (*locatedRun, error) {
	r := &locatedRun{file: file, track: track}
	if !isTrack(file) {
		run, err := p.analyse(ctx, file)
		switch {
		case err == nil:
			r.log, r.path, r.rows = run, run.path, run.badPoints()
			for _, m := range run.result.Markers {
				r.marks = append(r.marks, trail.Mark{TimeS: m.TimeS, Label: m.Label})
			}
			return r, ctx.Err()
		case ctx.Err() != nil || track == "":
			return nil, err
		}
		r.rows = fmt.Sprintf("%v\n%s: timed by its track alone\n", err, file)
	}
	t, err := readTrack(track)
	if err != nil {
		return nil, err
	}
	if r.path, err = trail.Smooth(t, trail.DefaultSmoothOptions()); err != nil {
		return nil, fmt.Errorf("%s: %w", track, err)
	}
	r.rows += badPoints(track, t.Rows)
	return r, ctx.Err()
}

// badPoints tells about points of a track that were left out, "" where there were none.
func badPoints(file string, rows ingest.RowCount) string {
	if rows.Bad == 0 {
		return ""
	}
	return fmt.Sprintf("%s: %d of %d points could not be used\n", file, rows.Bad, rows.Data)
}
