package logbook

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"stanchion/ingest"
)

// ErrNoRun is wrapped where a run is asked for that is not in the book.
var ErrNoRun = errors.New("no such run in the logbook")

// querier is a database or a transaction.
type querier interface {
	QueryContext(context.Context, string, ...any) (*sql.Rows, error)
	QueryRowContext(context.Context, string, ...any) *sql.Row
}

const selectRuns = `SELECT run.id, run.hash, run.file, run.bytes, run.track_hash, run.track_file, run.name, run.ridden_at, run.added_at, run.duration_s, run.riding_s,
	run.schema_version, run.definitions, run.fork_id, coalesce(run.trail_id, 0), coalesce(run.session_id, 0), run.setup_id, coalesce(run.calibration_id, 0) FROM run `

// scanner reads rows of selectRuns. What many runs share is read once.
type scanner struct {
	forks            map[int64]Known
	trails, sessions map[int64]string
	setups           map[int64]Setup
	calibration      int64 // of the last run, 0 = none
}

// newScanner reads what runs point to, but for their setups.
func newScanner(ctx context.Context, q querier) (*scanner, error) {
	s := &scanner{forks: map[int64]Known{}, setups: map[int64]Setup{}}
	forks, err := listForks(ctx, q)
	if err != nil {
		return nil, err
	}
	for _, f := range forks {
		s.forks[f.id] = f
	}
	if s.trails, err = namesOf(ctx, q, "SELECT id, name FROM trail"); err != nil {
		return nil, err
	}
	s.sessions, err = namesOf(ctx, q, "SELECT id, name FROM session")
	return s, err
}

func namesOf(ctx context.Context, q querier, text string) (map[int64]string, error) {
	out := map[int64]string{}
	return out, each(ctx, q, func(rows *sql.Rows) error {
		var id int64
		var name string
		err := rows.Scan(&id, &name)
		out[id] = name
		return err
	}, text)
}

// readSetups decodes the setups that a condition of this package picks.
func (s *scanner) readSetups(ctx context.Context, q querier, where string, args ...any) error {
	return each(ctx, q, func(rows *sql.Rows) error {
		var id int64
		var content string
		if err := rows.Scan(&id, &content); err != nil {
			return err
		}
		setup, err := decodeSetup(content)
		if err == nil {
			s.setups[id] = *setup
		}
		return err
	}, "SELECT id, content FROM setup "+where, args...)
}

// scan reads one row. setup is the row of its setup.
func (s *scanner) scan(rows *sql.Rows) (r Run, setup int64, err error) {
	var ridden, added, fork, trail, session int64
	err = rows.Scan(&r.ID, &r.Hash, &r.File, &r.Bytes, &r.TrackHash, &r.TrackFile, &r.Name, &ridden, &added, &r.DurationS, &r.RidingS,
		&r.SchemaVersion, &r.Definitions, &fork, &trail, &session, &setup, &s.calibration)
	r.RiddenAt, r.AddedAt = fromMS(ridden), fromMS(added)
	r.Fork, r.Bike, r.Trail, r.Session = s.forks[fork].Fork, s.forks[fork].Bike, s.trails[trail], s.sessions[session]
	r.Setup = s.setups[setup]
	return r, setup, err
}

// one reads the run that a condition of this package picks, with its notes and its fork file.
func one(ctx context.Context, q querier, where string, args ...any) (Run, error) {
	s, err := newScanner(ctx, q)
	if err != nil {
		return Run{}, err
	}
	var r Run
	var setup int64
	err = each(ctx, q, func(rows *sql.Rows) error {
		var err error
		r, setup, err = s.scan(rows)
		return err
	}, selectRuns+"WHERE "+where+" LIMIT 1", args...)
	switch {
	case err != nil:
		return Run{}, err
	case r.ID == 0:
		return Run{}, ErrNoRun
	}
	if err := s.readSetups(ctx, q, "WHERE id = ?", setup); err != nil {
		return Run{}, err
	}
	r.Setup = s.setups[setup]
	if s.calibration != 0 {
		if err := q.QueryRowContext(ctx, "SELECT content FROM calibration WHERE id = ?", s.calibration).Scan(&r.ForkFile); err != nil {
			return Run{}, err
		}
	}
	r.Notes, err = notesOf(ctx, q, r.ID)
	return r, err
}

func notesOf(ctx context.Context, q querier, id int64) ([]Note, error) {
	var out []Note
	err := each(ctx, q, func(rows *sql.Rows) error {
		var n Note
		var at int64
		err := rows.Scan(&at, &n.Text)
		n.At = fromMS(at)
		out = append(out, n)
		return err
	}, "SELECT at, text FROM note WHERE run_id = ? ORDER BY id", id)
	return out, err
}

// Run finds a run by its number ("12"), the beginning of its hash (6 characters or more) or its name; of several with one name the
// one ridden last. It comes with its notes and its fork file.
func (b *Logbook) Run(ctx context.Context, ref string) (Run, error) {
	ref = strings.TrimPrefix(strings.TrimSpace(ref), "#")
	if id, err := strconv.ParseInt(ref, 10, 64); err == nil && id > 0 {
		r, err := one(ctx, b.db, "run.id = ?", id)
		if err == nil || !errors.Is(err, ErrNoRun) {
			return r, b.wrap(err)
		}
	}
	if len(ref) >= 6 && len(ref) <= 64 && strings.Trim(ref, "0123456789abcdef") == "" {
		r, err := one(ctx, b.db, "run.hash >= ? AND run.hash < ?", ref, ref+"g")
		if err == nil || !errors.Is(err, ErrNoRun) {
			return r, b.wrap(err)
		}
	}
	r, err := one(ctx, b.db, "run.id = (SELECT id FROM run WHERE name = ? ORDER BY ridden_at DESC, id DESC LIMIT 1)", ref)
	if errors.Is(err, ErrNoRun) {
		return Run{}, ingest.Hinted{Err: fmt.Errorf("%w: %q", ErrNoRun, ref), Hint: "'stanchion log list' shows the runs with their numbers and names"}
	}
	return r, b.wrap(err)
}

// FiguresOf reads the stored figures of a run, in the order of their keys.
func (b *Logbook) FiguresOf(ctx context.Context, id int64) ([]Figure, error) {
	list, err := figuresOf(ctx, b.db, id)
	return list, b.wrap(err)
}

func figuresOf(ctx context.Context, q querier, id int64) ([]Figure, error) {
	var out []Figure
	err := each(ctx, q, func(rows *sql.Rows) error {
		var f Figure
		err := rows.Scan(&f.Key, &f.Value, &f.N, &f.Absent)
		out = append(out, f)
		return err
	}, "SELECT key, value, n, absent FROM figure WHERE run_id = ? ORDER BY key", id)
	return out, err
}

// each calls take for every row of a query.
func each(ctx context.Context, q querier, take func(*sql.Rows) error, text string, args ...any) error {
	rows, err := q.QueryContext(ctx, text, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := take(rows); err != nil {
			return err
		}
	}
	return rows.Err()
}

func parseNumber(text string) (float64, error) {
	v, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	if err == nil && (math.IsNaN(v) || math.IsInf(v, 0)) {
		err = errors.New("not a number")
	}
	return v, err
}

func plain(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
