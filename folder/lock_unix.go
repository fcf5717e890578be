//go:build !windows

package folder

import (
	"errors"
	"os"
	"syscall"
)

// tryLock locks a file for this run, without waiting. The system lets go of
// the lock when the run ends, however it ends.
func tryLock(f *os.File) error {
	for {
		err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
		switch {
		case err == syscall.EINTR:
			continue
		case err == syscall.EWOULDBLOCK:
			return errLocked
		case errors.Is(err, errors.ErrUnsupported), err == syscall.ENOLCK:
			return nil // a file system without locks; what is checked at the end remains
		}
		return err
	}
}
