package web

import (
	"archive/zip"
	"bytes"
	"context"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/folder"
	"kitwright/internal/checker"
	"kitwright/kit"
	"kitwright/photo"
	"kitwright/render"
)

// theSame makes a kit as the command does: the same functions with the same
// order, into a folder of its own. It returns the files by name.
func theSame(t *testing.T, order map[string]string, edits ...kit.Edit) map[string][]byte {
	o, err := orderOf(order)
	require.NoError(t, err)
	src, err := kit.Open(context.Background(), bytes.NewReader(photo.Demo()), photo.DemoName)
	require.NoError(t, err)
	prep, err := src.Lay(context.Background(), o.Canvas, o.Light)
	require.NoError(t, err)
	place := filepath.Join(t.TempDir(), "cat-kit")
	dir, err := folder.Begin(place, folder.Kits, folder.Options{})
	require.NoError(t, err)
	p := render.DefaultPrint()
	_, err = folder.MakeKit(context.Background(), dir, prep, o.Choice, p, false)
	require.NoError(t, err)
	require.NoError(t, dir.Finish())
	if len(edits) > 0 {
		k, err := folder.Read(place)
		require.NoError(t, err)
		k, err = k.Edit(edits...)
		require.NoError(t, err)
		k.Print = p.Settings()
		dir, err := folder.Begin(place, folder.Kits, folder.Options{Force: true, Keep: true, Spare: true})
		require.NoError(t, err)
		job := folder.Job{Kit: k, Print: p}
		require.NoError(t, folder.WriteAll(context.Background(), dir, folder.OutputsOf(job), job))
		require.NoError(t, dir.Finish())
	}
	return filesOf(t, place)
}

func filesOf(t *testing.T, dir string) map[string][]byte {
	files := map[string][]byte{}
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		if files[e.Name()], err = os.ReadFile(filepath.Join(dir, e.Name())); err != nil {
			require.NoError(t, err)
		}
	}
	return files
}

// alike wants two folders to hold the same bytes.
func alike(t *testing.T, want, got map[string][]byte) {
	t.Helper()
	for name := range want {
		assert.True(t, bytes.Equal(want[name], got[name]), "%s differs, or is not there", name)
	}
	for name := range got {
		assert.Contains(t, want, name, "nothing more")
	}
}

// The whole job through the page's requests: the folder it leaves holds the
// bytes that the command's road makes of the same order, also after edits.
func TestTheSameFolderAsTheCommand(t *testing.T) {
	checker.Slow(t)
	o := openTable(t, Config{})
	id := o.demo("40x30")
	o.want("POST", "/api/kits/"+id+"/choose", map[string]any{"colors": "12", "make": true}, nil)
	o.wait(id)
	dir := o.lib.path(id, "cat-kit")
	order := map[string]string{"grid": "40x30", "colors": "12", "effort": "quick"}
	if !testing.Short() { // the edited kit goes the same way
		alike(t, theSame(t, order), filesOf(t, dir))
		for name, want := range filesOf(t, dir) { // single files are the same bytes
			code, got := o.ask("GET", "/api/kits/"+id+"/file/"+name, nil)
			require.Equal(t, 200, code, name)
			assert.True(t, bytes.Equal(want, got), name)
		}
	}
	var chart struct {
		Log    int
		Legend []struct{ Address string }
		Undo   bool
	}
	o.want("GET", "/api/kits/"+id+"/chart", nil, &chart)
	to := chart.Legend[3].Address
	o.want("POST", "/api/kits/"+id+"/edit", map[string]any{"log": 0, "edits": []map[string]any{
		{"act": "set", "to": to, "box": []int{10, 10, 3, 1}}, {"act": "set", "to": to, "box": []int{10, 11, 3, 1}, "with": true}}}, &chart)
	assert.True(t, chart.Undo)
	code, body := o.ask("POST", "/api/kits/"+id+"/edit", map[string]any{"log": 0, "edits": []map[string]any{{"act": "undo"}}})
	assert.Equal(t, 409, code, "another tab was quicker: %s", body)
	o.want("POST", "/api/kits/"+id+"/save", nil, nil)
	o.wait(id)
	k, err := folder.Read(dir)
	require.NoError(t, err)
	edits := k.Edits.Log
	require.Len(t, edits, 2)
	assert.Equal(t, to, edits[0].To.Address())
	want := theSame(t, order, edits...)
	alike(t, want, filesOf(t, dir))

	// The archive holds the same bytes.
	code, body = o.ask("GET", "/api/kits/"+id+"/zip", nil)
	require.Equal(t, 200, code)
	z, err := zip.NewReader(bytes.NewReader(body), int64(len(body)))
	require.NoError(t, err)
	packed := map[string][]byte{}
	for _, f := range z.File {
		r, err := f.Open()
		require.NoError(t, err)
		name, inside := strings.CutPrefix(f.Name, "cat-kit/")
		require.True(t, inside, f.Name)
		packed[name], err = io.ReadAll(r)
		require.NoError(t, err)
	}
	alike(t, want, packed)
}

