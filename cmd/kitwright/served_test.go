//go:build linux

package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"net/http/cookiejar"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/folder"
	"kitwright/internal/checker"
	"kitwright/kit"
	"kitwright/photo"
)

// worktable is the built program that serves, and a visitor as its page is.
type worktable struct {
	t     *testing.T
	c     *exec.Cmd
	url   string
	token string
	http  *http.Client
	told  bytes.Buffer // on stderr
}

func startServing(t *testing.T, program, home, port string, more ...string) *worktable {
	t.Helper()
	c := exec.Command(program, append([]string{"serve", "--no-open", "--home", home, "--port", port}, more...)...)
	out, err := c.StdoutPipe()
	require.NoError(t, err)
	w := &worktable{t: t, c: c}
	c.Stderr = &w.told
	require.NoError(t, c.Start())
	t.Cleanup(func() { _ = c.Process.Kill(); _ = c.Wait() })
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	w.http = &http.Client{Jar: jar, Timeout: patience}
	address := ""
	for lines := bufio.NewScanner(out); address == "" && lines.Scan(); {
		address = regexp.MustCompile(`http://127\.0\.0\.1:\d+/\?key=\S+`).FindString(lines.Text())
	}
	go io.Copy(io.Discard, out)
	require.NotEmpty(t, address)
	w.url, _, _ = strings.Cut(address, "/?")
	resp, err := w.http.Get(address)
	require.NoError(t, err)
	page, err := io.ReadAll(resp.Body)
	resp.Body.Close()
	require.NoError(t, err)
	w.token = string(regexp.MustCompile(`"token":"([^"]+)"`).FindSubmatch(page)[1])
	return w
}

func (w *worktable) ask(method, path string, body any) (int, []byte) {
	w.t.Helper()
	var in io.Reader
	if raw, is := body.([]byte); is {
		in = bytes.NewReader(raw)
	} else if body != nil {
		text, err := json.Marshal(body)
		require.NoError(w.t, err)
		in = bytes.NewReader(text)
	}
	r, err := http.NewRequest(method, w.url+path, in)
	require.NoError(w.t, err)
	r.Header.Set("X-Kit-Page", w.token)
	resp, err := w.http.Do(r)
	require.NoError(w.t, err)
	defer resp.Body.Close()
	got, err := io.ReadAll(resp.Body)
	require.NoError(w.t, err)
	return resp.StatusCode, got
}

func (w *worktable) want(method, path string, body any) {
	w.t.Helper()
	code, got := w.ask(method, path, body)
	require.Less(w.t, code, 300, "%s", got)
}

// patience is how long a test waits for what has to come: only what hangs ends
// it.
const patience = 3 * time.Minute

// kit lays a small kit on the table and waits until it is made and the table
// has nothing more to do for it.
func (w *worktable) kit(dir string) {
	w.t.Helper()
	w.want("POST", "/api/kits?name=cat.png", photo.Demo())
	w.want("POST", "/api/kits/cat/order", map[string]any{"order": map[string]string{"grid": "30x40", "effort": "quick"}})
	w.want("POST", "/api/kits/cat/choose", map[string]any{"colors": "8", "make": true})
	require.Eventually(w.t, func() bool {
		_, got := w.ask("GET", "/api/kits/cat", nil)
		var state struct{ Job *string }
		return json.Unmarshal(got, &state) == nil && state.Job != nil && *state.Job == ""
	}, patience, 20*time.Millisecond)
	_, err := folder.Read(dir)
	require.NoError(w.t, err)
}

// ownPort finds a port that is free and that no system gives to others, so that
// it can be opened again and again.
func ownPort(t *testing.T) string {
	for {
		port := strconv.Itoa(20000 + rand.IntN(10000))
		if l, err := net.Listen("tcp4", "127.0.0.1:"+port); err == nil {
			require.NoError(t, l.Close())
			return port
		}
	}
}

