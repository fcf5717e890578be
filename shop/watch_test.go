package shop_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/folder"
	"kitwright/shop"
)

// watched is a watched folder, and what its watchers said.
type watched struct {
	dir string
	mu  sync.Mutex
	log []string
}

func (p *watched) watcher(t *testing.T, settle time.Duration) *shop.Watch {
	t.Helper()
	s, _ := place(t, "photo\ncat0.png\n")
	w := &shop.Watch{Shop: *s, In: filepath.Join(p.dir, "in"), Kits: filepath.Join(p.dir, "kits"), Done: filepath.Join(p.dir, "done"), Failed: filepath.Join(p.dir, "failed"), Settle: settle,
		IsPhoto: func(name string) bool { return strings.HasSuffix(name, ".png") },
		Tell: func(sentence string, _ bool) {
			p.mu.Lock()
			defer p.mu.Unlock()
			p.log = append(p.log, sentence)
		}}
	require.NoError(t, os.MkdirAll(w.In, 0o777))
	require.NoError(t, w.Open())
	return w
}

func (p *watched) drop(t *testing.T, name string, data []byte) {
	t.Helper()
	require.NoError(t, os.WriteFile(filepath.Join(p.dir, "in", name), data, 0o666))
}

// files lists what lies in the folders, kits by their names alone.
func (p *watched) files(t *testing.T) (all []string) {
	for _, dir := range []string{"in", "in/.taken", "done", "failed", "kits"} {
		entries, err := os.ReadDir(filepath.Join(p.dir, dir))
		require.NoError(t, err)
		for _, e := range entries {
			if e.Name() != ".taken" {
				all = append(all, dir+"/"+e.Name())
			}
		}
	}
	return all
}

func (p *watched) look(t *testing.T, w *shop.Watch) {
	t.Helper()
	_, err := w.Look(context.Background())
	require.NoError(t, err)
}

// What is dropped comes out: as a kit with its ticket's settings, or beside a
// sentence. A photo waits for its ticket, and a name that is taken gets a
// number.
func TestWhatIsDroppedComesOut(t *testing.T) {
	p := &watched{dir: t.TempDir()}
	w := p.watcher(t, 0)
	p.drop(t, "mia.png", picture(t, 0))
	p.drop(t, "mia.csv", []byte("Colors;title\n5;Mia\n"))
	p.drop(t, "tom.png", picture(t, 1))
	p.drop(t, "tom.json", []byte(`{"colors": 4, "name": "mia"}`))
	p.drop(t, "bad.png", picture(t, 2))
	p.drop(t, "bad.json", []byte(`{"colors": "many"}`))
	p.drop(t, "odd.png", picture(t, 2))
	p.drop(t, "odd.json", []byte(`[1]`))
	p.drop(t, "broken.png", picture(t, 2)[:60])
	p.drop(t, "broken.csv", []byte("colors\n5\n"))
	p.drop(t, "alone.png", picture(t, 2))
	p.drop(t, "notes.txt", []byte("left alone"))
	p.look(t, w)
	assert.Equal(t, []string{"in/alone.png", "in/notes.txt", "done/mia.csv", "done/mia.png", "done/tom.json", "done/tom.png",
		"failed/bad.json", "failed/bad.png", "failed/bad.txt", "failed/broken.csv", "failed/broken.png", "failed/broken.txt", "failed/odd.json", "failed/odd.png", "failed/odd.txt",
		"kits/mia", "kits/mia-2"}, p.files(t))
	note, err := os.ReadFile(filepath.Join(p.dir, "failed", "bad.txt"))
	require.NoError(t, err)
	assert.Regexp(t, `^colors.*"many".*\.\nTry: .*\.\n$`, string(note))
	colors := []int{}
	for _, name := range []string{"mia", "mia-2"} {
		k, err := folder.Read(filepath.Join(p.dir, "kits", name))
		require.NoError(t, err)
		colors = append(colors, len(k.Chart.Legend))
	}
	slices.Sort(colors)
	assert.Equal(t, []int{4, 5}, colors)

	p.drop(t, "alone.json", []byte(`{}`))
	p.drop(t, "mia.png", picture(t, 4)) // a name that is in done already
	p.drop(t, "mia.json", []byte(`{}`))
	p.look(t, w)
	assert.Subset(t, p.files(t), []string{"kits/alone", "kits/mia-3", "done/mia-2.png", "done/mia.json"})
	assert.Contains(t, strings.Join(p.log, "\n"), "alone.png waits for its ticket")
}

