package capture

import (
	"errors"
	"syscall"
)

// errDiskFull is ERROR_DISK_FULL of the system.
const errDiskFull = syscall.Errno(112)

// isFull tells whether a write failed for want of room.
func isFull(err error) bool { return errors.Is(err, errDiskFull) }

// syncFolder has nothing to do: folders need no sync here.
func syncFolder(string) {}
