package logbook

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// A RebuildReport says what became of a damaged book.
type RebuildReport struct {
	Runs     int      `json:"runs"`     // in the new book
	Problems []string `json:"problems"` // entries that could not be used, for people
	Old      string   `json:"old"`      // where the damaged book is now, "" where there was none
}

// Rebuild makes the book in the folder dir again from the entries beside it. The old book is kept under another name.
func Rebuild(ctx context.Context, dir string, progress func(done, all int)) (RebuildReport, error) {
	report := RebuildReport{Problems: []string{}}
	path := filepath.Join(dir, bookFile)
	beside := &Logbook{dir: dir}
	hashes, err := beside.entries()
	if err != nil {
		return report, err
	}
	if len(hashes) == 0 {
		return report, fmt.Errorf("%s: there are no entries to make a logbook from; nothing was changed", filepath.Join(dir, entriesDir))
	}
	if report.Old, err = setAside(path); err != nil {
		return report, err
	}
	b, err := Create(ctx, dir)
	if err != nil {
		return report, err
	}
	defer b.Close()
	var s shelf
	if s, err = b.openShelf(); err != nil {
		report.Problems = append(report.Problems, err.Error())
	} else if err := b.mergeShelf(ctx, s); err != nil {
		report.Problems = append(report.Problems, err.Error())
	}
	for i, hash := range hashes {
		if err := ctx.Err(); err != nil {
			return report, err
		}
		e, err := b.openEntry(hash)
		if err == nil {
			_, err = b.file(ctx, e)
		}
		if err != nil {
			report.Problems = append(report.Problems, err.Error())
		} else {
			report.Runs++
		}
		if progress != nil {
			progress(i+1, len(hashes))
		}
	}
	return report, nil
}

// setAside renames the book, with what SQLite keeps beside it, and returns its new name.
func setAside(path string) (string, error) {
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return "", nil
	}
	to := ""
	for i := 1; to == ""; i++ {
		name := fmt.Sprintf("%s.damaged-%d", path, i)
		if _, err := os.Stat(name); errors.Is(err, fs.ErrNotExist) {
			to = name
		}
	}
	for _, tail := range []string{"-wal", "-shm", ""} {
		err := os.Rename(path+tail, to+tail)
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return "", fmt.Errorf("put the damaged logbook aside: %w", err)
		}
	}
	return to, nil
}

func (b *Logbook) openShelf() (shelf, error) {
	path := filepath.Join(b.dir, entriesDir, shelfName)
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return shelf{}, nil
	}
	if err != nil {
		return shelf{}, err
	}
	defer f.Close()
	var s shelf
	return s, readJSON(f, path, &s)
}

// mergeShelf adds what a document of forks knows and the book does not.
func (b *Logbook) mergeShelf(ctx context.Context, s shelf) error {
	for _, f := range s.Forks {
		probe := Run{Hash: fmt.Sprintf("%064d", 0), Fork: f.Fork, Bike: f.Bike, RiddenAt: b.now()}
		if err := probe.check(); err != nil {
			return fmt.Errorf("%s: %w", shelfName, err)
		}
		if f.Mounted != nil {
			if err := f.Mounted.check(); err != nil {
				return fmt.Errorf("%s: %w", shelfName, err)
			}
		}
		if err := b.change(ctx, func(tx *sql.Tx) error { return b.mergeFork(ctx, tx, f) }); err != nil {
			return err
		}
	}
	return nil
}

func (b *Logbook) mergeFork(ctx context.Context, tx *sql.Tx, f shelfFork) error {
	id, err := forkID(ctx, tx, f.Fork.Name)
	if err != nil {
		if id, err = forkRow(ctx, tx, f.Fork, f.Bike); err != nil {
			return err
		}
	}
	now, err := mounted(ctx, tx, id)
	if err != nil {
		return err
	}
	if now == nil && f.Mounted != nil {
		setup, err := setupRow(ctx, tx, id, *f.Mounted)
		if err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, "INSERT INTO mounted (fork_id, setup_id, at) VALUES (?,?,?)", id, setup, toMS(b.now())); err != nil {
			return err
		}
	}
	for _, p := range f.Plans {
		if p.What == "" || len(p.What) > maxName || !(p.EveryHours > 0 && p.EveryHours <= 100000) {
			continue
		}
		if _, err := tx.ExecContext(ctx, "INSERT INTO service_plan (fork_id, what, every_hours) VALUES (?,?,?) ON CONFLICT DO NOTHING", id, p.What, p.EveryHours); err != nil {
			return err
		}
	}
	for _, s := range f.Services {
		if s.What == "" || len(s.What) > maxName {
			continue
		}
		_, err := tx.ExecContext(ctx, "INSERT INTO service (fork_id, what, at) SELECT ?, ?, ? WHERE NOT EXISTS (SELECT 1 FROM service WHERE fork_id = ? AND what = ? AND at = ?)",
			id, s.What, toMS(s.At), id, s.What, toMS(s.At))
		if err != nil {
			return err
		}
	}
	return b.saveShelf(ctx, tx)
}
