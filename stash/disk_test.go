package stash

import (
	"context"
	"errors"
	"io/fs"
	"math/rand/v2"
	"slices"
	"syscall"
)

// machine is a disk in memory that can be made to fail, and a computer that can
// be switched off. What was not synced may be lost, in part or with holes of
// zeros, and a file whose folder was not synced may be gone.
type machine struct {
	dice   *rand.Rand
	files  map[string]*file
	locked bool
	left   int // operations until it happens; below zero = never
	what   mishap
}

type file struct {
	kept  []byte // what a loss of power leaves
	now   []byte // what programs see
	named bool   // the folder knows it for good
}

type mishap int

const (
	none    mishap = iota
	refused        // an operation fails
	full           // a write is cut short, and says so
	dying          // this operation fails, and all that follow
	killed         // the program ends before an operation, or within a write
	power          // the same, and what was not synced is at risk
	mishaps
)

// ended is thrown where a program ends.
type ended struct{}

var errDisk = errors.New("input/output error")

// happens says whether the mishap comes at this operation.
func (m *machine) happens() mishap {
	m.left--
	if m.left == -1 || m.left < -1 && m.what == dying {
		return m.what
	}
	return none
}

// step is an operation that is done or not.
func (m *machine) step(do func()) error {
	switch m.happens() {
	case refused, full, dying:
		return errDisk
	case killed, power:
		if m.dice.IntN(2) == 0 {
			do()
		}
		panic(ended{})
	}
	do()
	return nil
}

func (m *machine) read(path string) ([]byte, error) {
	if f := m.files[path]; f != nil {
		return slices.Clone(f.now), nil
	}
	return nil, fs.ErrNotExist
}

func (m *machine) mkdir(string) error { return m.step(func() {}) }

func (m *machine) lock(context.Context, string) (func(), error) {
	if m.locked {
		panic("the lock is held already")
	}
	err := m.step(func() { m.locked = true })
	return func() { m.locked = false }, err
}

func (m *machine) open(path string) (appender, error) {
	err := m.step(func() {
		if m.files[path] == nil {
			m.files[path] = &file{}
		}
	})
	return &handle{m, path}, err
}

func (m *machine) cut(path string, size int64) error {
	return m.step(func() {
		f := m.files[path]
		f.now = f.now[:size:size]
		f.kept = slices.Clone(f.now)
	})
}

func (m *machine) syncDir(string) error {
	return m.step(func() {
		for _, f := range m.files {
			f.named = true
		}
	})
}

type handle struct {
	m    *machine
	path string
}

func (h *handle) Write(p []byte) (int, error) {
	f, n := h.m.files[h.path], len(p)
	what := h.m.happens()
	if what != none {
		n = h.m.dice.IntN(len(p) + 1)
	}
	f.now = append(f.now[:len(f.now):len(f.now)], p[:n]...)
	switch what {
	case refused, full, dying:
		return n, syscall.ENOSPC
	case killed, power:
		panic(ended{})
	}
	return n, nil
}

func (h *handle) Sync() error {
	return h.m.step(func() { f := h.m.files[h.path]; f.kept = slices.Clone(f.now) })
}

func (h *handle) Close() error { return h.m.step(func() {}) }

// restart is what the next program finds.
func (m *machine) restart() {
	m.locked = false
	if m.what != power {
		return
	}
	for path, f := range m.files {
		if !f.named && m.dice.IntN(2) == 0 {
			delete(m.files, path)
			continue
		}
		got := slices.Clone(f.kept)
		if len(f.now) > len(f.kept) {
			got = slices.Clone(f.now[:len(f.kept)+m.dice.IntN(len(f.now)-len(f.kept)+1)])
			const page = 64
			for at := len(f.kept); at < len(got); at += page {
				if m.dice.IntN(3) == 0 {
					clear(got[at:min(at+page, len(got))])
				}
			}
		}
		f.now, f.kept, f.named = got, slices.Clone(got), true
	}
}