// Prints that are made again between two edits do not make the second one look
// as if it came from another tab.
func TestPrintsDoNotDisturbEdits(t *testing.T) {
	o := openTable(t, Config{})
	id := o.made("40x30", "8")
	e := o.kitOf(id)
	k, err := e.kit()
	require.NoError(t, err)
	o.want("POST", "/api/kits/"+id+"/save", nil, nil)
	o.wait(id)
	now, err := e.kit()
	require.NoError(t, err)
	require.NotSame(t, k, now, "the same kit, printed")
	assert.Same(t, k.Chart, now.Chart)
	o.want("POST", "/api/kits/"+id+"/edit", map[string]any{"log": 0, "edits": []map[string]any{{"act": "set", "to": k.Chart.Legend[0].Drill.Address(), "box": []int{1, 1, 2, 1}}}}, nil)
}

// What was edited is on the disk within a second, whole, whatever happens to
// the process then.
func TestAnEditIsSavedWithinASecond(t *testing.T) {
	o := openTable(t, Config{})
	id := o.made("40x30", "8")
	var chart struct{ Legend []struct{ Address string } }
	o.want("GET", "/api/kits/"+id+"/chart", nil, &chart)
	for i := range 5 {
		o.want("POST", "/api/kits/"+id+"/edit", map[string]any{"log": i, "edits": []map[string]any{{"act": "set", "to": chart.Legend[0].Address, "box": []int{i, 0, 1, 1}}}}, nil)
	}
	o.saves.Wait()
	k, err := folder.Read(o.lib.path(id, "cat-kit"))
	require.NoError(t, err)
	assert.Len(t, k.Edits.Log, 5)
	_, err = os.Stat(o.lib.path(id, "cat-kit", "canvas.pdf"))
	assert.ErrorIs(t, err, os.ErrNotExist, "no print of an earlier chart lies beside it")
}

// A kit folder that is taken away is told, and nothing of it is invented.
func TestAFolderThatGoesAway(t *testing.T) {
	o := openTable(t, Config{})
	id := o.made("40x30", "8")
	require.NoError(t, os.RemoveAll(o.lib.path(id, "cat-kit")))
	code, body := o.ask("GET", "/api/kits/"+id+"/chart", nil)
	assert.Equal(t, 404, code)
	assert.Contains(t, string(body), "no chart yet")
	require.NoError(t, os.RemoveAll(o.lib.path(id)))
	code, body = o.ask("GET", "/api/kits/"+id, nil)
	assert.Equal(t, 404, code)
	assert.Contains(t, string(body), "moved or deleted")
	code, _ = o.ask("GET", "/kit/"+id, nil)
	assert.Equal(t, 404, code)
}

