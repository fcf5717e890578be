package wasm

import (
	"crypto/sha256"
	"encoding/hex"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/tetratelabs/wazero"
)

// To compile a decoder takes about a second, so what comes of it is kept in the
// folder that the system names for such things, and later processes read it
// from there. It may be deleted at any time, and where the folder can't be made,
// read or trusted, all goes on without it.
//
// The runtime writes an entry beside its place and renames it, so that
// processes never see half of one. Its own sum covers only a part of an entry,
// so we keep one of the whole, and an entry that does not match is made anew.

const (
	sumEnding  = ".sha256"
	tempEnding = ".tmp"
)

// openCache opens the cache for the module of a file. nil: there is none. Seal
// is called once the module is compiled.
func openCache(gz []byte) (cache wazero.CompilationCache, seal func()) {
	base, err := os.UserCacheDir()
	if err != nil {
		return nil, nil
	}
	if _, err := os.Stat(base); os.IsNotExist(err) {
		_ = os.Mkdir(base, 0o700) // never a home that isn't there
	}
	sum := sha256.Sum256(gz)
	dir := filepath.Join(base, "kitwright", "decoders", hex.EncodeToString(sum[:8]))
	if !ours(base) {
		return nil, nil
	}
	_ = os.MkdirAll(dir, 0o700) // the next line sees whether it is there
	if !ours(dir) {
		return nil, nil
	}
	if whole := sweep(dir); !whole {
		f, err := os.CreateTemp(dir, "try.*"+tempEnding) // else it would be compiled only to fail
		if err != nil {
			return nil, nil
		}
		_ = f.Close()
		_ = os.Remove(f.Name())
	}
	if cache, err = wazero.NewCompilationCacheWithDir(dir); err != nil {
		return nil, nil
	}
	return cache, func() { sealAll(dir) }
}

// entries visits the entries of a folder, and removes what killed processes
// left half done.
func entries(dir string, visit func(path string)) {
	_ = filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil || !d.Type().IsRegular() || strings.HasSuffix(path, sumEnding):
		case strings.HasSuffix(path, tempEnding):
			if info, err := d.Info(); err == nil && time.Since(info.ModTime()) > time.Hour {
				_ = os.Remove(path)
			}
		default:
			visit(path)
		}
		return nil
	})
}

// sweep removes entries that are not what was sealed, and says whether a whole
// one is there.
func sweep(dir string) (whole bool) {
	entries(dir, func(path string) {
		want, err := os.ReadFile(path + sumEnding)
		is, err2 := sumOf(path)
		if err == nil && err2 == nil && string(want) == is {
			whole = true
			return
		}
		_ = os.Remove(path)
	})
	return whole
}

// sealAll writes down the sums of entries that have none.
func sealAll(dir string) {
	entries(dir, func(path string) {
		sum, err := sumOf(path)
		if err != nil {
			return
		}
		if was, err := os.ReadFile(path + sumEnding); err == nil && string(was) == sum {
			return
		}
		f, err := os.CreateTemp(filepath.Dir(path), "sum.*"+tempEnding)
		if err != nil {
			return
		}
		_, err = f.WriteString(sum)
		if err2 := f.Close(); err != nil || err2 != nil || os.Rename(f.Name(), path+sumEnding) != nil {
			_ = os.Remove(f.Name())
		}
	})
}

func sumOf(path string) (string, error) {
	data, err := os.ReadFile(path)
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:]), err
}