// edit sets a drill; it returns the status.
func (w *worktable) edit(n int, to string) int {
	code, _ := w.ask("POST", "/api/kits/cat/edit", map[string]any{"log": n, "edits": []map[string]any{{"act": "set", "to": to, "box": []int{n % 30, n / 30, 1, 1}}}})
	return code
}

// edited is how many edits there ever were.
func edited(k *kit.Kit) int {
	if k.Edits == nil {
		return 0
	}
	return len(k.Edits.Log)
}

// The built program as a worktable.
func TestTheWorktable(t *testing.T) {
	long(t)
	checker.Slow(t)
	program := built(t)
	for name, what := range map[string]func(*testing.T, string){"killed": worktableKilled, "full disk": worktableOnAFullDisk, "beside the command": worktableAndCommand} {
		t.Run(name, func(t *testing.T) { what(t, program) })
	}
}

// The table is killed outright, again and again, while drills are changed and
// prints are made: what was said to be saved is there, the folder is a whole
// one each time, and an old page is told that the table was started anew.
func worktableKilled(t *testing.T, program string) {
	home := t.TempDir()
	dir := filepath.Join(home, "kits", "cat", "cat-kit")
	w := startServing(t, program, home, ownPort(t))
	w.kit(dir)
	k, err := folder.Read(dir)
	require.NoError(t, err)
	to := []string{k.Chart.Legend[0].Drill.Address(), k.Chart.Legend[1].Drill.Address()}
	n, port := 0, w.url[strings.LastIndexByte(w.url, ':')+1:]
	for round := range 6 {
		for range 4 {
			require.Equal(t, 200, w.edit(n, to[n%2]))
			n++
		}
		saved := n - 4
		if round%2 == 0 { // the page says Saved within a second
			require.Eventually(t, func() bool { k, err := folder.Read(dir); return err == nil && edited(k) == n }, patience, 5*time.Millisecond)
			saved = n
			w.want("POST", "/api/kits/cat/save", nil) // and it is killed while it prints
		}
		time.Sleep(time.Duration(round) * 15 * time.Millisecond)
		require.NoError(t, w.c.Process.Signal(syscall.SIGKILL))
		_ = w.c.Wait()
		k, err := folder.Read(dir)
		require.NoError(t, err, "the folder is whole")
		is := edited(k)
		assert.GreaterOrEqual(t, is, saved, "what was saved is there")
		n = is
		old := w.token
		w = startServing(t, program, home, port)
		assert.Equal(t, port, w.url[strings.LastIndexByte(w.url, ':')+1:])
		fresh := w.token
		w.token = old
		code, body := w.ask("POST", "/api/kits/cat/edit", map[string]any{"log": n, "edits": []map[string]any{{"act": "undo"}}})
		assert.Equal(t, 403, code, "an old tab")
		assert.Contains(t, string(body), "started anew")
		w.token = fresh
	}
	require.Equal(t, 200, w.edit(n, to[0]), "it goes on")
}

