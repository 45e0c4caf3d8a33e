//go:build !windows

package capture

import (
	"errors"
	"os"
	"path/filepath"
	"syscall"
)

// isFull tells whether a write failed for want of room.
func isFull(err error) bool {
	return errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT)
}

// syncFolder makes the name of a new file durable. Where the system cannot, the file itself is synced all the same.
func syncFolder(path string) {
	if d, err := os.Open(filepath.Dir(path)); err == nil {
		_ = d.Sync()
		d.Close()
	}
}
