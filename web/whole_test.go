package web

import (
	"bytes"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/folder"
	"kitwright/photo"
)

// downloads lets the browser save files into a folder, and returns it.
func (b *tab) downloads() string {
	dir := b.t.TempDir()
	_, err := chromedp.CallBrowser(b.ctx, browser.SetDownloadBehavior, browser.SetDownloadBehaviorParams{Behavior: "allow", DownloadPath: dir})
	require.NoError(b.t, err)
	return dir
}

// saved waits for a file in the folder and returns it.
func (b *tab) saved(dir, name string) []byte {
	b.t.Helper()
	path := filepath.Join(dir, name)
	size := int64(-1)
	require.Eventually(b.t, func() bool {
		info, err := os.Stat(path)
		if err != nil {
			return false
		}
		was := size
		size = info.Size()
		return size > 0 && size == was
	}, patience, 100*time.Millisecond, name)
	data, err := os.ReadFile(path)
	require.NoError(b.t, err)
	return data
}

// small brings the demo kit to a canvas on which the job is quick.
func (b *tab) small() string {
	b.t.Helper()
	id := strings.TrimPrefix(eval[string](b, "location.pathname"), "/kit/")
	b.o.want("POST", "/api/kits/"+id+"/order", map[string]any{"order": map[string]string{"grid": "80x60", "effort": "quick"}, "ladder": true}, nil)
	return id
}

// edited waits until what was changed on the page lies in the kit's folder: the
// page shows it before.
func (b *tab) edited(id string) {
	b.t.Helper()
	dir := b.o.lib.path(id, "cat-kit")
	require.Eventually(b.t, func() bool {
		k, err := folder.Read(dir)
		return err == nil && k.Edits != nil && len(k.Edits.InForce()) > 0
	}, patience, 20*time.Millisecond)
	b.o.saves.Wait()
}

// theWholeJob ends every way through the page: what was saved and loaded is
// what the command makes of the same order and edits.
func (b *tab) theWholeJob(id, loads string) {
	b.t.Helper()
	dir := b.o.lib.path(id, "cat-kit")
	b.o.saves.Wait()
	// A tap that was felt twice changes the chart while its prints are made:
	// they are made once more when it rests. So what the folder comes to counts.
	var want map[string][]byte
	for until := time.Now().Add(patience); ; time.Sleep(250 * time.Millisecond) {
		k, err := folder.Read(dir)
		if over := time.Now().After(until); err == nil && b.o.jobs.of(id) == "" || over {
			require.NoError(b.t, err)
			require.NotEmpty(b.t, k.Edits.InForce(), "something was changed by hand")
			want = theSame(b.t, b.o.kitOf(id).kept().Order, k.Edits.Log...)
			if over || maps.EqualFunc(want, filesOf(b.t, dir), bytes.Equal) {
				break
			}
		}
	}
	alike(b.t, want, filesOf(b.t, dir))
	if loads != "" {
		assert.Equal(b.t, want["canvas.pdf"], b.saved(loads, "canvas.pdf"))
		assert.Equal(b.t, want["labels.pdf"], b.saved(loads, "labels.pdf"))
		assert.Greater(b.t, len(b.saved(loads, "cat-kit.zip")), len(want["canvas.pdf"])/2)
	}
	b.clean()
}

