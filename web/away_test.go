package web

import (
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/folder"
)

// door is a listener whose table can be taken away and put back at the same
// port, as when the program is killed and started again.
type door struct {
	t      *testing.T
	at     net.Addr
	served *served
	o      *opened
}

// kill ends the table as if its program were killed: nobody is told, and
// nothing that is not on the disk gets there any more.
func (d *door) kill() {
	d.served.close()
	d.o.once.Do(func() {
		d.o.hub.close()
		d.o.jobs.close()
		close(d.o.closing)
	})
	d.o.saves.Wait()
}

func (d *door) start(library string) {
	d.t.Helper()
	var l net.Listener
	require.Eventually(d.t, func() (ok bool) {
		var err error
		l, err = net.Listen("tcp4", d.at.String())
		return err == nil
	}, patience, 20*time.Millisecond)
	table, err := New(Config{Library: library}, l.Addr(), testKey)
	require.NoError(d.t, err)
	served := serve(l, table)
	d.served = served
	d.o = &opened{Table: table, t: d.t, url: "http://" + l.Addr().String(), key: testKey, token: table.guard.newPage(), http: &http.Client{Timeout: patience}}
	d.t.Cleanup(func() { table.Close(); served.close(); table.saves.Wait() })
}

func newDoor(t *testing.T) *door {
	var l net.Listener
	require.Eventually(t, func() (ok bool) { // a port that no system gives to others while the table is away
		var err error
		l, err = net.Listen("tcp4", "127.0.0.1:"+strconv.Itoa(20000+rand.IntN(10000)))
		return err == nil
	}, patience, time.Millisecond)
	d := &door{t: t, at: l.Addr()}
	require.NoError(t, l.Close())
	d.start(t.TempDir())
	return d
}

// The table is killed while somebody draws, and while the disk cannot be
// written to. The page says so, keeps what was drawn, also what the table had
// taken but not saved, and goes on once the door is open again: nothing is
// lost, and nothing is done twice. A page loaded anew shows the same.
func TestTheTableIsKilledAndStartedAgain(t *testing.T) {
	inBrowser(t)
	d := newDoor(t)
	id := d.o.made("40x30", "8")
	b := browse(t, d.o, desktop)
	b.open("/kit/" + id + "/chart")
	b.until(`document.querySelectorAll(".bag").length > 5`)
	set := func(x int) {
		eval[bool](b, `import("/assets/edits.mjs").then(async e => { const m = await import("/assets/chart.mjs"); const s = e.stroke(`+js(x%3)+`); s.at({x: `+js(x)+`, y: 7}); s.at({x: `+js(x)+`, y: 9}); s.end(); return true })`)
	}
	set(5)
	b.until(`document.getElementById("saved").textContent === "Saved" && !document.getElementById("undo").disabled`)
	library := d.o.lib.dir
	d.o.saves.Wait()
	stranger := filepath.Join(library, id, "cat-kit", "a note of hers.txt")
	require.NoError(t, os.WriteFile(stranger, []byte("mine"), 0o644)) // the folder is not replaced while that lies in it
	set(7)
	b.until(`document.getElementById("saved").textContent.startsWith("Not saved")`)
	d.kill()
	set(6)
	b.until(`document.getElementById("news").textContent.includes("kitwright stopped")`)
	set(10)
	require.NoError(t, os.Remove(stranger))
	d.start(library)
	b.o = d.o

	// The old page waits until she has opened the new address somewhere.
	b.until(`document.getElementById("news").textContent.includes("started anew") || document.getElementById("news").textContent.includes("stopped")`)
	other := browse(t, d.o, desktop)
	b.until(`document.getElementById("saved").textContent === "Saved" && document.getElementById("news").textContent === ""`)
	d.o.saves.Wait()
	k, err := folder.Read(filepath.Join(library, id, "cat-kit"))
	require.NoError(t, err)
	drills := 0
	for _, e := range k.Edits.InForce() {
		drills += e.Area.W * e.Area.H
	}
	assert.GreaterOrEqual(t, drills, 9, "four strokes of up to three drills each")
	for _, x := range []int{5, 7, 6, 10} {
		assert.Equal(t, k.Chart.Legend[x%3].Drill.Address(), k.Chart.At(x, 8).Drill.Address(), "the stroke at column %d", x)
	}
	cells := eval[string](b, `import("/assets/chart.mjs").then(m => Array.from(m.cells.slice(0, 600)).join())`)
	other.open("/kit/" + id + "/chart")
	other.until(`document.querySelectorAll(".bag").length > 5`)
	assert.Equal(t, cells, eval[string](other, `import("/assets/chart.mjs").then(m => Array.from(m.cells.slice(0, 600)).join())`))
}

