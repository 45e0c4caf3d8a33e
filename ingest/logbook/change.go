package logbook

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"time"
)

// Change changes what the book says about a run: its name, bike, trail, session, time, setup or notes. The recording and the fork stay.
func (b *Logbook) Change(ctx context.Context, id int64, edit func(*Run) error) (Run, error) {
	var r Run
	err := b.change(ctx, func(tx *sql.Tx) error {
		was, err := one(ctx, tx, "run.id = ?", id)
		if err != nil {
			return err
		}
		r = was
		r.Setup, r.Notes = was.Setup.Clone(), append([]Note(nil), was.Notes...)
		if err := edit(&r); err != nil {
			return err
		}
		r.ID, r.Hash, r.File, r.Bytes, r.Fork, r.ForkFile, r.AddedAt = was.ID, was.Hash, was.File, was.Bytes, was.Fork, was.ForkFile, was.AddedAt
		r.TrackHash, r.TrackFile = was.TrackHash, was.TrackFile
		if err := r.check(); err != nil {
			return err
		}
		return b.save(ctx, tx, &r)
	})
	return r, err
}

// save writes all of a run but its figures again.
func (b *Logbook) save(ctx context.Context, tx *sql.Tx, r *Run) error {
	k, err := keysOf(ctx, tx, r)
	if err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, `UPDATE run SET name = ?, setup_id = ?, trail_id = ?, session_id = ?, ridden_at = ?, duration_s = ?, riding_s = ?,
		schema_version = ?, definitions = ? WHERE id = ?`,
		r.Name, k.setup, k.trail, k.session, toMS(r.RiddenAt), r.DurationS, r.RidingS, r.SchemaVersion, r.Definitions, r.ID)
	if err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, "DELETE FROM note WHERE run_id = ?", r.ID); err != nil {
		return err
	}
	for _, n := range r.Notes {
		if _, err := tx.ExecContext(ctx, "INSERT INTO note (run_id, at, text) VALUES (?,?,?)", r.ID, toMS(n.At), n.Text); err != nil {
			return err
		}
	}
	figures, err := figuresOf(ctx, tx, r.ID)
	if err != nil {
		return err
	}
	if err := b.saveShelf(ctx, tx); err != nil {
		return err
	}
	return b.writeEntry(entry{Run: *r, Figures: figures})
}

// AddNote writes a note about a run.
func (b *Logbook) AddNote(ctx context.Context, id int64, text string) (Run, error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return Run{}, errors.New("the note is empty")
	}
	return b.Change(ctx, id, func(r *Run) error {
		r.Notes = append(r.Notes, Note{At: b.now().UTC().Truncate(time.Millisecond), Text: text})
		return nil
	})
}

// PutFigures replaces the figures of a run by newly computed ones.
func (b *Logbook) PutFigures(ctx context.Context, id int64, f Figures) error {
	return b.change(ctx, func(tx *sql.Tx) error {
		r, err := one(ctx, tx, "run.id = ?", id)
		if err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, "DELETE FROM figure WHERE run_id = ?", id); err != nil {
			return err
		}
		if err := insertFigures(ctx, tx, id, f.List); err != nil {
			return err
		}
		r.SchemaVersion, r.Definitions, r.DurationS, r.RidingS = f.SchemaVersion, f.Definitions, f.DurationS, f.RidingS
		return b.save(ctx, tx, &r)
	})
}

// Stale lists the runs whose figures were computed by other definitions than these.
func (b *Logbook) Stale(ctx context.Context, schema int, definitions string) ([]Run, error) {
	all, err := b.Runs(ctx, Query{})
	if err != nil {
		return nil, err
	}
	var out []Run
	for _, r := range all {
		if r.SchemaVersion != schema || r.Definitions != definitions {
			out = append(out, r)
		}
	}
	return out, nil
}

// Mount says how the fork is set from now on. Runs that are filed later take it over.
func (b *Logbook) Mount(ctx context.Context, f Fork, bike string, s Setup) error {
	if strings.TrimSpace(f.Name) == "" {
		return errors.New("the fork has no name")
	}
	if err := s.check(); err != nil {
		return err
	}
	return b.change(ctx, func(tx *sql.Tx) error {
		fork, err := forkRow(ctx, tx, f, bike)
		if err != nil {
			return err
		}
		setup, err := setupRow(ctx, tx, fork, s)
		if err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, "INSERT INTO mounted (fork_id, setup_id, at) VALUES (?,?,?)", fork, setup, toMS(b.now())); err != nil {
			return err
		}
		return b.saveShelf(ctx, tx)
	})
}

// A Known fork is one of the book.
type Known struct {
	Fork
	Bike string
	Runs int
	id   int64
}

// Forks lists the forks of the book by name.
func (b *Logbook) Forks(ctx context.Context) ([]Known, error) {
	list, err := listForks(ctx, b.db)
	return list, b.wrap(err)
}

func listForks(ctx context.Context, q querier) ([]Known, error) {
	var out []Known
	err := each(ctx, q, func(rows *sql.Rows) error {
		var k Known
		err := rows.Scan(&k.id, &k.Name, &k.TravelMM, &k.HeadAngleDeg, &k.Bike, &k.Runs)
		out = append(out, k)
		return err
	}, `SELECT fork.id, fork.name, fork.travel_mm, fork.head_angle_deg, coalesce(bike.name, ''),
		(SELECT count(*) FROM run WHERE run.fork_id = fork.id) FROM fork LEFT JOIN bike ON bike.id = fork.bike_id ORDER BY fork.name`)
	return out, err
}

func forkID(ctx context.Context, q querier, name string) (int64, error) {
	var id int64
	err := q.QueryRowContext(ctx, "SELECT id FROM fork WHERE name = ?", name).Scan(&id)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, fmt.Errorf("no fork %q in the logbook", name)
	}
	return id, err
}

// Mounted is how the fork of that name is set now, as Mount was told last. Nothing known is the empty setup.
func (b *Logbook) Mounted(ctx context.Context, fork string) (Setup, error) {
	id, err := forkID(ctx, b.db, fork)
	if err != nil {
		return Setup{}, b.wrap(err)
	}
	s, err := mounted(ctx, b.db, id)
	if err != nil || s == nil {
		return Setup{}, b.wrap(err)
	}
	return *s, nil
}

// mounted is the last setup that was mounted, nil where there was none.
func mounted(ctx context.Context, q querier, fork int64) (*Setup, error) {
	var content string
	err := q.QueryRowContext(ctx, "SELECT setup.content FROM mounted JOIN setup ON setup.id = mounted.setup_id WHERE mounted.fork_id = ? ORDER BY mounted.id DESC LIMIT 1", fork).Scan(&content)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return decodeSetup(content)
}
