package logbook

import (
	"context"
	"database/sql"
	"fmt"
	"io/fs"
	"os"

	"stanchion/ingest"
)

// steps are the changes that the tables went through, from the first version on. The version of a book is the number of steps it has seen.
func steps() ([]string, error) {
	names, err := fs.Glob(schemas, "schema/*.sql")
	if err != nil {
		return nil, err
	}
	out := make([]string, len(names))
	for i := range out {
		text, err := fs.ReadFile(schemas, fmt.Sprintf("schema/%d.sql", i+1))
		if err != nil {
			return nil, fmt.Errorf("logbook: step %d of its tables: %w", i+1, err)
		}
		out[i] = string(text)
	}
	return out, nil
}

// migrate makes the tables of a new book, or brings those of an older one up to date, in one transaction.
func (b *Logbook) migrate(ctx context.Context, path string, steps []string) error {
	version, id, err := b.marks(ctx)
	if err != nil {
		return err
	}
	switch {
	case version == len(steps) && id == applicationID:
		return nil
	case version > len(steps):
		return ingest.Hinted{
			Err:  fmt.Errorf("%s: the logbook is of version %d, made by a newer stanchion; this one knows up to %d. Nothing was changed", path, version, len(steps)),
			Hint: "use the newer program, or another logbook with --logbook",
		}
	case version > 0 && id != applicationID:
		return ingest.Hinted{Err: fmt.Errorf("%s: a database of another program. Nothing was changed", path), Hint: "give the folder of a logbook with --logbook"}
	case version > 0:
		if err := b.copyBefore(ctx, path, version); err != nil {
			return err
		}
	}
	return b.change(ctx, func(tx *sql.Tx) error { return upgrade(ctx, tx, path, steps) })
}

// marks reads which program and which version made the file.
func (b *Logbook) marks(ctx context.Context) (version, id int, err error) {
	if err := b.db.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version); err != nil {
		return 0, 0, err
	}
	err = b.db.QueryRowContext(ctx, "PRAGMA application_id").Scan(&id)
	return version, id, err
}

// upgrade runs the steps that are missing. It reads the version again: another process may have been quicker.
func upgrade(ctx context.Context, tx *sql.Tx, path string, steps []string) error {
	var version, tables int
	if err := tx.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version); err != nil {
		return err
	}
	if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_master").Scan(&tables); err != nil {
		return err
	}
	if version == 0 && tables > 0 {
		return ingest.Hinted{Err: fmt.Errorf("%s: a database of another program. Nothing was changed", path), Hint: "give the folder of a logbook with --logbook"}
	}
	for i := version; i < len(steps); i++ {
		if _, err := tx.ExecContext(ctx, steps[i]); err != nil {
			return fmt.Errorf("logbook: step %d of its tables: %w", i+1, err)
		}
	}
	// PRAGMA takes no bound parameters; both are numbers of this package.
	_, err := tx.ExecContext(ctx, fmt.Sprintf("PRAGMA user_version = %d; PRAGMA application_id = %d", len(steps), applicationID))
	return err
}

// copyBefore puts a copy of an older book beside it before its tables are changed.
func (b *Logbook) copyBefore(ctx context.Context, path string, version int) error {
	to := fmt.Sprintf("%s.version-%d", path, version)
	if _, err := os.Stat(to); err == nil {
		return nil
	}
	if _, err := b.db.ExecContext(ctx, "VACUUM INTO ?", to); err != nil {
		return fmt.Errorf("copy the logbook before it is brought up to date: %w", err)
	}
	return nil
}
