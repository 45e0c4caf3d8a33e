package logbook

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// A CheckReport says how a logbook is.
type CheckReport struct {
	Runs     int      `json:"runs"`
	Files    int      `json:"files"`    // recordings and tracks that were read and are whole
	Problems []string `json:"problems"` // what is wrong, for people
	Mended   []string `json:"mended"`   // what Check put right itself
	Loose    []string `json:"loose"`    // files of no run, left by a filing that was cut short; harmless
}

// Check reads everything: the tables, every recording against its hash, every entry against the book. Entries that are missing or
// behind the book are written again. progress, where not nil, is called with the number of runs done.
func (b *Logbook) Check(ctx context.Context, progress func(done, all int)) (CheckReport, error) {
	report := CheckReport{Problems: []string{}, Mended: []string{}, Loose: []string{}}
	if err := b.checkTables(ctx, &report); err != nil || len(report.Problems) > 0 {
		return report, err
	}
	all, err := b.Runs(ctx, Query{})
	if err != nil {
		return report, err
	}
	report.Runs = len(all)
	known := map[string]bool{}
	for i := range all {
		r := &all[i]
		for _, path := range []string{b.RecordingPath(r), b.TrackPath(r)} {
			if path == "" {
				continue
			}
			known[filepath.Base(path)] = true
			if err := b.checkFile(ctx, r, path, &report); err != nil {
				return report, err
			}
		}
		known[r.Hash+".json"] = true
		if err := b.checkEntry(ctx, r.ID, &report); err != nil {
			return report, err
		}
		if progress != nil {
			progress(i+1, len(all))
		}
	}
	return report, b.loose(known, &report)
}

// checkTables asks the database to look at itself.
func (b *Logbook) checkTables(ctx context.Context, report *CheckReport) error {
	for _, pragma := range []string{"PRAGMA integrity_check(20)", "PRAGMA foreign_key_check"} {
		rows, err := b.db.QueryContext(ctx, pragma)
		if err != nil {
			report.Problems = append(report.Problems, b.wrap(err).Error())
			return ctx.Err()
		}
		columns, err := rows.Columns()
		for err == nil && rows.Next() {
			values := make([]sql.NullString, len(columns))
			into := make([]any, len(columns))
			for i := range values {
				into[i] = &values[i]
			}
			if err = rows.Scan(into...); err == nil && values[0].String != "ok" {
				var words []string
				for _, v := range values {
					words = append(words, v.String)
				}
				report.Problems = append(report.Problems, bookFile+": "+strings.Join(words, " "))
			}
		}
		if err = errors.Join(err, rows.Err()); err != nil {
			report.Problems = append(report.Problems, b.wrap(err).Error())
		}
		rows.Close()
	}
	return ctx.Err()
}

// checkFile compares a stored file with the hash in its name.
func (b *Logbook) checkFile(ctx context.Context, r *Run, path string, report *CheckReport) error {
	want := filepath.Base(path)[:64]
	got, _, err := hashFile(ctx, path)
	switch {
	case ctx.Err() != nil:
		return ctx.Err()
	case errors.Is(err, fs.ErrNotExist):
		report.Problems = append(report.Problems, fmt.Sprintf("run %d (%s): its file %s is missing", r.ID, r.Name, path))
	case err != nil:
		report.Problems = append(report.Problems, fmt.Sprintf("run %d (%s): %v", r.ID, r.Name, err))
	case got != want:
		report.Problems = append(report.Problems, fmt.Sprintf("run %d (%s): its file %s is not what was filed", r.ID, r.Name, path))
	default:
		report.Files++
	}
	return nil
}

// checkEntry compares the entry beside the book with the book, and writes it again where it is behind.
func (b *Logbook) checkEntry(ctx context.Context, id int64, report *CheckReport) error {
	return b.change(ctx, func(tx *sql.Tx) error {
		r, err := one(ctx, tx, "run.id = ?", id)
		if err != nil {
			return err
		}
		figures, err := figuresOf(ctx, tx, id)
		if err != nil {
			return err
		}
		want := entry{Version: entryVersion, Run: r, Figures: figures}
		want.Run.ID = 0
		have, err := b.openEntry(r.Hash)
		if err == nil && sameJSON(have, want) {
			return nil
		}
		if err := b.writeEntry(want); err != nil {
			return err
		}
		report.Mended = append(report.Mended, fmt.Sprintf("run %d (%s): its entry was written again", r.ID, r.Name))
		return nil
	})
}

func sameJSON(a, b any) bool {
	x, errX := json.Marshal(a)
	y, errY := json.Marshal(b)
	return errX == nil && errY == nil && string(x) == string(y)
}

// loose lists files that belong to no run.
func (b *Logbook) loose(known map[string]bool, report *CheckReport) error {
	for _, dir := range []string{recordingsDir, entriesDir} {
		files, err := os.ReadDir(filepath.Join(b.dir, dir))
		if err != nil {
			return fmt.Errorf("look through the logbook: %w", err)
		}
		for _, f := range files {
			if !known[f.Name()] && f.Name() != shelfName {
				report.Loose = append(report.Loose, filepath.Join(dir, f.Name()))
			}
		}
	}
	return nil
}