// A file that grows is not taken before it has stopped.
func TestGrowingFilesWait(t *testing.T) {
	p := &watched{dir: t.TempDir()}
	const settle = 300 * time.Millisecond
	w := p.watcher(t, settle)
	data := picture(t, 0)
	p.drop(t, "mia.json", []byte(`{}`))
	for end := 20; end < len(data); end += len(data) / 4 {
		p.drop(t, "mia.png", data[:end])
		p.look(t, w)
	}
	p.drop(t, "mia.png", data)
	p.look(t, w)
	assert.Equal(t, []string{"in/mia.json", "in/mia.png"}, p.files(t))
	time.Sleep(settle + 10*time.Millisecond)
	p.look(t, w)
	assert.Equal(t, []string{"done/mia.json", "done/mia.png", "kits/mia"}, p.files(t))
}

// A file that never ends is told once and never taken; nor is one whose photo
// vanished. The rest goes on.
func TestFilesThatNeverEnd(t *testing.T) {
	p := &watched{dir: t.TempDir()}
	w := p.watcher(t, time.Second)
	now := time.Date(2026, 11, 26, 9, 0, 0, 0, time.UTC)
	w.At(func() time.Time { return now })
	for i := range 30 {
		p.drop(t, "mia.png", picture(t, 0)[:20+i])
		p.drop(t, "mia.json", []byte(`{}`))
		if i == 12 {
			p.drop(t, "tom.png", picture(t, 1))
			p.drop(t, "tom.json", []byte(`{}`))
			p.drop(t, "eve.png", picture(t, 2))
			p.drop(t, "eve.json", []byte(`{}`))
		} else if i == 13 {
			require.NoError(t, os.Remove(filepath.Join(w.In, "eve.png")))
		}
		p.look(t, w)
		now = now.Add(time.Minute)
	}
	assert.Equal(t, []string{"in/eve.json", "in/mia.json", "in/mia.png", "done/tom.json", "done/tom.png", "kits/tom"}, p.files(t))
	assert.Equal(t, 1, strings.Count(strings.Join(p.log, "\n"), "mia.png has been growing for more than ten minutes"))
}

// Two watchers share a folder: each order is made once.
func TestTwoWatchersShareAFolder(t *testing.T) {
	p := &watched{dir: t.TempDir()}
	a, b := p.watcher(t, 0), p.watcher(t, 0)
	const n = 5
	for i := range n {
		p.drop(t, fmt.Sprintf("cat%d.png", i), picture(t, i))
		p.drop(t, fmt.Sprintf("cat%d.json", i), []byte(`{"colors": 3}`))
	}
	var wait sync.WaitGroup
	for _, w := range []*shop.Watch{a, b} {
		wait.Go(func() {
			for range 200 { // two that are after one order may both let it go, now and then
				if _, err := w.Look(context.Background()); err != nil {
					t.Error(err)
				}
				waiting, _ := filepath.Glob(filepath.Join(w.In, "*.png"))
				claimed, _ := filepath.Glob(filepath.Join(w.In, ".taken", "*"))
				if len(waiting)+len(claimed) == 0 {
					return
				}
			}
		})
	}
	wait.Wait()
	var want []string
	for i := range n {
		want = append(want, fmt.Sprintf("done/cat%d.json", i), fmt.Sprintf("done/cat%d.png", i))
	}
	for i := range n {
		want = append(want, fmt.Sprintf("kits/cat%d", i))
	}
	assert.Equal(t, want, p.files(t))
}

// What a watcher was killed at, or stopped at, is not lost: the next one takes
// it up.
func TestKilledWatchersLoseNothing(t *testing.T) {
	p := &watched{dir: t.TempDir()}
	w := p.watcher(t, 0)
	claim := filepath.Join(w.In, ".taken", "mia.png")
	require.NoError(t, os.MkdirAll(claim, 0o777))
	require.NoError(t, os.WriteFile(filepath.Join(claim, "mia.png"), picture(t, 0), 0o666)) // killed between two moves
	p.drop(t, "mia.json", []byte(`{}`))
	p.look(t, w)
	assert.Equal(t, []string{"done/mia.json", "done/mia.png", "kits/mia"}, p.files(t))

	ctx, stop := context.WithCancel(context.Background())
	stop()
	p.drop(t, "tom.png", picture(t, 1))
	p.drop(t, "tom.json", []byte(`{}`))
	_, err := w.Look(ctx)
	assert.ErrorIs(t, err, context.Canceled)
	assert.Subset(t, p.files(t), []string{"in/tom.json", "in/tom.png"})
}

func TestFoldersOfAWatch(t *testing.T) {
	p := &watched{dir: t.TempDir()}
	w := p.watcher(t, 0)
	w.Done = w.In
	assert.ErrorContains(t, w.Open(), "named for two things")
	w.In = filepath.Join(p.dir, "nowhere")
	assert.ErrorContains(t, w.Open(), "cannot be opened")
}
