// Package filelock locks a file for one run of a program. The system lets go
// of the lock when the run ends, however it ends. Begin with [Try].
package filelock

import "errors"

// ErrLocked says that another run holds the lock.
var ErrLocked = errors.New("locked by another run")