// From a photo to the printed kit by mouse.
func TestTheWholeJobByMouse(t *testing.T) {
	inBrowser(t)
	o := openTable(t, Config{})
	b := browse(t, o, desktop)
	loads := b.downloads()
	path := filepath.Join(t.TempDir(), "cat.png")
	require.NoError(t, os.WriteFile(path, photo.Demo(), 0o644))
	b.do(chromedp.SetUploadFiles(chromedp.CSS("#pick"), []string{path}))
	b.until(`location.pathname.startsWith("/kit/") && document.documentElement.dataset.ready === "yes"`)
	id := b.small()

	// A focus, dragged onto an eye.
	b.until(`document.querySelectorAll("#shapes .btn").length > 1`)
	// What the table says of the canvas while a change is under way is of before.
	eval[bool](b, `(window.fetch = (f => async (...of) => { if (of[0].endsWith("/order")) await (await import("/assets/work.mjs")).lay(); return f(...of) })(window.fetch), true)`)
	b.click(`#shapes .row .btn:last-child`)
	b.until(`document.querySelector("#shapes [aria-pressed=true]")?.textContent === "Focus 1"`)
	focused := func() bool {
		f := strings.Split(o.kitOf(id).kept().Order["focus"], ",")
		return len(f) == 4 && !strings.HasPrefix(f[0], "39")
	}
	for end := time.Now().Add(patience); !focused() && time.Now().Before(end); { // once more where it slipped
		b.drag("#cropper", [2]float64{.5, .5}, [2]float64{.37, .38}, 8)
		for waits := 0; waits < 100 && !focused(); waits++ {
			time.Sleep(50 * time.Millisecond)
		}
	}
	require.True(t, focused())

	// A rung, and its chart.
	b.ladder(id)
	b.click(`#li-18 label .facts`)
	b.until(`document.querySelector("#rung-18").checked`)
	require.Eventually(t, func() bool { return o.kitOf(id).kept().Order["colors"] == "18" }, patience, 20*time.Millisecond)
	b.click("#open")
	b.until(`location.pathname.endsWith("/chart") && document.documentElement.dataset.ready === "yes"`)

	// A stroke in the color of a container, undone and made again; a swap.
	b.until(`document.querySelectorAll(".bag").length > 10`)
	b.click("#bag-9")
	b.click("#paint")
	b.drag("#glass", [2]float64{.5, .5}, [2]float64{.56, .53}, 6)
	b.until(`!document.getElementById("undo").disabled`)
	b.click("#undo")
	b.until(`!document.getElementById("redo").disabled`)
	b.click("#redo")
	b.until(`!document.getElementById("undo").disabled && document.getElementById("redo").disabled`)
	b.until(`document.querySelectorAll("#near .btn").length > 2`)
	b.click("#near li:first-child .btn")
	b.until(`document.querySelectorAll("#changes li svg").length === 2`)
	b.until(`document.getElementById("saved").textContent === "Saved"`)

	// The prints.
	b.open("/kit/" + id + "/print")
	b.until(`document.querySelectorAll(".pg img").length > 5`)
	// All that is said of it: what is done may be told in the place of what
	// was done a moment before.
	eval[bool](b, `(() => { window.toasts = []; new MutationObserver(() => { for (const e of document.querySelectorAll("#made .toast")) toasts.push(e.textContent) }).observe(document.getElementById("prints"), { childList: true, subtree: true }); return true })()`)
	b.click("#save")
	b.until(`toasts.length`)
	b.click("#zip")
	b.until(`toasts.some(t => t.includes(".zip"))`)
	for _, name := range []string{"canvas", "labels"} {
		eval[bool](b, `[...document.querySelectorAll(".pages li")].find(l => l.querySelector("[id='take-`+name+`.pdf']")).querySelector(".plain").click() ?? true`)
		b.until(`toasts.some(t => t.includes("` + name + `.pdf"))`)
	}
	b.theWholeJob(id, loads)
}

func (b *tab) key(keys ...string) {
	b.t.Helper()
	for _, k := range keys {
		b.do(chromedp.KeyEvent(k))
	}
}

// tabTo presses Tab until the focus is on something. Every stop shows a ring.
func (b *tab) tabTo(css string) {
	b.t.Helper()
	for range 150 {
		b.key(kb.Tab)
		if eval[bool](b, `Boolean(document.activeElement?.matches(`+js(css)+`))`) {
			return
		}
		ring := eval[string](b, `(() => { const a = document.activeElement; if (!a || a === document.body) return "ok"
			for (const e of [a, a.closest("label"), a.nextElementSibling, a.parentElement?.querySelector(".stand .fin"), a.parentElement?.querySelector(".box")]) if (e && getComputedStyle(e).outlineStyle !== "none" && parseFloat(getComputedStyle(e).outlineWidth) >= 1) return "ok"
			return a.outerHTML.slice(0, 200) })()`)
		require.Equal(b.t, "ok", ring, "a stop without a ring")
	}
	require.Fail(b.t, "Tab never came to "+css)
}

