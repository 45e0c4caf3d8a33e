package logbook

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"stanchion/ingest"
)

// The names inside a logbook's folder.
const (
	bookFile      = "logbook.sqlite"
	recordingsDir = "recordings"
	entriesDir    = "entries"
)

// applicationID marks the SQLite file as a logbook ("STNC").
const applicationID = 0x53544e43

// busyMS is how long one process waits for another.
const busyMS = 15000

//go:embed schema/*.sql
var schemas embed.FS

// A Logbook is an open logbook. Its methods may be called from several goroutines.
type Logbook struct {
	dir string
	db  *sql.DB
	now func() time.Time
}

// ErrNone is wrapped by the error of Open where there is no logbook.
var ErrNone = errors.New("there is no logbook here")

// Create opens the logbook in the folder dir and makes it where there is none. A book of an older version is brought up
// to date, after a copy of it has been put beside it; one of a newer version is refused and not touched.
func Create(ctx context.Context, dir string) (*Logbook, error) {
	for _, d := range []string{dir, filepath.Join(dir, recordingsDir), filepath.Join(dir, entriesDir)} {
		if err := os.MkdirAll(d, 0o755); err != nil {
			return nil, fmt.Errorf("make the logbook: %w", err)
		}
	}
	steps, err := steps()
	if err != nil {
		return nil, err
	}
	return open(ctx, dir, steps)
}

// Open opens the logbook in the folder dir. Where there is none the error wraps ErrNone.
func Open(ctx context.Context, dir string) (*Logbook, error) {
	if _, err := os.Stat(filepath.Join(dir, bookFile)); errors.Is(err, os.ErrNotExist) {
		return nil, ingest.Hinted{Err: fmt.Errorf("%s: %w", dir, ErrNone), Hint: "file a first run with 'stanchion log add', or say where the logbook is with --logbook"}
	}
	return Create(ctx, dir)
}

func open(ctx context.Context, dir string, steps []string) (*Logbook, error) {
	path := filepath.Join(dir, bookFile)
	db, err := connect(path)
	if err != nil {
		return nil, wrap(path, err)
	}
	b := &Logbook{dir: dir, db: db, now: time.Now}
	if err := b.migrate(ctx, path, steps); err != nil {
		db.Close()
		return nil, wrap(path, err)
	}
	return b, nil
}

// connect opens a pool on the SQLite file. Every connection waits for others, keeps foreign keys and syncs each commit.
func connect(path string) (*sql.DB, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	abs = filepath.ToSlash(abs)
	if abs[0] != '/' { // a drive letter
		abs = "/" + abs
	}
	q := url.Values{"_txlock": {"immediate"}, "_pragma": {
		"busy_timeout(" + strconv.Itoa(busyMS) + ")", "journal_mode(WAL)", "synchronous(FULL)", "foreign_keys(1)", "trusted_schema(0)",
	}}
	u := url.URL{Scheme: "file", Path: abs, RawQuery: q.Encode()}
	db, err := sql.Open("sqlite", u.String())
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(4)
	return db, nil
}

// Close closes the logbook.
func (b *Logbook) Close() error { return b.db.Close() }

// Dir is the folder of the logbook.
func (b *Logbook) Dir() string { return b.dir }

// wrap puts an error of the database into the words of a person.
func wrap(path string, err error) error {
	var e *sqlite.Error
	if err == nil || !errors.As(err, &e) {
		return err
	}
	say := func(what, hint string) error {
		return ingest.Hinted{Err: fmt.Errorf("%s: %s (%w)", path, what, err), Hint: hint}
	}
	switch e.Code() & 0xff {
	case sqlite3.SQLITE_CORRUPT:
		return say("the logbook is damaged", "run 'stanchion log check'; 'stanchion log rebuild' makes the book again from the entries beside it")
	case sqlite3.SQLITE_NOTADB:
		return say("this is not a logbook", "give the folder of a logbook with --logbook; if it was one, 'stanchion log rebuild' makes it again from the entries beside it")
	case sqlite3.SQLITE_FULL:
		return say("the disk is full; nothing was changed", "make room and try again")
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return say("another program has been using the logbook for too long; nothing was changed", "close the other program and try again")
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM, sqlite3.SQLITE_CANTOPEN:
		return say("the logbook cannot be opened for writing", "look at the rights of the folder and the file")
	case sqlite3.SQLITE_IOERR:
		return say("reading or writing the disk failed; nothing was changed", "see whether the disk is full or was taken out, then run 'stanchion log check'")
	}
	return fmt.Errorf("%s: %w", path, err)
}

func (b *Logbook) wrap(err error) error { return wrap(filepath.Join(b.dir, bookFile), err) }

// change does work in one transaction: all of it is kept, or nothing.
func (b *Logbook) change(ctx context.Context, work func(*sql.Tx) error) error {
	tx, err := b.db.BeginTx(ctx, nil)
	if err != nil {
		return b.wrap(err)
	}
	defer tx.Rollback()
	if err := work(tx); err != nil {
		return b.wrap(err)
	}
	return b.wrap(tx.Commit())
}
