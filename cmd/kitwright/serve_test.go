package main

import (
	"context"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// served starts a table and returns its address, and what ends it and waits.
func served(t *testing.T, args ...string) (address string, end func() error) {
	ctx, cancel := context.WithCancel(context.Background())
	r, w := io.Pipe()
	over := make(chan error, 1)
	go func() {
		err := run(ctx, append([]string{"serve", "--no-open"}, args...), nil, w, io.Discard)
		w.Close()
		over <- err
	}()
	var text []byte
	found := regexp.MustCompile(`http://127\.0\.0\.1:\d+/\?key=\S+`)
	buf := make([]byte, 4096)
	for address == "" {
		n, err := r.Read(buf)
		text = append(text, buf[:n]...)
		address = string(found.Find(text))
		require.False(t, err != nil && address == "", "%s", text)
	}
	go io.Copy(io.Discard, r)
	return address, func() error {
		cancel()
		select {
		case err := <-over:
			return err
		case <-time.After(3 * time.Minute):
			return context.DeadlineExceeded
		}
	}
}

func get(t *testing.T, address string) int {
	resp, err := http.Get(address)
	require.NoError(t, err)
	resp.Body.Close()
	return resp.StatusCode
}

// The address opens the page; a second serve finds the first; another library
// gets a table of its own; an end is clean, and the next start finds nothing
// stale in its way.
func TestServe(t *testing.T) {
	home := t.TempDir()
	address, end := served(t, "--home", home)
	assert.Equal(t, 200, get(t, address))
	assert.Equal(t, 403, get(t, regexp.MustCompile(`\?.*`).ReplaceAllString(address, "")))

	code, out, errs := kitwright(t, "serve", "--no-open", "--home", home)
	assert.Equal(t, 0, code, errs)
	assert.Contains(t, out, address)
	other, endOther := served(t, "--home", home, "--library", t.TempDir())
	assert.NotEqual(t, address, other)
	assert.Equal(t, 200, get(t, other))
	assert.NoError(t, endOther())
	assert.Equal(t, 200, get(t, address), "the first one is still there")

	info, err := os.Stat(filepath.Join(home, "table.open"))
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm(), "the key is hers alone")
	require.NoError(t, end())
	assert.NoFileExists(t, filepath.Join(home, "table.open"))
	_, err = http.Get(address)
	assert.Error(t, err)

	require.NoError(t, os.WriteFile(filepath.Join(home, "table.open"), []byte(`{"addr":"127.0.0.1:1","key":"x"}`), 0o600)) // of a run that was killed
	again, end := served(t, "--home", home)
	assert.Equal(t, 200, get(t, again))
	assert.NoError(t, end())
}

func TestServeThatCannotBe(t *testing.T) {
	for _, args := range [][]string{{"serve", "cat.jpg"}, {"serve", "--port", "70000", "--home", t.TempDir()}} {
		code, _, errs := kitwright(t, args...)
		assert.Equal(t, 2, code, args)
		assert.Contains(t, errs, "Try:")
	}
	file := filepath.Join(t.TempDir(), "a file")
	require.NoError(t, os.WriteFile(file, nil, 0o644))
	code, _, errs := kitwright(t, "serve", "--no-open", "--home", t.TempDir(), "--library", file)
	assert.Equal(t, 1, code)
	assert.Contains(t, errs, "a file")
}