// Two tabs that change one chart do not fight: each shows what the other did,
// and both changes count.
func TestTwoTabs(t *testing.T) {
	inBrowser(t)
	o := openTable(t, Config{})
	id := o.made("40x30", "8")
	tabs := []*tab{browse(t, o, desktop), browse(t, o, desktop)}
	for _, b := range tabs {
		b.open("/kit/" + id + "/chart")
		b.until(`document.querySelectorAll(".bag").length > 5`)
	}
	for i, b := range tabs { // at once, each without having heard of the other
		eval[bool](b, `import("/assets/edits.mjs").then(e => { const s = e.stroke(`+js(i)+`); for (let y = 10; y < 14; y++) s.at({x: `+js(10+i*5)+`, y}); s.end(); return true })`)
	}
	for _, b := range tabs {
		b.until(`import("/assets/chart.mjs").then(m => m.chart.changes.length === 2)`)
	}
	o.saves.Wait()
	k, err := folder.Read(o.lib.path(id, "cat-kit"))
	require.NoError(t, err)
	assert.Equal(t, k.Chart.Legend[0].Drill, k.Chart.At(10, 12).Drill)
	assert.Equal(t, k.Chart.Legend[1].Drill, k.Chart.At(15, 12).Drill)
	for _, b := range tabs {
		b.clean()
	}
}

// A fifth tab is told that the oldest moved aside, which can take its place
// back.
func TestTheOldestTabMovesAside(t *testing.T) {
	inBrowser(t)
	o := openTable(t, Config{})
	first := browse(t, o, desktop)
	first.open("/")
	for range mostStreams {
		browse(t, o, desktop).open("/")
	}
	first.until(`document.getElementById("news").textContent.includes("another tab")`)
	first.click("#news button")
	first.until(`document.getElementById("news").textContent === ""`)
}

// A disk that cannot be written to: a sentence in place, what was drawn waits,
// and it goes on by itself.
func TestAFolderThatCannotBeWritten(t *testing.T) {
	inBrowser(t)
	if os.Getuid() == 0 {
		t.Log("root may write anywhere: a file stands in the way instead")
	}
	o := openTable(t, Config{})
	id := o.made("40x30", "8")
	b := browse(t, o, desktop)
	b.open("/kit/" + id + "/chart")
	b.until(`document.querySelectorAll(".bag").length > 5`)
	stranger := o.lib.path(id, "cat-kit", "a note of hers.txt")
	require.NoError(t, os.WriteFile(stranger, []byte("mine"), 0o644)) // the folder is not replaced while that lies in it
	eval[bool](b, `import("/assets/edits.mjs").then(e => { const s = e.stroke(0); s.at({x: 3, y: 3}); s.at({x: 9, y: 3}); s.end(); return true })`)
	b.until(`document.getElementById("saved").textContent.startsWith("Not saved")`)
	assert.FileExists(t, stranger)
	require.NoError(t, os.Remove(stranger))
	b.until(`document.getElementById("saved").textContent === "Saved"`)
	k, err := folder.Read(o.lib.path(id, "cat-kit"))
	require.NoError(t, err)
	assert.NotEmpty(t, k.Edits.InForce())
}

// Without JavaScript there is one sentence.
func TestWithoutJavaScript(t *testing.T) {
	o := openTable(t, Config{})
	code, body := o.ask("GET", "/", nil)
	require.Equal(t, 200, code)
	_, rest, found := strings.Cut(string(body), "<noscript>")
	require.True(t, found)
	says, _, _ := strings.Cut(rest, "</noscript>")
	assert.Equal(t, 1, strings.Count(says, "."), says)
}

// The page's files are few and small: what a browser loads before the photo.
func TestAssetsAreSmall(t *testing.T) {
	entries, err := assets.ReadDir("assets")
	require.NoError(t, err)
	var sum int64
	for _, e := range entries {
		info, err := e.Info()
		require.NoError(t, err)
		sum += info.Size()
	}
	assert.Less(t, sum, int64(300<<10))
	assert.Greater(t, sum, int64(50<<10))
}
