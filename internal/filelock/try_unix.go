//go:build !windows

package filelock

import (
	"errors"
	"os"
	"syscall"
)

// Try locks a file without waiting. Where a file system knows no locks, it
// says nothing: what the caller checks beside them remains.
func Try(f *os.File) error {
	for {
		err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
		switch {
		case err == syscall.EINTR:
			continue
		case err == syscall.EWOULDBLOCK:
			return ErrLocked
		case errors.Is(err, errors.ErrUnsupported), err == syscall.ENOLCK:
			return nil
		}
		return err
	}
}
