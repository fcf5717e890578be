package web

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/photo"
)

// A photo comes in by being dropped, pasted, and taken with the camera of a
// phone, each time to a place of its own; what is no photo is refused where it
// was dropped, and the place stays usable.
func TestAPhotoComesInEveryWay(t *testing.T) {
	inBrowser(t)
	o := openTable(t, Config{})
	path := filepath.Join(t.TempDir(), "cat.png")
	require.NoError(t, os.WriteFile(path, photo.Demo(), 0o644))
	file := `const d = new DataTransfer(); d.items.add(new File([await (await fetch("/api/demo.jpg")).blob()], "cat.jpg"));`
	came := func(b *tab) {
		t.Helper()
		b.until(`location.pathname.startsWith("/kit/") && document.documentElement.dataset.ready === "yes"`)
		b.until(`document.querySelector("#cropper img")?.naturalWidth > 0`)
		b.clean()
		b.open("/")
	}
	b := browse(t, o, desktop)
	eval[bool](b, `(async () => { const d = new DataTransfer(); d.items.add(new File(["no photo"], "cat.jpg")); document.getElementById("drop").dispatchEvent(new DragEvent("drop", { dataTransfer: d, bubbles: true, cancelable: true })); return true })()`)
	b.until(`document.querySelector("#dropnews .oops")`)
	eval[bool](b, `(async () => { `+file+` const at = document.getElementById("drop"), e = kind => new DragEvent(kind, { dataTransfer: d, bubbles: true, cancelable: true })
		at.dispatchEvent(e("dragenter")); at.dispatchEvent(e("dragover")); const over = at.classList.contains("over"); at.dispatchEvent(e("drop")); return over && !at.classList.contains("over") })()`)
	came(b)
	eval[bool](b, `(async () => { `+file+` document.dispatchEvent(new ClipboardEvent("paste", { clipboardData: d, bubbles: true, cancelable: true })); return true })()`)
	came(b)

	b = browse(t, o, phone)
	assert.Equal(t, []string{"environment", "image/*"}, eval[[]string](b, `(() => { const t = document.getElementById("take"); return [t.getAttribute("capture"), t.accept] })()`))
	assert.True(t, eval[bool](b, `document.getElementById("take").closest("label").checkVisibility()`), "shown where there is a camera")
	b.do(chromedp.SetUploadFiles(chromedp.CSS("#take"), []string{path}))
	came(b)
	assert.Len(t, o.lib.list(), 3)
}
