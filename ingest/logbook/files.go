package logbook

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"stanchion/ingest/wholefile"
)

// keep copies the file at path into the recordings and returns its SHA-256 and size. The copy appears whole or not at
// all and is synced; a file that is there already, with the right content, is left.
func (b *Logbook) keep(ctx context.Context, path string) (hash string, bytes int64, err error) {
	hash, bytes, err = hashFile(ctx, path)
	if err != nil {
		return "", 0, err
	}
	to := b.stored(hash, path)
	if have, _, err := hashFile(ctx, to); err == nil && have == hash {
		return hash, bytes, nil
	}
	err = wholefile.Write(to, true, func(w io.Writer) error {
		f, err := os.Open(path)
		if err != nil {
			return err
		}
		defer f.Close()
		copied, err := copyHashed(w, untilDone{ctx, f})
		if err == nil && copied != hash {
			err = errors.New("the file changed while it was being copied: file it when its recording has ended")
		}
		return err
	})
	if err != nil {
		return "", 0, fmt.Errorf("copy %s into the logbook: %w", path, err)
	}
	return hash, bytes, nil
}

// stored is where the file with this hash lies. The ending is kept so that other programs know what it is.
func (b *Logbook) stored(hash, name string) string {
	return filepath.Join(b.dir, recordingsDir, hash+ending(name))
}

// endings are those that a stored file may have.
func endings() []string {
	return []string{".csv", ".csv.gz", ".txt", ".txt.gz", ".tsv", ".tsv.gz", ".slog", ".slog.gz", ".gpx", ".gpx.gz", ".fit"}
}

// ending is the ending of a file's name where it is a known one, ".log" otherwise.
func ending(name string) string {
	name = strings.ToLower(filepath.Base(name))
	found := ".log"
	for _, e := range endings() {
		if strings.HasSuffix(name, e) && (found == ".log" || len(e) > len(found)) {
			found = e
		}
	}
	return found
}

// RecordingPath is the file of a run's recording in the logbook.
func (b *Logbook) RecordingPath(r *Run) string { return b.stored(r.Hash, r.File) }

// TrackPath is the file of a run's track in the logbook, "" where it has none.
func (b *Logbook) TrackPath(r *Run) string {
	if r.TrackHash == "" {
		return ""
	}
	return b.stored(r.TrackHash, r.TrackFile)
}

// hashFile is the SHA-256 of a file in hexadecimal, and its size.
func hashFile(ctx context.Context, path string) (string, int64, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", 0, err
	}
	defer f.Close()
	if info, err := f.Stat(); err == nil && info.IsDir() {
		return "", 0, &fs.PathError{Op: "read", Path: path, Err: errors.New("is a folder")}
	}
	h := sha256.New()
	n, err := io.Copy(h, untilDone{ctx, f})
	if err != nil {
		return "", 0, fmt.Errorf("read %s: %w", path, err)
	}
	return hex.EncodeToString(h.Sum(nil)), n, nil
}

// copyHashed copies and returns the SHA-256 of what it copied.
func copyHashed(w io.Writer, r io.Reader) (string, error) {
	h := sha256.New()
	if _, err := io.Copy(io.MultiWriter(w, h), r); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// untilDone reads until the context ends.
type untilDone struct {
	ctx context.Context
	r   io.Reader
}

func (u untilDone) Read(p []byte) (int, error) {
	if err := u.ctx.Err(); err != nil {
		return 0, err
	}
	return u.r.Read(p)
}

// isHash says whether s is a SHA-256 in lower-case hexadecimal, so that it is safe as a file name.
func isHash(s string) bool {
	return len(s) == 64 && strings.Trim(s, "0123456789abcdef") == ""
}