// The same by keyboard alone.
func TestTheWholeJobByKeys(t *testing.T) {
	inBrowser(t)
	o := openTable(t, Config{})
	b := browse(t, o, desktop)
	b.tabTo("#demo")
	b.key(kb.Enter)
	b.until(`location.pathname.startsWith("/kit/") && document.documentElement.dataset.ready === "yes"`)
	id := b.small()
	b.ladder(id)
	b.tabTo("#cropper")
	before := eval[string](b, `document.getElementById("photosaid").textContent`)
	b.key("-", "-", kb.ArrowRight)
	assert.NotEqual(t, before, eval[string](b, `document.getElementById("photosaid").textContent`), "the crop is spoken")
	require.Eventually(t, func() bool { return o.kitOf(id).kept().Order["crop"] != "" }, patience, 20*time.Millisecond)
	// The crop is sent half a second after the last key, and "Saving" is shown
	// .3 s after that.
	b.until(`new Promise(r => setTimeout(() => r(true), 900))`)
	b.until(`document.getElementById("saved").textContent === "Saved"`)
	b.ladder(id)
	b.until(`!document.querySelector(".rungs.stale")`)
	b.tabTo("input[name=rung]")
	b.key(kb.ArrowRight)
	require.Eventually(t, func() bool { return o.kitOf(id).kept().Order["colors"] != "auto" }, patience, 20*time.Millisecond)
	b.do(chromedp.Focus(chromedp.CSS("#far")))
	b.tabTo("#open")
	b.key(kb.Enter)
	b.until(`location.pathname.endsWith("/chart") && document.documentElement.dataset.ready === "yes"`)

	// The cursor is read aloud; a drill takes the color of another.
	b.tabTo("#glass")
	said := func() string { return eval[string](b, `document.getElementById("spoken").textContent`) }
	b.until(`document.getElementById("spoken").textContent.startsWith("Column")`)
	first := said()
	b.key("c", kb.ArrowRight, kb.ArrowRight, kb.ArrowDown)
	b.until(`document.getElementById("spoken").textContent !== ` + js(first))
	assert.Regexp(t, `^Column \d+, row \d+\. .+, symbol .+, number \d+\.`, said())
	lit := eval[string](b, `document.querySelector(".bag[aria-selected=true] b").textContent`)
	assert.Contains(t, first, lit)
	b.key("f")
	b.until(`document.getElementById("spoken").textContent.includes(` + js(lit) + `)`)
	for range 40 { // to a drill of another color, and set it
		b.key(kb.ArrowDown)
		if eval[bool](b, `import("/assets/chart.mjs").then(m => m.cells[m.board.cursor.y * m.chart.cols + m.board.cursor.x] !== m.board.lit)`) {
			break // what is said comes a little later than the cursor
		}
	}
	b.key("s")
	b.until(`!document.getElementById("undo").disabled`)
	b.until(`document.getElementById("saved").textContent === "Saved"`)
	b.edited(id)
	b.tabTo(`nav a[href$="/print"], #bags`)
	b.open("/kit/" + id + "/print")
	b.until(`document.querySelectorAll(".pg img").length > 5`)
	b.tabTo("#save")
	b.key(kb.Enter)
	b.until(`document.querySelector("#made .toast")`)
	b.theWholeJob(id, "")
}

// The same by touch on a phone, with a pinch on the chart.
func TestTheWholeJobByTouch(t *testing.T) {
	inBrowser(t)
	o := openTable(t, Config{})
	b := browse(t, o, phone)
	_, err := chromedp.Call(b.ctx, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{Enabled: true, MaxTouchPoints: 5})
	require.NoError(t, err)
	wide := func() {
		t.Helper()
		assert.LessOrEqual(t, eval[float64](b, `document.documentElement.scrollWidth`), 390.0, "no scrolling sideways")
	}
	wide()
	b.tap("#demo")
	b.until(`location.pathname.startsWith("/kit/") && document.documentElement.dataset.ready === "yes"`)
	id := b.small()
	b.ladder(id)
	wide()
	b.tap("#li-12 .facts")
	require.Eventually(t, func() bool { return o.kitOf(id).kept().Order["colors"] == "12" }, patience, 20*time.Millisecond)
	b.tap("#open")
	b.until(`location.pathname.endsWith("/chart") && document.documentElement.dataset.ready === "yes"`)
	wide()
	at := eval[[]float64](b, `(() => { document.getElementById("board").scrollIntoView({ block: "center" }); const r = document.getElementById("board").getBoundingClientRect(); return [r.left, r.top, r.width, r.height] })()`)
	mid := func(dx float64) (x, y float64) { return at[0] + at[2]/2 + dx, at[1] + at[3]/2 }
	size := func() float64 {
		return eval[float64](b, `import("/assets/chart.mjs").then(m => m.board.size)`)
	}
	before := size()
	touch := func(kind input.DispatchTouchEventType, spread float64) {
		var points []*input.TouchPoint
		if kind != "touchEnd" {
			x1, y := mid(-spread)
			x2, _ := mid(spread)
			points = []*input.TouchPoint{{X: x1, Y: y, ID: ptr(1.0)}, {X: x2, Y: y, ID: ptr(2.0)}}
		}
		_, err := chromedp.Call(b.ctx, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: kind, TouchPoints: points})
		require.NoError(t, err)
	}
	touch("touchStart", 30)
	for s := 40.0; s <= 140; s += 20 {
		touch("touchMove", s)
	}
	touch("touchEnd", 0)
	assert.Greater(t, size(), 2*before, "a pinch zooms")
	x, y := mid(0)
	b.do(chromedp.TapXY(x, y))
	b.until(`document.querySelector(".bag[aria-selected=true]")`)
	b.tap("#near li:first-child .btn")
	b.until(`!document.getElementById("undo").disabled`)
	b.until(`document.getElementById("saved").textContent === "Saved"`)
	b.edited(id)
	b.open("/kit/" + id + "/print")
	b.until(`document.querySelectorAll(".pg img").length > 5`)
	wide()
	b.tap("#save")
	b.until(`document.querySelector("#made .toast")`)
	b.theWholeJob(id, "")
}

func ptr[T any](v T) *T { return &v }