// Kits are copied, renamed, removed and brought back.
func TestSeveralKits(t *testing.T) {
	o := openTable(t, Config{})
	id := o.demo("40x30")
	var copied, gone, back struct{ Kit, Place string }
	o.want("POST", "/api/kits/"+id+"/copy", nil, &copied)
	o.want("POST", "/api/kits/"+id+"/name", map[string]string{"name": "Ginger, small"}, nil)
	assert.ElementsMatch(t, []string{id, copied.Kit}, o.lib.list())
	code, _ := o.ask("POST", "/api/kits/"+id+"/name", map[string]string{"name": "two\nlines"})
	assert.Equal(t, 422, code)
	o.want("POST", "/api/kits/"+id+"/trash", nil, &gone)
	assert.Equal(t, []string{copied.Kit}, o.lib.list())
	o.want("POST", "/api/restore", map[string]string{"place": gone.Place}, &back)
	assert.ElementsMatch(t, []string{back.Kit, copied.Kit}, o.lib.list())
	var list struct{ Kits []struct{ ID, Name string } }
	o.want("GET", "/api/kits", nil, &list)
	names := ""
	for _, k := range list.Kits {
		names += k.Name + ";"
	}
	assert.Contains(t, names, "Ginger, small")
	assert.Contains(t, names, "Ginger cat copy")

	// Another table of the same library finds them again.
	again := openTable(t, Config{Library: o.lib.dir})
	assert.Len(t, again.lib.list(), 2)
}

// What cannot be wanted is refused in the page's words, and nothing changes.
func TestOrdersThatCannotBe(t *testing.T) {
	o := openTable(t, Config{})
	id := o.demo("40x30")
	for name, value := range map[string]string{"size": "huge", "crop": "10,10,200,10", "keep": "SR-999", "card": "no-such-card", "grid": "90000x90000", "border": "900"} {
		code, body := o.ask("POST", "/api/kits/"+id+"/order", map[string]any{"order": map[string]string{name: value}})
		assert.GreaterOrEqual(t, code, 400, name)
		assert.NotContains(t, string(body), "--", name+": the page has its own words")
	}
	assert.Equal(t, "40x30", o.kitOf(id).kept().Order["grid"])
	code, _ := o.ask("POST", "/api/kits/"+id+"/order", []byte(`{"no": 1}`))
	assert.Equal(t, 400, code)
	code, _ = o.ask("POST", "/api/kits/"+id+"/order", []byte(strings.Repeat(" ", 5<<20)))
	assert.Equal(t, 413, code)
}

func (o *opened) kitOf(id string) *entry {
	e, err := o.lib.get(id)
	require.NoError(o.t, err)
	return e
}

// A stopped ladder keeps what it found, and a page that is closed ends its
// jobs; the ladder that is made has the rungs of the command's.
func TestTheLadderOfThePage(t *testing.T) {
	checker.Slow(t)
	o := openTable(t, Config{})
	id := o.demo("24x18")
	o.want("POST", "/api/kits/"+id+"/ladder", nil, nil)
	o.wait(id)
	var l struct {
		Over, Now bool
		Pick      int
		Cols      int
		Rungs     []struct {
			Asked, Colors int
			Mean          float64
			Hex           []string
		}
	}
	o.want("GET", "/api/kits/"+id+"/ladder", nil, &l)
	require.True(t, l.Over && l.Now)
	or, prep, err := o.ready(context.Background(), o.kitOf(id))
	require.NoError(t, err)
	rungs, pick, err := prep.Ladder(context.Background(), or.Choice, counts(or.Choice, 1000))
	require.NoError(t, err)
	require.Len(t, l.Rungs, len(rungs))
	assert.Equal(t, pick.Asked, l.Pick)
	for i, r := range rungs {
		assert.Equal(t, r.Mean, l.Rungs[i].Mean)
		code, cells := o.ask("GET", "/api/kits/"+id+"/rung/"+strconv.Itoa(l.Rungs[i].Asked), nil)
		require.Equal(t, 200, code)
		require.Len(t, cells, 24*18)
		for j, v := range r.Chart.Cells {
			require.Equal(t, v, uint16(cells[j]))
		}
	}
}
