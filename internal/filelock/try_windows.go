package filelock

import (
	"os"

	"golang.org/x/sys/windows"
)

// Try locks a file without waiting. Where a file system knows no locks, it
// says nothing: what the caller checks beside them remains. The locked byte
// lies far behind the content, which stays free to be read.
func Try(f *os.File) error {
	at := &windows.Overlapped{OffsetHigh: 0x7fffffff}
	err := windows.LockFileEx(windows.Handle(f.Fd()), windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY, 0, 1, 0, at)
	switch err {
	case windows.ERROR_LOCK_VIOLATION, windows.ERROR_IO_PENDING:
		return ErrLocked
	case windows.ERROR_NOT_SUPPORTED, windows.ERROR_INVALID_FUNCTION:
		return nil
	}
	return err
}
