package logbook

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"time"

	"stanchion/ingest"
)

// A NewRun is a run to be filed.
type NewRun struct {
	Recording string // path of the log
	Track     string // path of a track beside it, "" where there is none
	Name      string // "" = that of the file
	Bike      string
	Fork      Fork
	ForkFile  string // text of the fork file
	Trail     string
	Session   string    // "" = the day it was ridden
	RiddenAt  time.Time // zero: now
	Setup     Setup
	Note      string
	Figures   Figures
}

// A FiledError says that the recording is in the book already.
type FiledError struct{ Run Run }

// Error names the run.
func (e FiledError) Error() string {
	return fmt.Sprintf("%s is filed already: run %d (%s)", e.Run.File, e.Run.ID, e.Run.Name)
}

// Add files a run: the recording is copied in whole, an entry is written beside the book, and then the run appears in the book. Where
// anything fails nothing appears. A recording that is in the book already gives a FiledError.
func (b *Logbook) Add(ctx context.Context, n NewRun) (Run, error) {
	run := Run{File: filepath.Base(n.Recording), Name: n.Name, Bike: n.Bike, Fork: n.Fork, ForkFile: n.ForkFile, Trail: n.Trail, Session: n.Session,
		RiddenAt: n.RiddenAt.UTC().Truncate(time.Millisecond), AddedAt: b.now().UTC().Truncate(time.Millisecond), Setup: n.Setup.Clone(),
		DurationS: n.Figures.DurationS, RidingS: n.Figures.RidingS, SchemaVersion: n.Figures.SchemaVersion, Definitions: n.Figures.Definitions}
	if n.RiddenAt.IsZero() {
		run.RiddenAt = run.AddedAt
	}
	if run.Name == "" {
		run.Name = run.File[:len(run.File)-len(trimmable(run.File))]
	}
	if run.Session == "" {
		run.Session = run.RiddenAt.Format(time.DateOnly)
	}
	if n.Note != "" {
		run.Notes = []Note{{At: run.AddedAt, Text: n.Note}}
	}
	var err error
	if run.Hash, run.Bytes, err = b.keep(ctx, n.Recording); err != nil {
		return Run{}, err
	}
	if n.Track != "" {
		run.TrackFile = filepath.Base(n.Track)
		if run.TrackHash, _, err = b.keep(ctx, n.Track); err != nil {
			return Run{}, err
		}
	}
	return b.file(ctx, entry{Run: run, Figures: slices.Clone(n.Figures.List)})
}

// trimmable is the known ending of a name, so that "a.csv.gz" is named "a".
func trimmable(name string) string {
	if e := ending(name); e != ".log" {
		return name[len(name)-len(e):]
	}
	return filepath.Ext(name)
}

// file puts a run whose files are in place into the book.
func (b *Logbook) file(ctx context.Context, e entry) (Run, error) {
	if err := e.Run.check(); err != nil {
		return Run{}, ingest.Hinted{Err: fmt.Errorf("file %s: %w", e.Run.File, err), Hint: "correct it and file the run again; nothing was changed"}
	}
	slices.SortFunc(e.Figures, func(x, y Figure) int { return cmp.Compare(x.Key, y.Key) })
	err := b.change(ctx, func(tx *sql.Tx) error {
		have, err := one(ctx, tx, "run.hash = ?", e.Run.Hash)
		switch {
		case err == nil:
			return FiledError{have}
		case !errors.Is(err, ErrNoRun):
			return err
		}
		if e.Run.ID, err = insertRun(ctx, tx, &e); err != nil {
			return err
		}
		if err := b.saveShelf(ctx, tx); err != nil {
			return err
		}
		return b.writeEntry(e) // last before the commit: an entry too many does no harm
	})
	return e.Run, err
}

func insertRun(ctx context.Context, tx *sql.Tx, e *entry) (int64, error) {
	r := &e.Run
	keys, err := keysOf(ctx, tx, r)
	if err != nil {
		return 0, err
	}
	res, err := tx.ExecContext(ctx, `INSERT INTO run (hash, file, bytes, track_hash, track_file, name, fork_id, setup_id, calibration_id, trail_id, session_id,
		ridden_at, added_at, duration_s, riding_s, schema_version, definitions) VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)`,
		r.Hash, r.File, r.Bytes, r.TrackHash, r.TrackFile, r.Name, keys.fork, keys.setup, keys.calibration, keys.trail, keys.session,
		toMS(r.RiddenAt), toMS(r.AddedAt), r.DurationS, r.RidingS, r.SchemaVersion, r.Definitions)
	if err != nil {
		return 0, err
	}
	id, err := res.LastInsertId()
	if err != nil {
		return 0, err
	}
	for _, n := range r.Notes {
		if _, err := tx.ExecContext(ctx, "INSERT INTO note (run_id, at, text) VALUES (?,?,?)", id, toMS(n.At), n.Text); err != nil {
			return 0, err
		}
	}
	return id, insertFigures(ctx, tx, id, e.Figures)
}

