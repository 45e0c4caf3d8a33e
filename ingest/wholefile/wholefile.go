// Package wholefile writes files that appear whole or not at all.
//
// The content goes to a temporary file beside the target, is synced, closed and then put in place in one step; the
// folder is synced too. Whatever fails on the way, the target is as it was before and the temporary file is gone.
package wholefile

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// ErrExists is wrapped by the error of Write where the target exists and must not be replaced.
var ErrExists = fs.ErrExist

// Write creates path with what fill writes. An existing file is replaced only if overwrite is set. An error of fill is
// returned as it is, and then nothing is left behind.
func Write(path string, overwrite bool, fill func(io.Writer) error) (err error) {
	if err := Check(path, overwrite); err != nil {
		return err
	}
	dir := filepath.Dir(path)
	tmp, err := os.CreateTemp(dir, "."+filepath.Base(path)+".part-*")
	if err != nil {
		return fmt.Errorf("write %s: %w", path, plain(err))
	}
	defer func() {
		if err != nil {
			tmp.Close()
			os.Remove(tmp.Name())
		}
	}()
	buf := bufio.NewWriterSize(tmp, 1<<18)
	if err := fill(buf); err != nil {
		return err
	}
	if err := finish(tmp, buf); err != nil {
		return fmt.Errorf("write %s: %w", path, plain(err))
	}
	if err := place(tmp.Name(), path, overwrite); err != nil {
		return fmt.Errorf("write %s: %w", path, plain(err))
	}
	syncDir(dir)
	return nil
}

// Check says early what would make Write fail: a folder in place of the file, or a file that must not be replaced.
func Check(path string, overwrite bool) error {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return fmt.Errorf("write %s: %w", path, plain(err))
	case info.IsDir():
		return fmt.Errorf("write %s: a folder of that name is in the way", path)
	case !overwrite:
		return fmt.Errorf("write %s: %w", path, ErrExists)
	}
	return nil
}

// finish flushes, makes the file readable by others as an ordinary new file is, syncs and closes it.
func finish(f *os.File, buf *bufio.Writer) error {
	if err := buf.Flush(); err != nil {
		return err
	}
	if err := f.Chmod(0o644); err != nil {
		return err
	}
	if err := f.Sync(); err != nil {
		return err
	}
	return f.Close()
}

// place puts the temporary file in place. Without overwrite it uses a hard link, which fails where another process has
// made the target in the meantime; file systems without links fall back to a plain rename.
func place(tmp, path string, overwrite bool) error {
	if !overwrite {
		err := os.Link(tmp, path)
		if err == nil {
			return os.Remove(tmp)
		}
		if errors.Is(err, fs.ErrExist) {
			return err
		}
	}
	return os.Rename(tmp, path)
}

// plain strips the temporary name from a path error: people asked for the target.
func plain(err error) error {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		return pe.Err
	}
	var le *os.LinkError
	if errors.As(err, &le) {
		return le.Err
	}
	return err
}

// syncDir makes the new name durable. Systems that cannot sync a folder are forgiven: the content is safe already.
func syncDir(dir string) {
	d, err := os.Open(dir)
	if err != nil {
		return
	}
	defer d.Close()
	_ = d.Sync()
}
