package folder

import (
	"os"

	"golang.org/x/sys/windows"
)

// tryLock locks a file for this run, without waiting. The system lets go of
// the lock when the run ends, however it ends. The locked byte lies far behind
// the content, which stays free to be read.
func tryLock(f *os.File) error {
	at := &windows.Overlapped{OffsetHigh: 0x7fffffff}
	err := windows.LockFileEx(windows.Handle(f.Fd()), windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY, 0, 1, 0, at)
	switch err {
	case windows.ERROR_LOCK_VIOLATION, windows.ERROR_IO_PENDING:
		return errLocked
	case windows.ERROR_NOT_SUPPORTED, windows.ERROR_INVALID_FUNCTION:
		return nil // a file system without locks; what is checked at the end remains
	}
	return err
}
