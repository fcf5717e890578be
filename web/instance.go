package web

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"time"

	"kitwright/internal/filelock"
	"kitwright/internal/say"
)

// Instance is the table that is open on this machine for one person: where it
// is, and the key of its door. The file is hers alone; a lock that the system
// lets go of when the process ends tells whether it is true.
type Instance struct {
	Addr    string `json:"addr"`
	Key     string `json:"key"`
	Library string `json:"library"`
	Version string `json:"version"`

	path string
	lock *os.File
}

// Address is what opens the table in a browser.
func (i *Instance) Address() string { return "http://" + i.Addr + "/?key=" + url.QueryEscape(i.Key) }

// Announce says in a folder that this table is open, and returns nil where
// another one is open already.
func Announce(dir string, i Instance) (*Instance, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, say.File("the folder cannot be made", dir, err)
	}
	place := filepath.Join(dir, "table.lock")
	lock, err := os.OpenFile(place, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, say.File("the lock cannot be taken", place, err)
	}
	if err := filelock.Try(lock); err != nil {
		_ = lock.Close() // the lock is what matters
		if errors.Is(err, filelock.ErrLocked) {
			return nil, nil
		}
		return nil, say.File("the lock cannot be taken", place, err)
	}
	i.lock, i.path = lock, filepath.Join(dir, "table.open")
	text, err := json.Marshal(i)
	if err != nil {
		return nil, err
	}
	tmp := i.path + ".new"
	if err := os.WriteFile(tmp, text, 0o600); err == nil {
		err = os.Rename(tmp, i.path)
	}
	if err != nil {
		_ = lock.Close()
		return nil, say.File("nothing can be written", i.path, err)
	}
	return &i, nil
}

// Leave takes the announcement back.
func (i *Instance) Leave() {
	_ = os.Remove(i.path) // without its lock it says nothing
	_ = i.lock.Close()
}

// Find asks the table that is open, and returns nil where none answers.
func Find(ctx context.Context, dir string) *Instance {
	text, err := os.ReadFile(filepath.Join(dir, "table.open"))
	if err != nil {
		return nil
	}
	var i Instance
	if err := json.Unmarshal(text, &i); err != nil {
		return nil
	}
	ctx, cancel := context.WithTimeout(ctx, 3*time.Second)
	defer cancel()
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://"+i.Addr+"/hello", nil)
	if err != nil {
		return nil
	}
	r.Header.Set("X-Kit-Key", i.Key)
	resp, err := http.DefaultClient.Do(r)
	if err != nil {
		return nil
	}
	defer resp.Body.Close()
	var hello struct{ Version, Library string }
	if err := json.NewDecoder(io.LimitReader(resp.Body, 1<<16)).Decode(&hello); err != nil || resp.StatusCode != http.StatusOK {
		return nil
	}
	i.Library, i.Version = hello.Library, hello.Version
	return &i
}