// A disk that is full, and one that cannot be written to: each change is
// refused or waits with a sentence, what is there stays whole, and it goes on
// once there is room.
func worktableOnAFullDisk(t *testing.T, program string) {
	disk := t.TempDir()
	if err := syscall.Mount("tmpfs", disk, "tmpfs", 0, "size=6m"); err != nil {
		t.Skipf("skipped: no small disk can be mounted here (%v)", err)
	}
	defer func() { assert.NoError(t, syscall.Unmount(disk, syscall.MNT_DETACH)) }()
	dir := filepath.Join(disk, "cat", "cat-kit")
	w := startServing(t, program, t.TempDir(), "0", "--library", disk)
	defer func() { _ = w.c.Process.Kill(); _ = w.c.Wait() }()
	w.kit(dir)
	k, err := folder.Read(dir)
	require.NoError(t, err)
	to := k.Chart.Legend[0].Drill.Address()

	filler := filepath.Join(disk, "filler")
	fill, err := os.Create(filler)
	require.NoError(t, err)
	_, err = io.Copy(fill, io.LimitReader(zero{}, 20<<20))
	require.ErrorIs(t, err, syscall.ENOSPC)
	fill.Close()
	before, err := os.ReadFile(filepath.Join(disk, "cat", "table.json"))
	require.NoError(t, err)
	code, body := w.ask("POST", "/api/kits/cat/order", map[string]any{"order": map[string]string{"title": "Full"}})
	assert.GreaterOrEqual(t, code, 400)
	assert.Contains(t, string(body), "cannot be saved")
	code, body = w.ask("POST", "/api/kits?name=other.png", photo.Demo())
	assert.GreaterOrEqual(t, code, 400)
	assert.Contains(t, string(body), "cannot be kept")
	require.Equal(t, 200, w.edit(0, to), "it is taken, and waits")
	time.Sleep(300 * time.Millisecond)
	after, err := os.ReadFile(filepath.Join(disk, "cat", "table.json"))
	require.NoError(t, err)
	assert.Equal(t, before, after)
	whole, err := folder.Read(dir)
	require.NoError(t, err, "the kit is whole")
	assert.Empty(t, whole.Edits.InForce())
	require.NoError(t, os.Remove(filler))
	require.Eventually(t, func() bool { k, err := folder.Read(dir); return err == nil && len(k.Edits.InForce()) == 1 }, patience, 20*time.Millisecond, "there is room again")

	require.NoError(t, syscall.Mount("", disk, "", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""))
	code, body = w.ask("POST", "/api/kits/cat/name", map[string]string{"name": "Never"})
	assert.GreaterOrEqual(t, code, 400)
	assert.Contains(t, string(body), "cannot be saved")
	code, _ = w.ask("GET", "/api/kits/cat/chart", nil)
	assert.Equal(t, 200, code, "what is there can be seen")
	require.NoError(t, syscall.Mount("", disk, "", syscall.MS_REMOUNT, ""))
	w.want("POST", "/api/kits/cat/name", map[string]string{"name": "Writable"})

	require.Eventually(t, func() bool { return syscall.Mount("", disk, "", syscall.MS_REMOUNT|syscall.MS_RDONLY, "") == nil }, patience, 20*time.Millisecond, "once no print is being written")
	require.Eventually(t, func() bool { return w.edit(1, to) == 200 }, patience, 50*time.Millisecond, "it is taken, and waits")
	require.NoError(t, w.c.Process.Signal(os.Interrupt))
	_ = w.c.Wait()
	assert.Contains(t, w.told.String(), "the last edits of 1 kit could not be saved")
}

type zero struct{}

func (zero) Read(p []byte) (int, error) { clear(p); return len(p), nil }

// A stash that a command holds: the page waits for it no longer than the
// command would, says whose turn it is, and nothing is lost.
func worktableAndCommand(t *testing.T, program string) {
	home := t.TempDir()
	dir := filepath.Join(home, "kits", "cat", "cat-kit")
	w := startServing(t, program, home, "0")
	w.kit(dir)
	k, err := folder.Read(dir)
	require.NoError(t, err)
	to := k.Chart.Legend[0].Drill.Address()
	done := make(chan error, 1)
	go func() {
		for i := range 5 {
			out, err := exec.Command(program, "stash", "add", "--home", home, "--card", k.Card.Name, "--drill", "square", fmt.Sprintf("%s=%d", to, 10+i)).CombinedOutput()
			if err != nil {
				done <- fmt.Errorf("%w: %s", err, out)
				return
			}
		}
		done <- nil
	}()
	for i := range 20 {
		code, body := w.ask("POST", "/api/kits/cat/own", map[string]any{"address": to, "drills": 1, "bought": true})
		require.Equal(t, 200, code, "%d: %s", i, body)
	}
	require.NoError(t, <-done)
	_, body := w.ask("GET", "/api/kits/cat/drills", nil)
	var list struct{ Lines []struct{ Owned int } }
	require.NoError(t, json.Unmarshal(body, &list))
	assert.Equal(t, 10+11+12+13+14+20, list.Lines[0].Owned, "both count, each once")
}