func insertFigures(ctx context.Context, tx *sql.Tx, id int64, list []Figure) error {
	put, err := tx.PrepareContext(ctx, "INSERT INTO figure (key, run_id, value, n, absent) VALUES (?,?,?,?,?)")
	if err != nil {
		return err
	}
	defer put.Close()
	for _, f := range list {
		if _, err := put.ExecContext(ctx, f.Key, id, f.Value, f.N, f.Absent); err != nil {
			return fmt.Errorf("figure %s: %w", f.Key, err)
		}
	}
	return nil
}

// keys are the rows that a run points to.
type keys struct {
	fork, setup                 int64
	calibration, trail, session sql.NullInt64
}

// keysOf finds the rows that a run points to and makes those that are not there yet.
func keysOf(ctx context.Context, tx *sql.Tx, r *Run) (keys, error) {
	var k keys
	var err error
	if k.fork, err = forkRow(ctx, tx, r.Fork, r.Bike); err != nil {
		return k, err
	}
	if k.setup, err = setupRow(ctx, tx, k.fork, r.Setup); err != nil {
		return k, err
	}
	if k.trail, err = named(ctx, tx, "INSERT INTO trail (name) VALUES (?) ON CONFLICT DO NOTHING", "SELECT id FROM trail WHERE name = ?", r.Trail); err != nil {
		return k, err
	}
	if k.session, err = named(ctx, tx, "INSERT INTO session (name) VALUES (?) ON CONFLICT DO NOTHING", "SELECT id FROM session WHERE name = ?", r.Session); err != nil {
		return k, err
	}
	if r.ForkFile != "" {
		if _, err := tx.ExecContext(ctx, "INSERT INTO calibration (fork_id, content, at) VALUES (?,?,?) ON CONFLICT DO NOTHING", k.fork, r.ForkFile, toMS(r.AddedAt)); err != nil {
			return k, err
		}
		k.calibration.Valid = true
		err = tx.QueryRowContext(ctx, "SELECT id FROM calibration WHERE fork_id = ? AND content = ?", k.fork, r.ForkFile).Scan(&k.calibration.Int64)
	}
	return k, err
}

// named is the row of a name, made where it is not there. No name has no row.
func named(ctx context.Context, tx *sql.Tx, insert, find, name string) (sql.NullInt64, error) {
	if name == "" {
		return sql.NullInt64{}, nil
	}
	if _, err := tx.ExecContext(ctx, insert, name); err != nil {
		return sql.NullInt64{}, err
	}
	id := sql.NullInt64{Valid: true}
	err := tx.QueryRowContext(ctx, find, name).Scan(&id.Int64)
	return id, err
}

// forkRow is the row of a fork. What is newly known about it is kept.
func forkRow(ctx context.Context, tx *sql.Tx, f Fork, bike string) (int64, error) {
	bikeID, err := named(ctx, tx, "INSERT INTO bike (name) VALUES (?) ON CONFLICT DO NOTHING", "SELECT id FROM bike WHERE name = ?", bike)
	if err != nil {
		return 0, err
	}
	_, err = tx.ExecContext(ctx, `INSERT INTO fork (name, travel_mm, head_angle_deg, bike_id) VALUES (?,?,?,?) ON CONFLICT (name) DO UPDATE SET
		travel_mm = excluded.travel_mm, head_angle_deg = max(head_angle_deg, excluded.head_angle_deg), bike_id = coalesce(excluded.bike_id, bike_id)`,
		f.Name, f.TravelMM, f.HeadAngleDeg, bikeID)
	if err != nil {
		return 0, err
	}
	var id int64
	err = tx.QueryRowContext(ctx, "SELECT id FROM fork WHERE name = ?", f.Name).Scan(&id)
	return id, err
}

func setupRow(ctx context.Context, tx *sql.Tx, fork int64, s Setup) (int64, error) {
	content, err := s.canonical()
	if err != nil {
		return 0, err
	}
	if _, err := tx.ExecContext(ctx, "INSERT INTO setup (fork_id, content) VALUES (?,?) ON CONFLICT DO NOTHING", fork, content); err != nil {
		return 0, err
	}
	var id int64
	err = tx.QueryRowContext(ctx, "SELECT id FROM setup WHERE fork_id = ? AND content = ?", fork, content).Scan(&id)
	return id, err
}
