package stash

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"time"

	"kitwright/internal/filelock"
	"kitwright/internal/say"
)

// disk is all that a ledger asks of a file system, an operation at a time, so
// that tests can stop, fail or half do every one of them.
type disk interface {
	read(path string) ([]byte, error)
	mkdir(dir string) error
	lock(ctx context.Context, path string) (unlock func(), err error)
	open(path string) (appender, error) // made if it is not there
	cut(path string, size int64) error
	syncDir(dir string) error
}

// appender is a file that grows.
type appender interface {
	io.Writer
	Sync() error
	Close() error
}

// system is the disk of this machine.
type system struct{}

// maxBytes is how large a ledger may be: a million entries and more.
const maxBytes = 512 << 20

func (system) read(path string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	info, err := f.Stat()
	switch {
	case err != nil:
		return nil, err
	case !info.Mode().IsRegular():
		return nil, say.Failed("name a file with {stash}", "%s is no file, so it cannot be a stash", path)
	case info.Size() > maxBytes:
		return nil, say.Failed("name the right file with {stash}", "%s is over %d MB, too much for a stash", path, maxBytes>>20)
	}
	data := make([]byte, 0, info.Size()+512)
	for {
		n, err := f.Read(data[len(data):cap(data)])
		data = data[:len(data)+n]
		if errors.Is(err, io.EOF) {
			return data, nil
		}
		if err != nil {
			return nil, err
		}
		if len(data) == cap(data) {
			data = append(data, 0)[:len(data)]
		}
	}
}

func (system) mkdir(dir string) error { return os.MkdirAll(dir, 0o755) }

// patience is how long a run waits for another to end its entry.
const patience = 10 * time.Second

func (system) lock(ctx context.Context, path string) (func(), error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o644)
	if err != nil {
		return nil, err
	}
	for end := time.Now().Add(patience); ; {
		switch err := filelock.Try(f); {
		case err == nil:
			return func() { _ = f.Close() }, nil // closing lets go of the lock
		case !errors.Is(err, filelock.ErrLocked) || time.Now().After(end):
			_ = f.Close()
			return nil, err
		}
		select {
		case <-ctx.Done():
			_ = f.Close()
			return nil, ctx.Err()
		case <-time.After(5 * time.Millisecond):
		}
	}
}

func (system) open(path string) (appender, error) {
	return os.OpenFile(path, os.O_WRONLY|os.O_APPEND|os.O_CREATE, 0o644)
}

func (system) cut(path string, size int64) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Truncate(size), f.Sync(), f.Close())
}

// syncDir makes a new file's name last. Windows keeps names by itself.
func (system) syncDir(dir string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	f, err := os.Open(filepath.Clean(dir))
	if err != nil {
		return err
	}
	err = f.Sync()
	if errors.Is(err, errors.ErrUnsupported) || errors.Is(err, os.ErrInvalid) {
		err = nil
	}
	return errors.Join(err, f.Close())
}
